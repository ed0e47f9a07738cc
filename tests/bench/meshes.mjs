// The meshes of the geometry benchmarks, made by formula, so that they are the same on every machine:
// a bumpy tilted ring of 1 000 000 triangles, b the same of 9 998 244, c a ribbed box with arrays of holes (70 796),
// d a hollow dome (200 000). Shapes are { positions: Float32Array, triangles: Uint32Array }.
import { closeSync, existsSync, openSync, renameSync, writeSync } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const MESHES = {
  a: () => bumpyRing(1000, 500),
  b: () => bumpyRing(3162, 1581),
  c: () => ribbedBox(),
  d: () => hollowDome(500, 100),
};

/** The binary STL file of a mesh of this list, written on first use. */
export async function meshFile(name, folder = join(tmpdir(), 'stonehand-bench')) {
  const file = join(folder, `${name}.stl`);
  if (existsSync(file)) return file;
  await mkdir(folder, { recursive: true });
  const { positions, triangles } = await MESHES[name]();
  const half = `${file}.${process.pid}`;
  writeStlFile(half, positions, triangles);
  renameSync(half, file);
  return file;
}

/** A ring with waves of three lengths, its axis tilted, so that few vertices share a height. */
export function bumpyRing(around, through) {
  const positions = new Float32Array(around * through * 3);
  const triangles = new Uint32Array(around * through * 6);
  const tiltCos = Math.cos(0.3);
  const tiltSin = Math.sin(0.3);
  let p = 0;
  let o = 0;
  for (let i = 0; i < around; i++) {
    const u = (i / around) * 2 * Math.PI;
    for (let j = 0; j < through; j++) {
      const v = (j / through) * 2 * Math.PI;
      const fine = 0.15 * Math.sin(131 * u) * Math.sin(97 * v);
      const r = 25 + 1.2 * Math.sin(17 * u + 2 * v) + 0.8 * Math.sin(23 * v - 5 * u) + fine;
      const out = 50 + r * Math.cos(v);
      const y = out * Math.sin(u);
      const z = r * Math.sin(v);
      positions[p++] = out * Math.cos(u);
      positions[p++] = y * tiltCos - z * tiltSin;
      positions[p++] = y * tiltSin + z * tiltCos + 60;
      const i2 = (i + 1) % around;
      const j2 = (j + 1) % through;
      const [a, b, c, d] = [i * through + j, i2 * through + j, i2 * through + j2, i * through + j2];
      triangles.set([a, b, c, a, c, d], o);
      o += 6;
    }
  }
  return { positions, triangles };
}

/** Half a ball of 60 mm with a wall of 2.4 mm, open below: `around` columns, `up` rows in each of its two skins. */
export function hollowDome(around, up) {
  const positions = [];
  const triangles = [];
  const outer = skin(60, false);
  const inner = skin(57.6, true);
  for (let i = 0; i < around; i++) {
    const i2 = (i + 1) % around;
    triangles.push(outer + i2, outer + i, inner + i, outer + i2, inner + i, inner + i2);
  }
  return { positions: Float32Array.from(positions), triangles: Uint32Array.from(triangles) };

  function skin(radius, inward) {
    const base = positions.length / 3;
    for (let j = 0; j < up; j++) {
      const height = (j / up) * (Math.PI / 2);
      for (let i = 0; i < around; i++) {
        const turn = (i / around) * 2 * Math.PI;
        positions.push(
          radius * Math.cos(height) * Math.cos(turn),
          radius * Math.cos(height) * Math.sin(turn),
          radius * Math.sin(height),
        );
      }
    }
    const top = positions.length / 3;
    positions.push(0, 0, radius);
    const add = (a, b, c) => (inward ? triangles.push(a, c, b) : triangles.push(a, b, c));
    for (let j = 0; j < up; j++) {
      for (let i = 0; i < around; i++) {
        const a = base + j * around + i;
        const b = base + j * around + ((i + 1) % around);
        if (j === up - 1) add(a, b, top);
        else {
          add(a, b, b + around);
          add(a, b + around, a + around);
        }
      }
    }
    return base;
  }
}

