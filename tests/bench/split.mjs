// Where to cut: reference meshes at 1.3, 2 and 3 times the bed against the plain rule "the longest side in equal slabs",
// the demo's parts that fit no printer, and a shell of a million triangles. Prints tables; asserts nothing.
//   node tests/bench/split.mjs [reference|demo|million]
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { bytesSource, massProperties, readMesh, topology, transformMesh } from '@stonehand/mesh';
import { candidatePoses, fitHull, poseCost, poseOf, shadowHull } from '@stonehand/orient';
import { cutMesh, joinPieces, planSplit, slabPlanes } from '@stonehand/split';
import Manifold from 'manifold-3d';

const root = join(import.meta.dirname, '..', '..');
const MESHES = join(root, '..', 'shared', 'data', 'meshes');
const REFERENCE = [
  'analytic_box.stl',
  'analytic_bracket_45.stl',
  'analytic_cone.stl',
  'analytic_hollow_shell.stl',
  'analytic_icosphere.stl',
  'analytic_step_at_half.stl',
  'analytic_torus.stl',
  'adj_mount_inch.3mf',
  'featuretype.ply',
  'gearwheel.bin.stl',
  'knot2.stl',
  'menger_sponge3.glb',
  'spot.obj',
  'tray_bottom_ascii.stl',
];
const BED = {
  usable: [
    [0, 0],
    [246, 0],
    [246, 246],
    [0, 246],
  ],
  heightMm: 256,
};
const RECIPE = {
  id: 'shell',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'gyroid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 8,
};
const what = process.argv[2];
let kernel;
const cpuS = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

if (what === undefined || what === 'reference') await reference();
if (what === undefined || what === 'demo') await demo();
if (what === undefined || what === 'million') await million();

async function reference() {
  if (!existsSync(MESHES)) return console.log('reference meshes: skipped, ../shared/data is absent');
  console.log('reference meshes on 246 x 246 x 256, support from 45 degrees at 15 %');
  console.log(
    row([
      'mesh',
      'x bed',
      'bound',
      'ours',
      'slabs',
      'support cm3',
      'slabs',
      'height mm',
      'slabs',
      'seam mm',
      'slabs',
      'cpu s',
      'checks',
    ]),
  );
  const sums = [0, 0, 0, 0, 0, 0, 0, 0];
  for (const file of REFERENCE) {
    const { mesh } = await readMesh(bytesSource(file, readFileSync(join(MESHES, file))));
    for (const times of [1.3, 2, 3]) {
      const big = scaled(mesh, times * 250);
      const before = cpuS();
      const plan = attempt(() => planSplit(big, [BED], { recipe: RECIPE, seed: 1 }));
      const seconds = cpuS() - before;
      const ours = plan && measured(big, plan.planes);
      const slabs = attempt(() => slabPlanes(big, [BED], { recipe: RECIPE }));
      const plain = slabs && measured(big, slabs);
      if (ours && plain) {
        [
          ours.pieces,
          plain.pieces,
          ours.supportMm3,
          plain.supportMm3,
          ours.heightMm,
          plain.heightMm,
          ours.seamMm,
          plain.seamMm,
        ].forEach((v, i) => {
          sums[i] += v;
        });
      }
      const two = (key, digits = 0, by = 1) => [ours, plain].map((r) => (r ? (r[key] / by).toFixed(digits) : '-'));
      console.log(
        row([
          file.slice(0, 24),
          times,
          plan?.bound ?? '-',
          ...two('pieces'),
          ...two('supportMm3', 1, 1000),
          ...two('heightMm'),
          ...two('seamMm'),
          seconds.toFixed(1),
          ours?.faults.join(' ') || (ours ? 'ok' : 'none found'),
          plan ? await jointsText(big, plan.planes) : '',
        ]),
      );
    }
  }
  console.log(
    row([
      'sum where both',
      '',
      '',
      sums[0],
      sums[1],
      (sums[2] / 1000).toFixed(0),
      (sums[3] / 1000).toFixed(0),
      sums[4].toFixed(0),
      sums[5].toFixed(0),
      sums[6].toFixed(0),
      sums[7].toFixed(0),
      '',
      '',
    ]),
  );
}

