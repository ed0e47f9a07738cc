// npm run bench -- orient [--rounds N] [--only directions,search,support,fit] [--parts N]
// directions: 200 ways up of a (1 000 000 faces) by rankDirections, preparation included, beside the plain loop over all faces and
//   corners that gives the same three figures; both in this process, taking turns.
// search: candidatePoses on a and c.  support: supportNeed at several sizes of a, to show the growth.
// fit: the command on N parts and three printers with an empty cache, then again.
// Processor time and wall time, medians; the first run of each counts no more than the others.
import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { transformMesh, writeStl } from '@stonehand/mesh';
import { candidatePoses, rankDirections, supportNeed } from '@stonehand/orient';
import { bumpyRing, MESHES } from './meshes.mjs';

const { values } = parseArgs({
  options: {
    rounds: { type: 'string', default: '5' },
    only: { type: 'string', default: 'directions,search,support,fit' },
    parts: { type: 'string', default: '200' },
  },
});
const rounds = Number(values.rounds);
const only = values.only.split(',');
const RECIPE = {
  id: 'bench',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 5,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'grid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 8,
};
const UPRIGHT = [1, 0, 0, 0, 1, 0, 0, 0, 1];
const meshOf = ({ positions, triangles }) => ({ positions, triangles, originMm: [0, 0, 0] });

if (only.includes('directions')) directions(meshOf(MESHES.a()));
if (only.includes('search')) {
  for (const [name, goal] of [
    ['c', '1500 / 600 ms'],
    ['a', '6000 / 3000 ms'],
  ]) {
    const mesh = meshOf(await MESHES[name]());
    const runs = Array.from({ length: Math.min(3, rounds) }, () => timed(() => candidatePoses(mesh, RECIPE)));
    report(
      `pose search, ${name}, ${faces(mesh)}`,
      runs,
      `goal ${goal}; ${runs[0].result.length} poses measured exactly`,
    );
  }
}
if (only.includes('support')) {
  for (const [around, through] of [
    [500, 250],
    [707, 354],
    [1000, 500],
    [1414, 707],
  ]) {
    const mesh = meshOf(bumpyRing(around, through));
    const runs = Array.from({ length: rounds }, () => timed(() => supportNeed(mesh, UPRIGHT, RECIPE)));
    const perMillion = (1e6 * median(runs.map(({ cpuMs }) => cpuMs))) / (mesh.triangles.length / 3);
    report(
      `support of one pose, ${faces(mesh)}`,
      runs,
      `${perMillion.toFixed(0)} ms a million faces; goal 500 ms at a million`,
    );
  }
}
if (only.includes('fit')) await fitCommand(Number(values.parts));

function directions(mesh) {
  const count = 200;
  const downs = new Float64Array(3 * count);
  for (let i = 0; i < count; i++) {
    const z = 1 - (2 * (i + 0.5)) / count;
    const r = Math.sqrt(1 - z * z);
    const turn = i * Math.PI * (3 - Math.sqrt(5));
    downs.set([r * Math.cos(turn), r * Math.sin(turn), z], 3 * i);
  }
  const ours = [];
  const plain = [];
  for (let round = 0; round < rounds; round++) {
    ours.push(timed(() => rankDirections(mesh, downs, RECIPE)));
    plain.push(timed(() => plainLoop(mesh, downs)));
  }
  const a = ours[0].result;
  const b = plain[0].result;
  let overhang = 0;
  let height = 0;
  let bound = 0;
  const most = Math.max(...b.boundMm3);
  for (let i = 0; i < count; i++) {
    overhang = Math.max(overhang, Math.abs(a.overhangMm2[i] - b.overhangMm2[i]) / b.totalMm2);
    height = Math.max(height, Math.abs(a.heightMm[i] / b.heightMm[i] - 1));
    bound = Math.max(bound, Math.abs(a.boundMm3[i] - b.boundMm3[i]) / most);
  }
  const best = b.boundMm3.indexOf(Math.min(...b.boundMm3));
  const place = a.boundMm3.filter((v) => v < a.boundMm3[best]).length + 1;
  report(`200 directions, a, ${faces(mesh)}: ours`, ours, '');
  report('200 directions, a: plain loop', plain, '');
  const ratio = (key) => median(plain.map((r) => r[key])) / median(ours.map((r) => r[key]));
  console.log(
    `  ×${ratio('cpuMs').toFixed(1)} processor, ×${ratio('wallMs').toFixed(1)} wall; goal ≥ ×8 / ×12\n` +
      `  overhang off by at most ${(100 * overhang).toFixed(4)} % of the whole area (goal 0.1), height by ${height.toExponential(1)}, bound by ${(100 * bound).toFixed(3)} % of the largest; the best direction comes out ${place}.`,
  );
}