/** An open box with ribs, bosses, three arrays of holes, a ball and a grip, united by manifold-3d; some edges have four faces. */
export async function ribbedBox() {
  const kernel = await (await import('manifold-3d')).default();
  kernel.setup();
  const { Manifold, CrossSection } = kernel;
  const rounded = (width, depth, radius, segments) =>
    CrossSection.square([width - 2 * radius, depth - 2 * radius], true).offset(radius, 'Round', 2, segments);
  const [length, width, height, wall] = [150, 100, 60, 2.4];
  const shell = Manifold.extrude(rounded(length, width, 12, 128), height).subtract(
    Manifold.extrude(rounded(length - 2 * wall, width - 2 * wall, 12 - wall, 128), height).translate([0, 0, wall]),
  );
  const more = [];
  const less = [];
  for (let i = -3; i <= 3; i++) {
    more.push(Manifold.cube([2, width - 2 * wall, 25], true).translate([i * 18, 0, wall + 12.5]));
  }
  for (let j = -1; j <= 1; j++) {
    more.push(Manifold.cube([length - 2 * wall, 2, 15], true).translate([0, j * 25, wall + 7.5]));
  }
  for (const x of [-60, 60]) {
    for (const y of [-36, 36]) {
      more.push(Manifold.cylinder(height - 10, 5, 4, 96).translate([x, y, wall / 2]));
      less.push(Manifold.cylinder(height, 1.6, 1.6, 64).translate([x, y, wall + 4]));
    }
  }
  for (let i = 0; i < 24; i++) {
    for (let j = 0; j < 12; j++) {
      if ((i + j) % 2 === 0) continue;
      less.push(Manifold.cylinder(10, 1.7, 1.7, 32).translate([-66 + i * 5.7, -40 + j * 7.2, -3]));
    }
  }
  for (let i = 0; i < 18; i++) {
    for (let j = 0; j < 4; j++) {
      const bore = Manifold.cylinder(200, 1.8, 1.8, 32, true).rotate([90, 0, 0]);
      less.push(bore.translate([-60 + i * 7, 0, 32 + j * 6.5]));
    }
  }
  for (let i = 0; i < 9; i++) {
    less.push(
      Manifold.cylinder(300, 2.5, 2.5, 40, true)
        .rotate([0, 90, 0])
        .translate([0, -34 + i * 8.5, 45]),
    );
  }
  more.push(Manifold.sphere(9, 88).translate([0, 0, 28]));
  more.push(Manifold.revolve(CrossSection.circle(4, 40).translate([14, 0]), 100).translate([0, 0, 30]));
  const mesh = Manifold.union([shell, ...more])
    .subtract(Manifold.union(less))
    .getMesh();
  const { vertProperties, numProp, triVerts } = mesh;
  const count = vertProperties.length / numProp;
  const positions = new Float32Array(count * 3);
  for (let v = 0; v < count; v++) {
    for (let k = 0; k < 3; k++) positions[3 * v + k] = vertProperties[numProp * v + k];
  }
  return { positions, triangles: triVerts };
}

/** Binary STL in blocks, with unit normals; larger than any single array may be. */
export function writeStlFile(file, positions, triangles) {
  const count = triangles.length / 3;
  const out = openSync(file, 'w');
  const head = Buffer.alloc(84);
  head.write('stonehand bench mesh');
  head.writeUInt32LE(count, 80);
  writeSync(out, head);
  const block = Buffer.alloc(100_000 * 50);
  for (let first = 0; first < count; first += 100_000) {
    const n = Math.min(100_000, count - first);
    for (let i = 0; i < n; i++) writeRecord(block, 50 * i, positions, triangles, 3 * (first + i));
    writeSync(out, block, 0, 50 * n);
  }
  closeSync(out);
}

function writeRecord(block, at, positions, triangles, h) {
  const [a, b, c] = [3 * triangles[h], 3 * triangles[h + 1], 3 * triangles[h + 2]];
  const [ux, uy, uz] = [0, 1, 2].map((k) => positions[b + k] - positions[a + k]);
  const [vx, vy, vz] = [0, 1, 2].map((k) => positions[c + k] - positions[a + k]);
  const normal = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
  const length = Math.hypot(...normal) || 1;
  for (let k = 0; k < 3; k++) block.writeFloatLE(normal[k] / length, at + 4 * k);
  for (const [corner, p] of [a, b, c].entries()) {
    for (let k = 0; k < 3; k++) block.writeFloatLE(positions[p + k], at + 12 + 12 * corner + 4 * k);
  }
  block.writeUInt16LE(0, at + 48);
}
