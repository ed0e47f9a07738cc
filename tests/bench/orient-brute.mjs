// npm run bench -- orient-brute [--poses 2000] [--only NAMES] [--cell 1] [--json]
// With nothing but support counted: the way up that candidatePoses chooses beside the best of so many random ones, on every
// sound mesh of ../shared/data/meshes, longest side 100 mm. Support is measured here by a height field of its own, which shares
// no code with package orient: every cell's ray meets all faces, going up it counts where a face beyond 45° is open below.
// Random ways up are measured coarsely, the best twenty and ours again four times finer. Bridges count as in need for both.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { gunzipSync } from 'node:zlib';
import { bytesSource, readMesh } from '@stonehand/mesh';
import { candidatePoses, SUPPORT_ONLY } from '@stonehand/orient';

const { values } = parseArgs({
  options: {
    poses: { type: 'string', default: '2000' },
    only: { type: 'string', default: '' },
    cell: { type: 'string', default: '1.5' },
    json: { type: 'boolean', default: false },
  },
});
const DATA = join(import.meta.dirname, '../../../shared/data/meshes');
const SLACK = 5e-6;
const LIMIT = Math.SQRT1_2 + SLACK;
/** Half a first layer: lower gaps vanish when sliced. */
const LEAST_GAP = 0.1;
const RECIPE = {
  id: 'support',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 5,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'grid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 0,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 8,
};

const reference = JSON.parse(readFileSync(join(DATA, 'reference.json'), 'utf8')).meshes;
const coarse = Number(values.cell);
const rows = [];
for (const [name, facts] of Object.entries(reference)) {
  const sound =
    facts.watertight &&
    facts.orientation_consistent &&
    facts.volume > 0 &&
    facts.nonmanifold_edges === 0 &&
    !name.startsWith('mustfail');
  if (!sound || (values.only !== '' && !values.only.split(',').some((part) => name.includes(part)))) continue;
  const mesh = scaled(await meshOf(name));
  const t0 = cpuMs();
  const chosen = candidatePoses(mesh, RECIPE, { rule: 'bestOf', weights: SUPPORT_ONLY })[0];
  const t1 = cpuMs();
  const random = generator(20261125);
  const tried = [];
  for (let i = 0; i < Number(values.poses); i++) {
    const rotation = randomRotation(random);
    tried.push({ rotation, volume: supportVolume(mesh, rotation, coarse) });
  }
  tried.sort((a, b) => a.volume - b.volume);
  const fine = (rotation) => supportVolume(mesh, rotation, coarse / 4);
  const best = Math.min(...tried.slice(0, 20).map(({ rotation }) => fine(rotation)));
  const t2 = cpuMs();
  const ours = fine(chosen.rotation);
  const box = boxOf(mesh);
  const allowed = 1.05 * best + 0.001 * box;
  const row = {
    name,
    triangles: mesh.triangles.length / 3,
    ours,
    stated: chosen.supportMm3,
    best,
    allowed,
    holds: ours <= allowed,
    oursMs: t1 - t0,
    bruteMs: t2 - t1,
  };
  rows.push(row);
  if (!values.json) print(row);
}
if (values.json) console.log(JSON.stringify(rows));
else console.log(`${rows.filter((row) => row.holds).length} of ${rows.length} hold`);

function print({ name, triangles, ours, stated, best, allowed, holds, oursMs, bruteMs }) {
  const n = (v, w) => v.toFixed(0).padStart(w);
  console.log(
    `${name.padEnd(34)}${n(triangles, 9)} faces  ours ${n(ours, 7)} (states ${n(stated, 7)})  best of random ${n(best, 7)}  allowed ${n(allowed, 7)} mm³  ${holds ? 'holds' : 'FAILS'}  ${n(oursMs, 6)} / ${n(bruteMs, 7)} ms`,
  );
}

async function meshOf(name) {
  const bytes = readFileSync(join(DATA, name));
  const zipped = name.endsWith('.gz');
  const { mesh } = await readMesh(bytesSource(zipped ? name.slice(0, -3) : name, zipped ? gunzipSync(bytes) : bytes));
  return mesh;
}

function boxOf({ positions: p }) {
  let volume = 1;
  for (let k = 0; k < 3; k++) {
    let [low, high] = [Infinity, -Infinity];
    for (let i = k; i < p.length; i += 3) {
      low = Math.min(low, p[i]);
      high = Math.max(high, p[i]);
    }
    volume *= high - low;
  }
  return volume;
}