/** What rankDirections gives, by every face and every corner for every direction. */
function plainLoop({ positions: p, triangles }, downs) {
  const n = triangles.length / 3;
  const [X, Y, Z, A, CX, CY, CZ] = Array.from({ length: 7 }, () => new Float64Array(n));
  let totalMm2 = 0;
  for (let t = 0; t < n; t++) {
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const ux = p[b] - p[a];
    const uy = p[b + 1] - p[a + 1];
    const uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a];
    const vy = p[c + 1] - p[a + 1];
    const vz = p[c + 2] - p[a + 2];
    const x = (uy * vz - uz * vy) / 2;
    const y = (uz * vx - ux * vz) / 2;
    const z = (ux * vy - uy * vx) / 2;
    X[t] = x;
    Y[t] = y;
    Z[t] = z;
    A[t] = Math.sqrt(x * x + y * y + z * z);
    totalMm2 += A[t];
    CX[t] = (p[a] + p[b] + p[c]) / 3;
    CY[t] = (p[a + 1] + p[b + 1] + p[c + 1]) / 3;
    CZ[t] = (p[a + 2] + p[b + 2] + p[c + 2]) / 3;
  }
  const count = downs.length / 3;
  const overhangMm2 = new Float64Array(count);
  const heightMm = new Float64Array(count);
  const boundMm3 = new Float64Array(count);
  const limit = Math.SQRT1_2 + 5e-6;
  for (let i = 0; i < count; i++) {
    const dx = downs[3 * i];
    const dy = downs[3 * i + 1];
    const dz = downs[3 * i + 2];
    let low = Infinity;
    let high = -Infinity;
    for (let k = 0; k < p.length; k += 3) {
      const h = -(p[k] * dx + p[k + 1] * dy + p[k + 2] * dz);
      if (h < low) low = h;
      if (h > high) high = h;
    }
    let area = 0;
    let volume = 0;
    for (let t = 0; t < n; t++) {
      const facing = X[t] * dx + Y[t] * dy + Z[t] * dz;
      if (facing <= limit * A[t]) continue;
      area += A[t];
      volume += facing * (-(CX[t] * dx + CY[t] * dy + CZ[t] * dz) - low);
    }
    overhangMm2[i] = area;
    heightMm[i] = high - low;
    boundMm3[i] = volume;
  }
  return { overhangMm2, heightMm, boundMm3, totalMm2 };
}

/** Parts that differ: rings, domes and the ribbed box at many sizes and turns, 1 300 to 71 000 faces. */
async function fitCommand(count) {
  const folder = mkdtempSync(join(tmpdir(), 'stonehand-fit-'));
  const box = meshOf(await MESHES.c());
  mkdirSync(join(folder, 'parts'));
  cpSync(join(import.meta.dirname, '../../parts/shop'), join(folder, 'shop'), { recursive: true });
  const names = [];
  for (let i = 0; i < count; i++) {
    const base = i % 20 === 0 ? box : meshOf(bumpyRing(40 + 2 * (i % 37), 16 + (i % 23)));
    const scale = 0.4 + (i % 11) / 10;
    const turn = (i * 2 * Math.PI) / 7;
    const [c, s] = [scale * Math.cos(turn), scale * Math.sin(turn)];
    writeFileSync(
      join(folder, 'parts', `part-${i}.stl`),
      writeStl(transformMesh(base, [c, -s, 0, 0, s, c, 0, 0, 0, 0, scale, 0]), `part ${i}`),
    );
    names.push(`  part-${i}: { mesh: part-${i}.stl, unit: mm }`);
  }
  writeFileSync(join(folder, 'parts', 'assembly.yaml'), `parts:\n${names.join('\n')}\n`);
  writeFileSync(
    join(folder, 'stonehand.yaml'),
    'name: bench\ntimeZone: Europe/Berlin\ndefaults: { material: grey-petg, recipe: frame }\nshop: shop\nassemblies: [parts]\n',
  );
  const command = join(import.meta.dirname, '../../packages/cli/dist/main.js');
  try {
    for (const what of ['cold', 'again']) {
      const t = performance.now();
      // The shell tells what its children used: minutes and seconds of user and system time, on its second line.
      const told = execFileSync(
        'sh',
        ['-c', '"$0" "$@" >/dev/null 2>&1; times', process.execPath, command, 'fit', folder, '--json'],
        {
          encoding: 'utf8',
        },
      );
      const wallS = (performance.now() - t) / 1000;
      const children = told.trim().split('\n')[1];
      const cpuS = [...children.matchAll(/(\d+)m([\d.]+)s/g)].reduce((sum, [, m, s]) => sum + 60 * m + Number(s), 0);
      const goal = what === 'cold' ? '60 / 30 s' : '1 s';
      console.log(
        `fit, ${count} parts × 3 printers, ${what}: ${cpuS.toFixed(1)} s processor, ${wallS.toFixed(1)} s wall; goal ${goal} of two free cores`,
      );
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function faces({ triangles }) {
  return `${(triangles.length / 3).toLocaleString('en-GB')} faces`;
}

function timed(run) {
  const before = process.cpuUsage();
  const from = performance.now();
  const result = run();
  const wallMs = performance.now() - from;
  const { user, system } = process.cpuUsage(before);
  return { result, wallMs, cpuMs: (user + system) / 1000 };
}

function report(name, runs, note) {
  const cpu = median(runs.map(({ cpuMs }) => cpuMs));
  const wall = median(runs.map(({ wallMs }) => wallMs));
  console.log(`${name}: ${cpu.toFixed(0)} ms processor, ${wall.toFixed(0)} ms wall${note === '' ? '' : `; ${note}`}`);
}

function median(numbers) {
  const sorted = numbers.toSorted((p, q) => p - q);
  return sorted[sorted.length >> 1];
}
