// npm run bench -- mesh-health [--rounds N] [--folder DIR] [--json]
// Wall thickness of mesh c by 200 000 rays along inner normals in the order of the triangles, building the tree included, beside
// three-mesh-bvh with the surface area heuristic and a C++ twin; self-intersection of mesh a. Each run is the first one in a
// fresh process, imports and reading excluded; contenders take turns; medians of wall and of processor time.
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { meshFile } from './meshes.mjs';

const { values } = parseArgs({
  options: {
    rounds: { type: 'string', default: '7' },
    folder: { type: 'string', default: join(tmpdir(), 'stonehand-bench') },
    json: { type: 'boolean', default: false },
  },
});
const here = import.meta.dirname;
const rounds = Number(values.rounds);
const c = await meshFile('c', values.folder);
const a = await meshFile('a', values.folder);
const twin = cppTwin();

const tables = [
  {
    title: 'wall thickness of c, 200 000 rays',
    columns: ['buildMs', 'castMs', 'totalMs', 'cpuMs', 'hits'],
    contenders: [
      { name: 'stonehand', run: inNode('stonehand', c) },
      {
        name: `three-mesh-bvh ${versionOf('three-mesh-bvh')}`,
        run: inNode('threeMeshBvh', c),
        goal: '≥ 1.7',
        least: true,
      },
      ...(twin === undefined ? [] : [{ name: 'C++ twin', run: () => answer(twin, [c]), goal: '≤ 2.5 (stretch)' }]),
      { name: 'wallThickness < 2.5 mm', run: inNode('wallThickness', c) },
    ],
  },
  {
    title: 'self-intersection of a, 1 000 000 triangles',
    columns: ['totalMs', 'cpuMs', 'pairs'],
    contenders: [{ name: 'stonehand', run: inNode('selfIntersections', a), goal: '≤ 3000 ms, stretch 1000 ms' }],
  },
];

for (const { title, columns, contenders } of tables) {
  const seen = contenders.map(() => []);
  for (let round = 0; round < rounds; round++) {
    for (const [i, { run }] of contenders.entries()) seen[i].push(run());
  }
  const rows = contenders.map(({ name, goal, least }, i) => ({
    name,
    goal,
    least,
    ...Object.fromEntries(columns.map((key) => [key, median(seen[i].map((run) => run[key]))])),
  }));
  if (values.json) console.log(JSON.stringify({ title, rounds, rows }));
  else print(title, columns, rows);
}

function print(title, columns, rows) {
  console.log(`\n${title}, medians of ${rounds}`);
  const heads = columns.map((key) => key.padStart(10)).join('');
  console.log(`${''.padEnd(26)}${heads}  ratio (processor)  goal`);
  const [ours] = rows;
  for (const row of rows) {
    const cells = columns.map((key) => (row[key]?.toFixed(0) ?? '').padStart(10)).join('');
    const ratio = (key) => (row.least ? row[key] / ours[key] : ours[key] / row[key]).toFixed(2);
    const says = row === ours || row.goal === undefined ? '' : `${ratio('totalMs')} (${ratio('cpuMs')})`;
    console.log(`${row.name.padEnd(26)}${cells}  ${says.padEnd(19)}${row.goal ?? ''}`);
  }
}

function median(numbers) {
  const sorted = numbers.filter((n) => n !== undefined).toSorted((p, q) => p - q);
  return sorted[sorted.length >> 1];
}

function inNode(who, file) {
  return () => answer(process.execPath, [join(here, 'health/in-node.mjs'), who, file]);
}

function answer(program, args) {
  return JSON.parse(execFileSync(program, args, { encoding: 'utf8' }));
}

function cppTwin() {
  if (spawnSync('g++', ['--version']).status !== 0) return undefined;
  mkdirSync(values.folder, { recursive: true });
  const program = join(values.folder, 'rays-twin');
  execFileSync('g++', ['-O3', '-march=native', '-w', '-o', program, join(here, 'twin/rays.cpp')]);
  return program;
}

function versionOf(name) {
  return JSON.parse(readFileSync(join(here, '../node_modules', name, 'package.json'), 'utf8')).version;
}
