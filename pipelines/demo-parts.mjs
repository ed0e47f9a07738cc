// Makes the meshes of the demo workspace, a walking heron puppet, into parts/. Same bytes on every run.
// Usage: node pipelines/demo-parts.mjs [--only name,name] [--out folder]
import { mkdir, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as body from './demo-parts/body.mjs';
import * as head from './demo-parts/head.mjs';
import * as legs from './demo-parts/legs.mjs';
import * as neck from './demo-parts/neck.mjs';
import { glbBytes, objBytes, openEdges, stlBytes, threeMfBytes, volumeMm3, weld } from './demo-parts/write.mjs';

/** Relative difference allowed between the volume of the 32-bit triangles and manifold-3d's own figure. */
const VOLUME_SHARE = 1e-5;

/** Simplifying may leave flakes of no volume beside the part; they are dropped. */
const FLAKE_MM3 = 1e-3;

/** Path, maker, and how far simplifying may move the skin, in mm. */
const PARTS = [
  ['heron/head/skull.stl', head.skull, 0.08],
  ['heron/head/upper-beak.stl', head.upperBeak, 0.04],
  ['heron/head/lower-beak.stl', head.lowerBeak, 0.04],
  ['heron/head/eye-bezel.glb', head.eyeBezel],
  ['heron/head/jaw-hinge.stl', head.jawHinge],
  ['heron/head/neck-yoke.stl', head.neckYoke],
  ['heron/head/battery-tray.stl', head.batteryTray],
  ['heron/head/crest-plume.stl', head.crestPlume],
  ['heron/neck/vertebra.3mf', neck.vertebra],
  ['heron/neck/tendon-guide.obj', neck.tendonGuide, 0.03],
  ['heron/neck/neck-socket.stl', neck.neckSocket],
  ['heron/body/back-shell.stl', body.backShell, 0.08],
  ['heron/body/breast-shell.stl', body.breastShell, 0.08],
  ['heron/body/rib-hoop.stl', body.ribHoop, 0.05],
  ['heron/body/harness-plate.stl', body.harnessPlate, 0.03],
  ['heron/body/tail-fan.stl', body.tailFan, 0.04],
  ['heron/body/wing-left.stl', body.wing, 0.04],
  ['heron/legs/shin-left.stl', legs.shin, 0.04],
  ['heron/legs/shin-right.stl', () => legs.shin().simplify(0.04).mirror([0, 1, 0]), 1e-6],
  ['heron/legs/thigh.stl', legs.thigh, 0.04],
  ['heron/legs/hinge-hub.stl', legs.hingeHub, 0.03],
  ['heron/legs/hinge-fork.stl', legs.hingeFork],
  ['heron/legs/foot-left.stl', legs.foot, 0.04],
  ['heron/legs/toe-pad.stl', legs.toePad],
];

const argument = (name) => {
  const at = process.argv.indexOf(name);
  return at < 0 ? undefined : process.argv[at + 1];
};
const only = argument('--only')?.split(',');
const out = argument('--out') ?? join(dirname(fileURLToPath(import.meta.url)), '..', 'parts');

const rows = [];
let wrong = 0;
for (const [path, make, tolerance = 0.02] of PARTS) {
  const name = path.split('/').at(-1).split('.')[0];
  if (only && !only.includes(name)) continue;
  const bodies = make()
    .simplify(tolerance)
    .decompose()
    .filter((body) => body.volume() > FLAKE_MM3);
  const made = bodies[0];
  const raw = made.getMesh();
  const mesh = weld({ points: raw.vertProperties, triangles: raw.triVerts });
  const volume = volumeMm3(mesh);
  const share = Math.abs(volume / made.volume() - 1);
  const open = openEdges(mesh);
  const bytes = await bytesOf(path, mesh, name);
  await mkdir(join(out, dirname(path)), { recursive: true });
  await writeFile(join(out, path), bytes);
  const box = made.boundingBox();
  const size = [0, 1, 2].map((d) => (box.max[d] - box.min[d]).toFixed(1));
  const problems = [
    share > VOLUME_SHARE && `volume differs by ${share.toExponential(1)}`,
    open && `${open} open edges`,
    bodies.length !== 1 && `${bodies.length} bodies`,
  ].filter(Boolean);
  if (problems.length) wrong++;
  rows.push([
    path,
    size.join(' x '),
    mesh.triangles.length / 3,
    (volume / 1000).toFixed(2),
    Math.round(bytes.length / 1024),
    problems.join(', ') || 'sound',
  ]);
}
printTable([['part', 'size mm', 'triangles', 'cm3', 'kB', ''], ...rows]);
console.log(`${rows.length} meshes, ${rows.reduce((sum, r) => sum + r[4], 0)} kB`);
if (wrong) process.exitCode = 1;

function bytesOf(path, mesh, name) {
  if (path.endsWith('.obj')) return objBytes(mesh, name);
  if (path.endsWith('.3mf')) return threeMfBytes(mesh, name);
  if (path.endsWith('.glb')) return glbBytes(mesh, name);
  return stlBytes(mesh, `heron ${name}`);
}

function printTable(lines) {
  const widths = lines[0].map((_, c) => Math.max(...lines.map((line) => String(line[c]).length)));
  for (const line of lines)
    console.log(
      line
        .map((cell, c) => (c === 0 || c === 5 ? String(cell).padEnd(widths[c]) : String(cell).padStart(widths[c])))
        .join('  '),
    );
}
