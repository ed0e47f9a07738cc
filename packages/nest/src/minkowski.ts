/**
 * Where the reference point of convex b may not be, for convex a standing still: a plus b turned by half a turn about
 * the origin (both counter-clockwise, flat x, y pairs). The sum of two convex polygons has the edges of both in the
 * order of their directions (de Berg et al., Computational Geometry, 3rd ed. 2008, section 13.3).
 */
export function noFitConvex(a: Float64Array, b: Float64Array): Float64Array {
  const n = a.length / 2;
  const m = b.length / 2;
  const startA = lowest(a, 1);
  const startB = lowest(b, -1);
  let x = a[2 * startA]! - b[2 * startB]!;
  let y = a[2 * startA + 1]! - b[2 * startB + 1]!;
  const out: number[] = [];
  let i = 0;
  let j = 0;
  while (i < n || j < m) {
    const p = (startA + i) % n;
    const pn = (p + 1) % n;
    const q = (startB + j) % m;
    const qn = (q + 1) % m;
    const ax = a[2 * pn]! - a[2 * p]!;
    const ay = a[2 * pn + 1]! - a[2 * p + 1]!;
    const bx = b[2 * q]! - b[2 * qn]!;
    const by = b[2 * q + 1]! - b[2 * qn + 1]!;
    out.push(x, y);
    let takeA = j >= m;
    let takeB = i >= n;
    if (!takeA && !takeB) {
      const side = ax * by - ay * bx;
      takeA = side >= 0;
      takeB = side <= 0;
    }
    if (takeA) {
      x += ax;
      y += ay;
      i++;
    }
    if (takeB) {
      x += bx;
      y += by;
      j++;
    }
  }
  return Float64Array.from(out);
}

/** Lowest point, the leftmost of several; with sign −1 the highest and rightmost, which is the lowest of −b. */
function lowest(xy: Float64Array, sign: 1 | -1): number {
  let best = 0;
  for (let i = 1; i < xy.length / 2; i++) {
    const dy = sign * (xy[2 * i + 1]! - xy[2 * best + 1]!);
    if (dy < 0 || (dy === 0 && sign * (xy[2 * i]! - xy[2 * best]!) < 0)) best = i;
  }
  return best;
}