/** Pieces in their own best way up of those that fit, support by supportNeed; closed, volumes add up. */
function measured(mesh, planes) {
  const pieces = cutMesh(mesh, planes);
  const faults = [];
  const whole = massProperties(mesh).volumeMm3;
  const sum = pieces.reduce((total, piece) => total + massProperties(piece.mesh).volumeMm3, 0);
  if (Math.abs(sum / whole - 1) > 1e-6) faults.push('volume');
  let supportMm3 = 0;
  let heightMm = 0;
  for (const { id, mesh: piece } of pieces) {
    if (topology(piece).boundaryEdges > 0) faults.push(`${id} open`);
    const pose = bestThatFits(piece, planes);
    if (pose === undefined) faults.push(`${id} fits not`);
    supportMm3 += RECIPE.supportShare * (pose?.supportMm3 ?? 0);
    heightMm += pose?.heightMm ?? 0;
  }
  return { pieces: pieces.length, supportMm3, heightMm, seamMm: seamOf(pieces, mesh), faults };
}

function bestThatFits(piece, planes) {
  const volume = massProperties(piece).volumeMm3;
  const poses = [...candidatePoses(piece, RECIPE, { rounds: 200 }), ...standing(piece, planes)];
  return poses
    .filter((pose) => pose.heightMm <= BED.heightMm && fitHull(shadowHull(piece, pose), BED.usable).fits)
    .sort((a, b) => poseCost(a, volume, RECIPE) - poseCost(b, volume, RECIPE))[0];
}

function standing(piece, planes) {
  const axes = [...planes.map(({ normal }) => normal), [1, 0, 0], [0, 1, 0], [0, 0, 1]];
  return axes
    .flatMap((up) => [up, up.map((v) => -v)])
    .map((up) => poseOf(piece, rotationTo(up), RECIPE, { mostCells: 128 }));
}

function rotationTo([x, y, z]) {
  const helper = Math.abs(x) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const u = unit(cross(helper, [x, y, z]));
  return [...u, ...cross([x, y, z], u), x, y, z];
}
function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
function unit(v) {
  return v.map((c) => c / Math.hypot(...v));
}

/** Half of what the cuts add to the surface's outline is not known here; the caps' outline is: edges between cap and skin. */
function seamOf(pieces, mesh) {
  const area =
    pieces.reduce((sum, piece) => sum + massProperties(piece.mesh).areaMm2, 0) - massProperties(mesh).areaMm2;
  return Math.sqrt(Math.max(0, area / 2)) * 4;
}

/** Joints made and judged: by volume of what pieces share, by rays from the joints to the outside, by extents across the cut. */
async function jointsText(mesh, planes) {
  const cut = cutMesh(mesh, planes);
  let made;
  try {
    made = await joinPieces(cut, planes, {});
  } catch (error) {
    return `refused: ${error.message}`;
  }
  const kinds = {};
  for (const { kind } of made.joints) kinds[kind] = (kinds[kind] ?? 0) + 1;
  const open = made.pieces.filter((piece) => {
    const found = topology(piece.mesh);
    return found.boundaryEdges + found.nonManifoldEdges + found.misorientedEdges > 0;
  });
  const share = await sharedShare(made);
  const walls = made.designs.flatMap((design) => wallsOf(mesh, design));
  const short = walls.filter(({ mm, asked }) => mm < asked - 0.01);
  const gaps = made.designs.map(({ contact }) => gapOf(made.pieces, contact));
  const said = [
    Object.entries(kinds)
      .map(([kind, count]) => `${count} ${kind}`)
      .join(' '),
    `shared ${share.toExponential(0)}`,
    walls.length === 0
      ? 'no wall'
      : `wall ${Math.min(...walls.map(({ mm }) => mm)).toFixed(2)}${short.length > 0 ? ` SHORT ${short.length}` : ''}`,
    gaps.length === 0 ? '' : `gap ${Math.min(...gaps).toFixed(4)} to ${Math.max(...gaps).toFixed(4)}`,
    open.length === 0 ? 'closed' : `OPEN ${open.map(({ id }) => id)}`,
  ];
  return said.join(', ');
}

