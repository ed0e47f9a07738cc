// npm run bench -- start [--rounds N] [--file MESH]
// Whole process of `stonehand measure FILE --json` when its result is in the cache, beside a bare start of Node, taking turns.
// The lowest times are printed beside the medians: other work on the machine only ever adds.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { meshFile } from './meshes.mjs';

const { values } = parseArgs({
  options: { rounds: { type: 'string', default: '15' }, file: { type: 'string' } },
});
const command = join(import.meta.dirname, '../../packages/cli/dist/main.js');
const file = values.file ?? (await meshFile('d'));
const cache = mkdtempSync(join(tmpdir(), 'stonehand-start-'));
const env = { ...process.env, XDG_CACHE_HOME: cache };

const contenders = [
  { name: 'bare node', args: ['-e', '0'], taken: [] },
  { name: 'node and commander', args: ['--input-type=module', '-e', "import 'commander'"], taken: [] },
  { name: 'measure, cached', args: [command, 'measure', file, '--json'], taken: [] },
];
run(contenders[2].args); // fills the cache; a file changed within the last two seconds is read again, which the second run does
await new Promise((resolve) => setTimeout(resolve, 2100));
run(contenders[2].args);
for (let round = 0; round < Number(values.rounds); round++) {
  for (const { args, taken } of contenders) taken.push(run(args));
}
rmSync(cache, { recursive: true });

const [bare] = contenders;
console.log(
  `${''.padEnd(22)}${'median ms'.padStart(12)}${'ratio'.padStart(8)}${'lowest ms'.padStart(12)}${'ratio'.padStart(8)}`,
);
for (const { name, taken } of contenders) {
  const cells = [
    median(taken),
    median(taken) / median(bare.taken),
    Math.min(...taken),
    Math.min(...taken) / Math.min(...bare.taken),
  ];
  console.log(
    name.padEnd(22) + cells.map((cell, i) => cell.toFixed(i % 2 === 0 ? 1 : 2).padStart(i % 2 === 0 ? 12 : 8)).join(''),
  );
}
console.log('goal: measure, cached ≤ 1.5 × bare node (stretch 1.3)');

function run(args) {
  const from = performance.now();
  const { status, stderr } = spawnSync(process.execPath, args, {
    env,
    cwd: join(import.meta.dirname, '../../packages/cli'),
  });
  if (status !== 0) throw new Error(`${args.join(' ')} ended with ${status}: ${stderr}`);
  return performance.now() - from;
}

function median(numbers) {
  return numbers.toSorted((p, q) => p - q)[numbers.length >> 1];
}