function scaled({ positions: p, triangles }) {
  const low = [Infinity, Infinity, Infinity];
  let size = 0;
  for (let i = 0; i < p.length; i++) low[i % 3] = Math.min(low[i % 3], p[i]);
  for (let i = 0; i < p.length; i++) size = Math.max(size, p[i] - low[i % 3]);
  const positions = Float64Array.from(p, (v, i) => ((v - low[i % 3]) * 100) / size);
  return { positions, triangles, originMm: [0, 0, 0] };
}

/** Solid columns from every open face beyond the limit to what lies below it, mm³. */
function supportVolume({ positions: p, triangles }, r, cell) {
  const n = p.length / 3;
  const xyz = new Float64Array(p.length);
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < 3; k++) {
      const v = r[3 * k] * p[3 * i] + r[3 * k + 1] * p[3 * i + 1] + r[3 * k + 2] * p[3 * i + 2];
      xyz[3 * i + k] = v;
      if (v < low[k]) low[k] = v;
      if (v > high[k]) high[k] = v;
    }
  }
  const columns = Math.ceil((high[0] - low[0]) / cell) + 1;
  const lines = Math.ceil((high[1] - low[1]) / cell) + 1;
  const hits = Array.from({ length: columns * lines }, () => undefined);
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [3 * triangles[t], 3 * triangles[t + 1], 3 * triangles[t + 2]];
    const [ax, ay, az] = [xyz[a] - low[0], xyz[a + 1] - low[1], xyz[a + 2] - low[2]];
    const [bx, by, bz] = [xyz[b] - low[0], xyz[b + 1] - low[1], xyz[b + 2] - low[2]];
    const [cx, cy, cz] = [xyz[c] - low[0], xyz[c + 1] - low[1], xyz[c + 2] - low[2]];
    const i0 = Math.ceil(Math.min(ax, bx, cx) / cell - 0.5);
    const i1 = Math.floor(Math.max(ax, bx, cx) / cell - 0.5);
    if (i0 > i1) continue;
    const j0 = Math.ceil(Math.min(ay, by, cy) / cell - 0.5);
    const j1 = Math.floor(Math.max(ay, by, cy) / cell - 0.5);
    if (j0 > j1) continue;
    const nz = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    if (nz === 0) continue;
    const nx = (by - ay) * (cz - az) - (bz - az) * (cy - ay);
    const ny = (bz - az) * (cx - ax) - (bx - ax) * (cz - az);
    // 1 a face in need, 2 any other that looks down, 3 one that looks up
    const kind = nz > 0 ? 3 : -nz > LIMIT * Math.hypot(nx, ny, nz) ? 1 : 2;
    for (let j = j0; j <= j1; j++) {
      const y = (j + 0.5) * cell;
      for (let i = i0; i <= i1; i++) {
        const x = (i + 0.5) * cell;
        const wc = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / nz;
        const wa = ((cx - bx) * (y - by) - (cy - by) * (x - bx)) / nz;
        if (wc < 0 || wa < 0 || wa + wc > 1) continue;
        const z = wa * az + wc * cz + (1 - wa - wc) * bz;
        const cellHits = hits[j * columns + i];
        if (cellHits === undefined) hits[j * columns + i] = [z, kind];
        else cellHits.push(z, kind);
      }
    }
  }
  let mm = 0;
  for (const list of hits) {
    if (list === undefined) continue;
    const order = Array.from({ length: list.length / 2 }, (_, k) => 2 * k).sort(
      (a, b) => list[a] - list[b] || list[a + 1] - list[b + 1],
    );
    let inside = 0;
    let floor = 0;
    for (const k of order) {
      if (list[k + 1] === 3) {
        inside = Math.max(0, inside - 1);
        if (inside === 0) floor = list[k];
        continue;
      }
      if (inside === 0 && list[k + 1] === 1 && list[k] - floor > LEAST_GAP) mm += list[k] - floor;
      inside++;
    }
  }
  return mm * cell * cell;
}

/** Even over all rotations (Shoemake 1992, from memory). */
function randomRotation(random) {
  const [u, v, w] = [random(), random(), random()];
  const [a, b] = [Math.sqrt(1 - u), Math.sqrt(u)];
  const [x, y, z, s] = [
    a * Math.sin(2 * Math.PI * v),
    a * Math.cos(2 * Math.PI * v),
    b * Math.sin(2 * Math.PI * w),
    b * Math.cos(2 * Math.PI * w),
  ];
  return [
    1 - 2 * (y * y + z * z),
    2 * (x * y - z * s),
    2 * (x * z + y * s),
    2 * (x * y + z * s),
    1 - 2 * (x * x + z * z),
    2 * (y * z - x * s),
    2 * (x * z - y * s),
    2 * (y * z + x * s),
    1 - 2 * (x * x + y * y),
  ];
}

/** A generator of its own (mulberry32, from memory). */
function generator(seed) {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function cpuMs() {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
}