/** Largest share of a body that another one claims too. */
async function sharedShare({ pieces, loose }) {
  if (kernel === undefined) {
    kernel = await Manifold();
    kernel.setup();
  }
  const bodies = [...pieces, ...loose].map(({ mesh }) => ({ mesh, box: massProperties(mesh).boxMm }));
  const solids = bodies.map(({ mesh }) =>
    kernel.Manifold.ofMesh(
      new kernel.Mesh({
        numProp: 3,
        vertProperties: Float32Array.from(mesh.positions),
        triVerts: Uint32Array.from(mesh.triangles),
      }),
    ),
  );
  let worst = 0;
  for (let i = 0; i < bodies.length; i++) {
    for (let j = 0; j < i; j++) {
      const apart = [0, 1, 2].some(
        (d) => bodies[i].box.min[d] > bodies[j].box.max[d] || bodies[j].box.min[d] > bodies[i].box.max[d],
      );
      if (apart) continue;
      const both = solids[i].intersect(solids[j]);
      worst = Math.max(worst, both.volume() / Math.min(solids[i].volume(), solids[j].volume()));
      both.delete();
    }
  }
  for (const solid of solids) solid.delete();
  return worst;
}

/** What is left outside a bore (rays from its wall outwards) or outside a lug's root (rays towards the outside), in the uncut part. */
function wallsOf(mesh, { joint, pin, lug, contact }) {
  const n = contact.plane.normal;
  const [u, v] = frame(n);
  const asked = joint.leastWallMm;
  const walls = [];
  if (pin !== undefined) {
    for (const h of [-0.95, -0.5, 0.5, 0.95]) {
      for (let k = 0; k < 16; k++) {
        const a = (2 * Math.PI * k) / 16;
        const out = u.map((_, d) => Math.cos(a) * u[d] + Math.sin(a) * v[d]);
        const from = joint.atMm.map((at, d) => at + h * pin.depthMm * n[d] + pin.boreRadiusMm * out[d]);
        walls.push({ mm: firstHit(mesh, from, out), asked });
      }
    }
  }
  if (lug !== undefined) {
    const out3 = u.map((_, d) => -(lug.out[0] * u[d] + lug.out[1] * v[d]));
    const along = u.map((_, d) => -lug.out[1] * u[d] + lug.out[0] * v[d]);
    for (const h of [-2.8, -0.2, 0.2, 2.8]) {
      for (const s of [-6.4, 0, 6.4]) {
        const mm = -lug.rootMm + lug.slope * h;
        const from = u.map(
          (_, d) =>
            lug.at[0] * u[d] + lug.at[1] * v[d] - mm * out3[d] + s * along[d] + (contact.plane.offsetMm + h) * n[d],
        );
        walls.push({ mm: firstHit(mesh, from, out3), asked });
      }
    }
  }
  return walls;
}

/** The frame that the package gives a plane, from its definition: the least axis made square to the normal. */
function frame([x, y, z]) {
  const least = Math.abs(x) <= Math.abs(y) && Math.abs(x) <= Math.abs(z) ? 0 : Math.abs(y) <= Math.abs(z) ? 1 : 2;
  const axis = [0, 1, 2].map((d) => (d === least ? 1 : 0));
  const along = [x, y, z][least];
  const u = unit(axis.map((a, d) => a - along * [x, y, z][d]));
  return [u, cross([x, y, z], u)];
}

/** Distance to the first triangle along a ray, by Möller and Trumbore 1997 (from memory). */
function firstHit({ positions: p, triangles: t }, from, way) {
  let best = Infinity;
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k], 3 * t[k + 1], 3 * t[k + 2]];
    const e1 = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const e2 = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const q = cross(way, e2);
    const det = e1[0] * q[0] + e1[1] * q[1] + e1[2] * q[2];
    if (Math.abs(det) < 1e-12) continue;
    const s = [from[0] - p[a], from[1] - p[a + 1], from[2] - p[a + 2]];
    const f = (s[0] * q[0] + s[1] * q[1] + s[2] * q[2]) / det;
    if (f < 0 || f > 1) continue;
    const r = cross(s, e1);
    const g = (way[0] * r[0] + way[1] * r[1] + way[2] * r[2]) / det;
    if (g < 0 || f + g > 1) continue;
    const hit = (e2[0] * r[0] + e2[1] * r[1] + e2[2] * r[2]) / det;
    if (hit > 1e-6 && hit < best) best = hit;
  }
  return best;
}

