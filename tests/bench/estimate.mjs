// npm run bench -- estimate [--rounds N] [--only c,d] [--folder DIR] [--parts N] [--json]
// A whole part from its file to grams and seconds at each depth beside general libraries (three reads and welds, manifold-3d slices, simplifies, offsets and
// clips), each in a fresh process; many parts on two workers beside one; growth. Contenders take turns; medians of the first thread's processor
// time are printed (see thread-time.mjs), and of the whole memory.
import { execFileSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { Worker } from 'node:worker_threads';
import { estimateOf, readMeshFile } from './estimate/estimate-mesh.mjs';
import { meshFile } from './meshes.mjs';
import { threadMs } from './thread-time.mjs';

const { values } = parseArgs({
  options: {
    rounds: { type: 'string', default: '3' },
    only: { type: 'string', default: 'c,d' },
    folder: { type: 'string', default: join(tmpdir(), 'stonehand-bench') },
    parts: { type: 'string', default: '40' },
    json: { type: 'boolean', default: false },
  },
});
const rounds = Number(values.rounds);
const names = values.only.split(',');
const GOALS = {
  full: { c: [2.2, 3], d: [3.5, 5] },
  quick: { c: [3.5, 4.5], d: [5, 6.5] },
  rank: { c: [10], d: [6] },
  memory: { c: [0.75], d: [0.5] },
};
const report = [];

for (const name of names) await wholePart(name);
await manyParts();
growth();
if (values.json) console.log(JSON.stringify(report));

async function wholePart(name) {
  const file = await meshFile(name, values.folder);
  const who = ['libraries', 'full', 'quick', 'rank'];
  const seen = Object.fromEntries(who.map((w) => [w, []]));
  for (let r = 0; r < rounds; r++) for (const w of who) seen[w].push(onePart(w, file));
  const of = (w, key) => median(seen[w].map((run) => run[key]));
  const libraries = of('libraries', 'ms');
  row('full', name, of('full', 'ms'), 'libraries', libraries, GOALS.full[name]);
  row('memory of full', name, of('full', 'rssMb'), 'libraries', of('libraries', 'rssMb'), GOALS.memory[name], 'MB');
  row('quick', name, of('quick', 'ms'), 'libraries', libraries, GOALS.quick[name]);
  const [full] = seen.full;
  for (const depth of ['quick', 'rank']) {
    const [run] = seen[depth];
    const off = (key) => `${(100 * (run[key] / full[key] - 1)).toFixed(3)} %`;
    note(`  ${depth} against full: plastic ${off('cm3')}, length of walls ${off('wallMm')}, time ${off('seconds')}`);
  }
  // Once the mesh is there: what a search pays for each try.
  const mesh = readMeshFile(file);
  const [fullMs, rankMs] = takeTurns([() => estimateOf(mesh, 'full'), () => estimateOf(mesh, 'rank')], rounds);
  row('rank, warm', name, rankMs, 'full', fullMs, GOALS.rank[name]);
  row('rank, cold', name, of('rank', 'estimateMs'), 'full', of('full', 'estimateMs'), GOALS.rank[name]);
}

function onePart(who, file) {
  const script = join(import.meta.dirname, 'estimate/one-part.mjs');
  return JSON.parse(execFileSync(process.execPath, [script, who, file], { encoding: 'utf8' }));
}

/** Half of each mesh; the clock decides here, so the machine must be quiet. */
async function manyParts() {
  const files = await Promise.all(names.map((name) => meshFile(name, values.folder)));
  const jobs = Array.from({ length: Number(values.parts) }, (_, i) => ({
    file: files[i % files.length],
    depth: 'full',
  }));
  const seconds = [];
  for (const count of [1, 2]) {
    const workers = Array.from({ length: count }, () => new Worker(join(import.meta.dirname, 'estimate/worker.mjs')));
    // One job each first: loading and compiling are not what is compared.
    await answers(workers, jobs.slice(0, count));
    const from = performance.now();
    await answers(workers, jobs);
    seconds.push((performance.now() - from) / 1000);
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
  const ratio = seconds[0] / seconds[1];
  report.push({ what: 'two workers', ratio, goal: [1.7, 1.8] });
  note(
    `${jobs.length} parts: one worker ${seconds[0].toFixed(1)} s, two ${seconds[1].toFixed(1)} s by the clock  ×${ratio.toFixed(2)}  goal ≥ 1.7, stretch 1.8 (on a quiet machine)`,
  );
}

/** Each worker takes the next job when it is done with one. */
function answers(workers, jobs) {
  let next = 0;
  return Promise.all(
    workers.map(async (worker) => {
      while (next < jobs.length) {
        const job = jobs[next++];
        await new Promise((resolve, reject) => {
          worker.once('message', resolve);
          worker.once('error', reject);
          worker.postMessage(job);
        });
        worker.removeAllListeners('error');
      }
    }),
  );
}

/** A cup in twice and four times the layers, and with as many more corners around. */
function growth() {
  const times = [1, 2, 4].map((k) => takeTurns([() => estimateOf(cup(60, 15 * k), 'full')], rounds)[0]);
  const corners = [1, 2, 4].map((k) => takeTurns([() => estimateOf(cup(120 * k, 15), 'full')], rounds)[0]);
  const told = (ms) =>
    `${ms.map((t) => `${t.toFixed(0)} ms`).join(', ')} (×${(ms[1] / ms[0]).toFixed(2)}, ×${(ms[2] / ms[1]).toFixed(2)})`;
  note(`growth of full with layers: ${told(times)}; with corners: ${told(corners)}`);
}

/** Leaning outwards, so that no layer is like another. */
function cup(corners, heightMm) {
  const profile = [
    [0, 0],
    [20, 0],
    [20 + heightMm / 8, heightMm],
    [16 + heightMm / 8, heightMm],
    [16, 2],
    [0, 2],
  ];
  const positions = [];
  for (const [r, z] of profile) {
    for (let i = 0; i < corners; i++) {
      const turn = (2 * Math.PI * i) / corners;
      positions.push(r * Math.cos(turn), r * Math.sin(turn), z);
    }
  }
  const triangles = [];
  for (let k = 0; k + 1 < profile.length; k++) {
    for (let i = 0; i < corners; i++) {
      const j = (i + 1) % corners;
      const [a, b, c, d] = [k * corners + i, k * corners + j, (k + 1) * corners + j, (k + 1) * corners + i];
      if (profile[k][0] > 0) triangles.push(a, b, c);
      if (profile[k + 1][0] > 0) triangles.push(a, c, d);
    }
  }
  // The poles' points lie on one spot: all are taken for their first.
  const first = (v) => (v < corners ? 0 : v >= (profile.length - 1) * corners ? (profile.length - 1) * corners : v);
  return {
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(triangles, first),
    originMm: [0, 0, 0],
  };
}

function takeTurns(runs, times) {
  const seen = runs.map(() => []);
  for (const run of runs) run();
  for (let k = 0; k < times; k++) {
    runs.forEach((run, i) => {
      const from = threadMs();
      run();
      seen[i].push(threadMs() - from);
    });
  }
  return seen.map(median);
}

function median(all) {
  return all.toSorted((p, q) => p - q)[all.length >> 1];
}

function row(what, mesh, ours, peer, theirs, goal, unit = 'ms') {
  const less = unit === 'MB';
  const ratio = less ? ours / theirs : theirs / ours;
  report.push({ what, mesh, ours, peer, theirs, ratio, goal });
  const aim = goal === undefined ? '' : `goal ${less ? '≤' : '≥'} ${goal.join(', stretch ')}`;
  note(
    `${what.padEnd(16)}${mesh.padEnd(3)}${ours.toFixed(0).padStart(7)} ${unit}  ${peer.padEnd(10)}${theirs.toFixed(0).padStart(7)} ${unit}  ×${ratio.toFixed(2)}  ${aim}`,
  );
}

function note(text) {
  if (!values.json) console.log(text);
}
