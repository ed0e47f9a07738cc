// node tests/fuzz/mesh-fuzz.mjs [--cases 10000] [--seed 1] [--format 3mf] [--files FOLDER]: the long form; needs built packages.
// With --files the meshes of a folder (up to 300 KB each) are damaged instead of the made ones.
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { SEEDS } from './mesh-seeds.mjs';
import { runMeshFuzz } from './run-mesh-fuzz.mjs';

const { values } = parseArgs({
  options: {
    cases: { type: 'string', default: '10000' },
    seed: { type: 'string', default: '1' },
    format: { type: 'string' },
    files: { type: 'string' },
  },
});
let wrong = 0;
const formats =
  values.files !== undefined
    ? filesIn(values.files)
    : values.format !== undefined
      ? [values.format]
      : Object.keys(SEEDS);
for (const format of formats) {
  const started = performance.now();
  const r = await runMeshFuzz(format, { seed: values.seed, cases: Number(values.cases) });
  const refused = Object.entries(r.refused).map(([code, n]) => `${code} ${n}`);
  const seconds = ((performance.now() - started) / 1000).toFixed(1);
  const slowest = `slowest ${r.slowestMs.toFixed(0)} ms (case ${r.slowestCase})`;
  console.log(
    `${format.padEnd(11)} ${r.cases} cases in ${seconds} s: ${r.read} read, ${refused.join(', ')}; ${slowest}; peak ${(r.peakRssBytes / 2 ** 20).toFixed(0)} MiB; ${r.crashes.length} crashes, ${r.hangs.length} hangs`,
  );
  for (const line of [...r.crashes, ...r.hangs]) console.log(`  ${line}`);
  wrong += r.crashes.length + r.hangs.length + (r.peakRssBytes > 2 ** 30 ? 1 : 0);
}
process.exitCode = wrong === 0 ? 0 : 1;

function filesIn(folder) {
  const meshes = readdirSync(folder).filter((file) => /\.(stl|obj|ply|glb|gltf|3mf|amf|gz|zip)$/i.test(file));
  return meshes
    .map((file) => join(folder, file))
    .filter((file) => statSync(file).size <= 300_000)
    .map((file) => `file:${file}`);
}
