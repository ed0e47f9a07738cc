// npm run bench -- mesh [--rounds N] [--only a,b,c,d] [--without NAMES] [--folder DIR] [--json]
// Takes in the meshes of meshes.mjs (read, exact weld, topology, mass properties) beside general libraries and a C++ twin of the
// same method. Each run is the first one in a fresh process, imports excluded; contenders take turns; medians are printed, of
// wall time and of processor time (the latter depends less on what else the machine does).
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { meshFile } from './meshes.mjs';

const { values } = parseArgs({
  options: {
    rounds: { type: 'string', default: '5' },
    only: { type: 'string', default: 'a,b,c,d' },
    without: { type: 'string', default: '' },
    folder: { type: 'string', default: join(tmpdir(), 'stonehand-bench') },
    json: { type: 'boolean', default: false },
  },
});
const here = import.meta.dirname;
// Debian's own Python, where its python3-vtk9 is; elsewhere the one on the path.
const PYTHON = existsSync('/usr/bin/python3') ? '/usr/bin/python3' : 'python3';
const rounds = Number(values.rounds);
const without = values.without.split(',');

// `least`: the gate and the stretch goal, how often faster than this at least. `most`: at most so many times its time.
const contenders = [
  { name: 'stonehand', run: inNode('stonehand') },
  { name: 'C++ twin', run: cppTwin(), most: { a: [2.6, 2], b: [2.4, 2] } },
  { name: 'VTK', version: vtkVersion(), run: vtk(), least: { a: [2.5, 3.5] }, skips: ['b'] }, // its edges need too much memory for b
  {
    name: 'three',
    version: versionOf('three'),
    run: inNode('three'),
    least: { a: [10, 12] },
    skips: ['b'],
    slow: true,
  },
  {
    name: 'node-stl',
    version: versionOf('node-stl'),
    run: inNode('nodeStl'),
    least: { a: [25, 30] },
    skips: ['b'],
    slow: true,
  },
  { name: 'readFileSync', run: inNode('read') },
].filter(({ name, run }) => run !== undefined && !without.includes(name));

for (const mesh of values.only.split(',')) {
  const file = await meshFile(mesh, values.folder);
  const taking = contenders.filter(({ skips = [] }) => !skips.includes(mesh));
  const seen = new Map(taking.map(({ name }) => [name, []]));
  for (let round = 0; round < rounds; round++) {
    for (const { name, run, slow } of taking) {
      if (!slow || round < Math.ceil(rounds / 2)) seen.get(name).push(run(file));
    }
  }
  print(mesh, file, taking, seen);
}

function print(mesh, file, taking, seen) {
  const fileMb = statSync(file).size / 1e6;
  const rows = taking.map(({ name, version, least, most }) => {
    const runs = seen.get(name);
    const figure = (key) => (runs[0][key] === undefined ? undefined : median(runs.map((run) => run[key])));
    return {
      name,
      version,
      runs: runs.length,
      goal: least?.[mesh] ?? most?.[mesh],
      atMost: most !== undefined,
      ...figures(figure),
    };
  });
  if (values.json) return console.log(JSON.stringify({ mesh, fileMb, rows }));
  const [ours] = rows;
  console.log(`\n${mesh}: ${(fileMb / 50e-6 - 1.68).toFixed(0)} triangles, ${fileMb.toFixed(1)} MB`);
  console.log(
    line([
      '',
      'runs',
      'read+weld',
      'topology',
      'mass',
      'total ms',
      'processor ms',
      'peak MB',
      'ratio (processor)',
      'goal',
    ]),
  );
  for (const row of rows) {
    const ratio = (key) => (row.atMost ? ours[key] / row[key] : row[key] / ours[key]).toFixed(2);
    const says = row === ours ? '' : `${row.atMost ? '' : '×'}${ratio('totalMs')} (${ratio('cpuMs')})`;
    const goal = row.goal === undefined ? '' : `${row.atMost ? '≤' : '≥'} ${row.goal.join(' / ')}`;
    const name = row.version === undefined ? row.name : `${row.name} ${row.version}`;
    const times = [row.readMs, row.topologyMs, row.massMs, row.totalMs, row.cpuMs, row.peakMb];
    console.log(line([name, row.runs, ...times.map((t) => t?.toFixed(t < 100 ? 1 : 0) ?? ''), says, goal]));
  }
  const limitMb = 1.25 * fileMb + 60;
  console.log(`peak memory of stonehand: ${ours.peakMb.toFixed(0)} MB; 1.25 × file + 60 MB = ${limitMb.toFixed(0)} MB`);
}

function figures(figure) {
  const keys = ['readMs', 'topologyMs', 'massMs', 'totalMs', 'cpuMs', 'peakMb', 'vertices', 'badEdges', 'volume'];
  return Object.fromEntries(keys.map((key) => [key, figure(key)]));
}

function line([name, ...cells]) {
  const widths = [5, 11, 10, 8, 10, 14, 9, 19, 12];
  return name.padEnd(16) + cells.map((cell, i) => String(cell).padStart(widths[i])).join('');
}

function median(numbers) {
  const sorted = numbers.toSorted((p, q) => p - q);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

function inNode(who) {
  return (file) => answer(process.execPath, [join(here, 'ingest/in-node.mjs'), who, file]);
}

function cppTwin() {
  if (spawnSync('g++', ['--version']).status !== 0) return undefined;
  mkdirSync(values.folder, { recursive: true });
  const program = join(values.folder, 'mesh-twin');
  execFileSync('g++', ['-O3', '-march=native', '-w', '-o', program, join(here, 'twin/mesh.cpp')]);
  return (file) => answer(program, [file]);
}

function vtk() {
  if (vtkVersion() === undefined) return undefined;
  return (file) => answer(PYTHON, [join(here, 'ingest/in_vtk.py'), file]);
}

function vtkVersion() {
  const asks = 'from vtkmodules.vtkCommonCore import vtkVersion; print(vtkVersion.GetVTKVersion())';
  const { status, stdout } = spawnSync(PYTHON, ['-c', asks], { encoding: 'utf8' });
  return status === 0 ? stdout.trim() : undefined;
}

function answer(program, args) {
  return JSON.parse(execFileSync(program, args, { encoding: 'utf8' }));
}

function versionOf(name) {
  return JSON.parse(readFileSync(join(here, '../node_modules', name, 'package.json'), 'utf8')).version;
}
