// The sums of src/mass-properties.ts, term by term in the same order, so that they are equal to the bit.

/** Marks the vertices that the corners from..to use, one byte each. */
export function markUsed(triangles: usize, from: u32, to: u32, used: usize): void {
  for (let k = from; k < to; k++) store<u8>(used + load<u32>(triangles + (k << 2)), 1);
}

/** Widens the box (six doubles: lowest x y z, highest x y z) by the marked vertices from..to. */
export function boxSingle(points: usize, used: usize, from: u32, to: u32, box: usize): void {
  widen<f32>(points, used, from, to, box);
}

export function boxDouble(points: usize, used: usize, from: u32, to: u32, box: usize): void {
  widen<f64>(points, used, from, to, box);
}

/** Adds the triangles whose corners are from..to to the sums (13 doubles, in the order of src/mass-properties.ts). */
export function massSingle(
  points: usize,
  triangles: usize,
  from: u32,
  to: u32,
  ox: f64,
  oy: f64,
  oz: f64,
  sums: usize,
): void {
  addTetrahedra<f32>(points, triangles, from, to, ox, oy, oz, sums);
}

export function massDouble(
  points: usize,
  triangles: usize,
  from: u32,
  to: u32,
  ox: f64,
  oy: f64,
  oz: f64,
  sums: usize,
): void {
  addTetrahedra<f64>(points, triangles, from, to, ox, oy, oz, sums);
}

function widen<T>(points: usize, used: usize, from: u32, to: u32, box: usize): void {
  let x0 = load<f64>(box);
  let y0 = load<f64>(box, 8);
  let z0 = load<f64>(box, 16);
  let x1 = load<f64>(box, 24);
  let y1 = load<f64>(box, 32);
  let z1 = load<f64>(box, 40);
  for (let v = from; v < to; v++) {
    if (load<u8>(used + v) === 0) continue;
    const p = points + v * (3 * sizeof<T>());
    const x = <f64>load<T>(p);
    const y = <f64>load<T>(p, sizeof<T>());
    const z = <f64>load<T>(p, 2 * sizeof<T>());
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
    if (z < z0) z0 = z;
    if (z > z1) z1 = z;
  }
  store<f64>(box, x0);
  store<f64>(box, y0, 8);
  store<f64>(box, z0, 16);
  store<f64>(box, x1, 24);
  store<f64>(box, y1, 32);
  store<f64>(box, z1, 40);
}

function addTetrahedra<T>(
  points: usize,
  triangles: usize,
  from: u32,
  to: u32,
  ox: f64,
  oy: f64,
  oz: f64,
  sums: usize,
): void {
  const size = sizeof<T>();
  let volume = load<f64>(sums);
  let area = load<f64>(sums, 8);
  let x = load<f64>(sums, 16);
  let y = load<f64>(sums, 24);
  let z = load<f64>(sums, 32);
  let xx = load<f64>(sums, 40);
  let yy = load<f64>(sums, 48);
  let zz = load<f64>(sums, 56);
  let xy = load<f64>(sums, 64);
  let yz = load<f64>(sums, 72);
  let zx = load<f64>(sums, 80);
  for (let h = from; h < to; h += 3) {
    const corner = triangles + (h << 2);
    const a = points + load<u32>(corner) * (3 * size);
    const b = points + load<u32>(corner, 4) * (3 * size);
    const c = points + load<u32>(corner, 8) * (3 * size);
    const px = <f64>load<T>(a);
    const py = <f64>load<T>(a, size);
    const pz = <f64>load<T>(a, 2 * size);
    const qx = <f64>load<T>(b);
    const qy = <f64>load<T>(b, size);
    const qz = <f64>load<T>(b, 2 * size);
    const rx = <f64>load<T>(c);
    const ry = <f64>load<T>(c, size);
    const rz = <f64>load<T>(c, 2 * size);
    const ax = px - ox;
    const ay = py - oy;
    const az = pz - oz;
    const bx = qx - ox;
    const by = qy - oy;
    const bz = qz - oz;
    const cx = rx - ox;
    const cy = ry - oy;
    const cz = rz - oz;
    const ux = qx - px;
    const uy = qy - py;
    const uz = qz - pz;
    const vx = rx - px;
    const vy = ry - py;
    const vz = rz - pz;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const n2 = nx * nx + ny * ny + nz * nz;
    if (n2 === 0) countFlat(sums, h);
    area += sqrt(n2);
    const d = ax * nx + ay * ny + az * nz;
    const sx = ax + bx + cx;
    const sy = ay + by + cy;
    const sz = az + bz + cz;
    volume += d;
    x += d * sx;
    y += d * sy;
    z += d * sz;
    xx += d * (sx * sx + ax * ax + bx * bx + cx * cx);
    yy += d * (sy * sy + ay * ay + by * by + cy * cy);
    zz += d * (sz * sz + az * az + bz * bz + cz * cz);
    xy += d * (sx * sy + ax * ay + bx * by + cx * cy);
    yz += d * (sy * sz + ay * az + by * bz + cy * cz);
    zx += d * (sz * sx + az * ax + bz * bx + cz * cx);
  }
  store<f64>(sums, volume);
  store<f64>(sums, area, 8);
  store<f64>(sums, x, 16);
  store<f64>(sums, y, 24);
  store<f64>(sums, z, 32);
  store<f64>(sums, xx, 40);
  store<f64>(sums, yy, 48);
  store<f64>(sums, zz, 56);
  store<f64>(sums, xy, 64);
  store<f64>(sums, yz, 72);
  store<f64>(sums, zx, 80);
}

function countFlat(sums: usize, h: u32): void {
  if (load<f64>(sums, 88) === 0) store<f64>(sums, <f64>(h / 3), 96);
  store<f64>(sums, load<f64>(sums, 88) + 1, 88);
}
