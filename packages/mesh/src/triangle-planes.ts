/**
 * A plane per triangle for cheap sure answers before exact ones: normal u × v and a bound, four numbers each.
 * With M the largest side component, each normal component is off by at most 8·2⁻⁵³·M² and no larger than 2·M²; the product
 * with a difference d then errs by less than 2⁻⁴⁸·M²·(|dx| + |dy| + |dz|). The bound below is three times that.
 */
export function trianglePlanes(p: Float64Array, triangles: Uint32Array): Float64Array {
  const planes = new Float64Array((triangles.length / 3) * 4);
  for (let h = 0, o = 0; h < triangles.length; h += 3, o += 4) {
    const a = 3 * triangles[h];
    const b = 3 * triangles[h + 1];
    const c = 3 * triangles[h + 2];
    const ux = p[b] - p[a];
    const uy = p[b + 1] - p[a + 1];
    const uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a];
    const vy = p[c + 1] - p[a + 1];
    const vz = p[c + 2] - p[a + 2];
    const m = Math.max(Math.abs(ux), Math.abs(uy), Math.abs(uz), Math.abs(vx), Math.abs(vy), Math.abs(vz));
    planes[o] = uy * vz - uz * vy;
    planes[o + 1] = uz * vx - ux * vz;
    planes[o + 2] = ux * vy - uy * vx;
    planes[o + 3] = BOUND * m * m;
  }
  return planes;
}

const BOUND = 3 * 2 ** -48;

/** Marks triangles without area, in double precision. */
export function flatTriangles(planes: Float64Array): Uint8Array {
  const flat = new Uint8Array(planes.length / 4);
  for (let t = 0, o = 0; t < flat.length; t++, o += 4) {
    if (planes[o] === 0 && planes[o + 1] === 0 && planes[o + 2] === 0) flat[t] = 1;
  }
  return flat;
}

/**
 * True only when the corners of triangle t that s does not share lie all strictly on one side of the plane of s: then the
 * two have nothing in common beyond what they share. False says nothing.
 */
export function surelyApart(
  p: Float64Array,
  triangles: Uint32Array,
  planes: Float64Array,
  s: number,
  t: number,
): boolean {
  const a = triangles[3 * s];
  const b = triangles[3 * s + 1];
  const c = triangles[3 * s + 2];
  const ax = p[3 * a];
  const ay = p[3 * a + 1];
  const az = p[3 * a + 2];
  const nx = planes[4 * s];
  const ny = planes[4 * s + 1];
  const nz = planes[4 * s + 2];
  const bound = planes[4 * s + 3];
  let seen = 0;
  for (let h = 3 * t; h < 3 * t + 3; h++) {
    const v = triangles[h];
    if (v === a || v === b || v === c) continue;
    const dx = p[3 * v] - ax;
    const dy = p[3 * v + 1] - ay;
    const dz = p[3 * v + 2] - az;
    const height = nx * dx + ny * dy + nz * dz;
    const least = bound * (Math.abs(dx) + Math.abs(dy) + Math.abs(dz));
    if (height > least) {
      if (seen < 0) return false;
      seen = 1;
    } else if (height < -least) {
      if (seen > 0) return false;
      seen = -1;
    } else return false;
  }
  return seen !== 0;
}