/** Free space between the two pieces of a contact, along the cut's normal. */
function gapOf(pieces, { lower, upper, plane: { normal: n } }) {
  const reach = (id, pick) =>
    pieces
      .find((piece) => piece.id === id)
      .mesh.positions.reduce(
        (best, _, i, p) => (i % 3 === 0 ? pick(best, n[0] * p[i] + n[1] * p[i + 1] + n[2] * p[i + 2]) : best),
        pick === Math.max ? -Infinity : Infinity,
      );
  return reach(upper.id, Math.min) - reach(lower.id, Math.max);
}

async function demo() {
  console.log('demo parts that fit no printer whole (loft, ABS, 4 mm brim)');
  const recipe = { ...RECIPE, overhangFromVerticalDeg: 55, supportShare: 0.1, brimMm: 4 };
  let total = 0;
  for (const [file, showSide] of [
    ['back-shell', [0, 0, 1]],
    ['breast-shell', [0, 0, -1]],
  ]) {
    const bytes = readFileSync(join(root, 'parts', 'heron', 'body', `${file}.stl`));
    const { mesh } = await readMesh(bytesSource(file, bytes));
    const before = cpuS();
    const plan = planSplit(mesh, [BED], { recipe, brimMm: 4, showSide, seed: 7 });
    const pieces = cutMesh(mesh, plan.planes);
    total += cpuS() - before;
    console.log(
      row([
        file,
        `${pieces.length} pieces`,
        `bound ${plan.bound}`,
        `slabs ${plan.slabs}`,
        `${(cpuS() - before).toFixed(1)} s`,
      ]),
    );
  }
  console.log(`together ${total.toFixed(1)} s of processor time (gate 30 s on 2 cores, stretch 15)`);
}

async function million() {
  const mesh = shellOf(500, 1000);
  console.log(`a shell of ${mesh.triangles.length / 3} triangles, 460 mm, walls of 3 mm`);
  const before = cpuS();
  const started = performance.now();
  const plan = planSplit(mesh, [BED], { recipe: RECIPE, seed: 1 });
  const planned = cpuS() - before;
  const pieces = cutMesh(mesh, plan.planes);
  console.log(
    `${pieces.length} pieces, bound ${plan.bound}; planned ${planned.toFixed(1)} s, cut ${(cpuS() - before - planned).toFixed(1)} s of processor time, ${((performance.now() - started) / 1000).toFixed(1)} s on the clock (gate 60, stretch 30)`,
  );
}

/** A wavy hollow egg: two closed surfaces of rings x around quads each. */
function shellOf(rings, around) {
  const positions = [];
  const triangles = [];
  for (const [inMm, turn] of [
    [0, false],
    [3, true],
  ]) {
    const first = positions.length / 3;
    for (let i = 0; i <= rings; i++) {
      const a = (Math.PI * (i + 0.5)) / (rings + 1);
      for (let k = 0; k < around / 2; k++) {
        const b = (4 * Math.PI * k) / around;
        const r = 1 + 0.02 * Math.sin(9 * b) * Math.sin(a);
        positions.push(
          (230 - inMm) * Math.cos(a),
          (140 * r - inMm) * Math.sin(a) * Math.cos(b),
          (120 * r - inMm) * Math.sin(a) * Math.sin(b),
        );
      }
    }
    const n = around / 2;
    const add = (p, q, r) => triangles.push(...(turn ? [p, r, q] : [p, q, r]));
    for (let i = 0; i < rings; i++)
      for (let k = 0; k < n; k++) {
        const [p, q] = [first + i * n + k, first + i * n + ((k + 1) % n)];
        add(p, p + n, q);
        add(q, p + n, q + n);
      }
    for (let k = 1; k + 1 < n; k++) {
      add(first, first + k, first + k + 1);
      add(first + rings * n, first + rings * n + k + 1, first + rings * n + k);
    }
  }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

function scaled(mesh, toMm) {
  const { min, max } = massProperties(mesh).boxMm;
  const s = toMm / Math.max(...max.map((v, d) => v - min[d]));
  return transformMesh(mesh, [s, 0, 0, -s * min[0], 0, s, 0, -s * min[1], 0, 0, s, -s * min[2]]);
}

function attempt(work) {
  try {
    return work();
  } catch (error) {
    if (process.env.SHOW) console.log(error.message);
    return undefined;
  }
}

function row(cells) {
  return cells.map((cell, i) => (i === 0 ? String(cell).padEnd(25) : String(cell).padStart(10))).join(' ');
}
