import { applyAffine, StonehandError } from '@stonehand/base';
import type { Placement, Tensor, Vec3 } from '@stonehand/model';

/** inertiaGMm2 is about the body's own centre, along the axes it is given in: xx yy zz xy yz zx with xy = −∫xy. */
export type Body = Readonly<{ massG: number; centreMm: Vec3; inertiaGMm2: Tensor }>;

const NO_INERTIA: Tensor = [0, 0, 0, 0, 0, 0];
const ORIGIN: Vec3 = [0, 0, 0];

/** A thing so small, or so little known, that it counts as a point: a screw, a bearing. */
export function pointBody(massG: number, centreMm: Vec3): Body {
  return { massG, centreMm, inertiaGMm2: NO_INERTIA };
}

/**
 * Several bodies as one: masses add, centres by mass, tensors moved to the common centre by the parallel-axis theorem.
 * Nothing, or bodies without mass, give a body of 0 g at the origin.
 */
export function combineBodies(bodies: readonly Body[]): Body {
  let massG = 0;
  for (const body of bodies) massG += body.massG;
  if (massG === 0) return pointBody(0, ORIGIN);
  const centre: [number, number, number] = [0, 0, 0];
  for (const body of bodies) for (let k = 0; k < 3; k++) centre[k] += (body.massG * body.centreMm[k]) / massG;
  const sum: [number, number, number, number, number, number] = [0, 0, 0, 0, 0, 0];
  for (const { massG: m, centreMm: c, inertiaGMm2: own } of bodies) {
    const [x, y, z] = [c[0] - centre[0], c[1] - centre[1], c[2] - centre[2]];
    const moved = [y * y + z * z, x * x + z * z, x * x + y * y, -x * y, -y * z, -z * x];
    for (let k = 0; k < 6; k++) sum[k] += own[k] + m * moved[k];
  }
  return { massG, centreMm: centre, inertiaGMm2: sum };
}

/** How far a placement may be from keeping lengths: rounding of twelve printed digits, nothing that scales. */
const RIGID_SLACK = 1e-6;

/**
 * A body in the axes of what it is placed in.
 * @param placement 12 numbers, row-major 3×4; a turn, a mirror or both, and a shift
 * @throws StonehandError USAGE when the placement changes lengths: a scaled copy has another mass, which only its mesh tells
 */
export function transformBody(body: Body, placement: Placement): Body {
  const m = placement;
  const r = [m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]];
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j <= i; j++) {
      const dot = r[3 * i] * r[3 * j] + r[3 * i + 1] * r[3 * j + 1] + r[3 * i + 2] * r[3 * j + 2];
      if (Math.abs(dot - (i === j ? 1 : 0)) <= RIGID_SLACK) continue;
      throw new StonehandError(
        'USAGE',
        `a place in an assembly may turn, mirror and move a part, not stretch it: [${placement.join(', ')}]`,
        'Give the part its scale where its mesh is named, not in its place.',
      );
    }
  }
  return { massG: body.massG, centreMm: applyAffine(m, body.centreMm), inertiaGMm2: turned(body.inertiaGMm2, r) };
}

/** R·J·Rᵀ; the products of inertia are stored with their sign, so J is the plain symmetric matrix. */
function turned(t: Tensor, r: readonly number[]): Tensor {
  const full = [t[0], t[3], t[5], t[3], t[1], t[4], t[5], t[4], t[2]];
  const entry = (i: number, j: number): number => {
    let sum = 0;
    for (let a = 0; a < 3; a++) for (let b = 0; b < 3; b++) sum += r[3 * i + a] * full[3 * a + b] * r[3 * j + b];
    return sum;
  };
  return [entry(0, 0), entry(1, 1), entry(2, 2), entry(0, 1), entry(1, 2), entry(2, 0)];
}
