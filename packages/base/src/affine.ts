/**
 * Placements as 12 numbers, row-major 3×4, column vectors: p' = M·p + t with M = (0 1 2 / 4 5 6 / 8 9 10), t = (3, 7, 11).
 */
export type Affine = readonly number[];
type V3 = readonly [number, number, number];

export const IDENTITY_AFFINE: Affine = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];

export function affineOf(rotation: readonly number[], offsetMm: V3): Affine {
  const r = rotation;
  return [r[0]!, r[1]!, r[2]!, offsetMm[0], r[3]!, r[4]!, r[5]!, offsetMm[1], r[6]!, r[7]!, r[8]!, offsetMm[2]];
}

export function applyAffine(m: Affine, p: V3): [number, number, number] {
  return [
    m[0]! * p[0] + m[1]! * p[1] + m[2]! * p[2] + m[3]!,
    m[4]! * p[0] + m[5]! * p[1] + m[6]! * p[2] + m[7]!,
    m[8]! * p[0] + m[9]! * p[1] + m[10]! * p[2] + m[11]!,
  ];
}

/** a after b: p' = a·(b·p). */
export function composeAffine(a: Affine, b: Affine): Affine {
  const out = new Array<number>(12);
  for (let row = 0; row < 3; row++) {
    for (let col = 0; col < 4; col++) {
      let sum = col === 3 ? a[4 * row + 3]! : 0;
      for (let k = 0; k < 3; k++) sum += a[4 * row + k]! * b[4 * k + col]!;
      out[4 * row + col] = sum;
    }
  }
  return out;
}

export function determinant(m: Affine): number {
  return (
    m[0]! * (m[5]! * m[10]! - m[6]! * m[9]!) -
    m[1]! * (m[4]! * m[10]! - m[6]! * m[8]!) +
    m[2]! * (m[4]! * m[9]! - m[5]! * m[8]!)
  );
}

/** @throws RangeError when the linear part is singular */
export function invertAffine(m: Affine): Affine {
  const det = determinant(m);
  if (!(Math.abs(det) > 0)) throw new RangeError('invertAffine: the placement is singular');
  const i = [
    (m[5]! * m[10]! - m[6]! * m[9]!) / det,
    (m[2]! * m[9]! - m[1]! * m[10]!) / det,
    (m[1]! * m[6]! - m[2]! * m[5]!) / det,
    (m[6]! * m[8]! - m[4]! * m[10]!) / det,
    (m[0]! * m[10]! - m[2]! * m[8]!) / det,
    (m[2]! * m[4]! - m[0]! * m[6]!) / det,
    (m[4]! * m[9]! - m[5]! * m[8]!) / det,
    (m[1]! * m[8]! - m[0]! * m[9]!) / det,
    (m[0]! * m[5]! - m[1]! * m[4]!) / det,
  ];
  const t = (row: number): number => -(i[3 * row]! * m[3]! + i[3 * row + 1]! * m[7]! + i[3 * row + 2]! * m[11]!);
  return [i[0]!, i[1]!, i[2]!, t(0), i[3]!, i[4]!, i[5]!, t(1), i[6]!, i[7]!, i[8]!, t(2)];
}

/** Rotation matrix (9, row-major) of turns about x, then y, then z, in degrees. */
export function rotationOfTurns(turnDeg: V3): number[] {
  const [cx, sx] = cosSin(turnDeg[0]);
  const [cy, sy] = cosSin(turnDeg[1]);
  const [cz, sz] = cosSin(turnDeg[2]);
  return [
    cz * cy,
    cz * sy * sx - sz * cx,
    cz * sy * cx + sz * sx,
    sz * cy,
    sz * sy * sx + cz * cx,
    sz * sy * cx - cz * sx,
    -sy,
    cy * sx,
    cy * cx,
  ];
}

// Quarter turns come out exact, so that a part turned by 90° keeps its box to the bit.
function cosSin(deg: number): [number, number] {
  const turn = ((deg % 360) + 360) % 360;
  if (turn === 0) return [1, 0];
  if (turn === 90) return [0, 1];
  if (turn === 180) return [-1, 0];
  if (turn === 270) return [0, -1];
  return [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
}
