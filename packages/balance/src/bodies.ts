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

/** A mass spread evenly along a line of points: a cord, a seam. One point, or points that coincide, hold all of it. */
export function lineBody(massG: number, points: readonly Vec3[]): Body {
  const rods: Body[] = [];
  let wholeMm = 0;
  for (let i = 1; i < points.length; i++) wholeMm += distance(points[i - 1], points[i]);
  if (wholeMm === 0) return pointBody(massG, points[0] ?? ORIGIN);
  for (let i = 1; i < points.length; i++) {
    rods.push(rodBody((massG * distance(points[i - 1], points[i])) / wholeMm, points[i - 1], points[i]));
  }
  return combineBodies(rods);
}

/** A thin rod: m·l²/12 across its middle. */
function rodBody(massG: number, a: Vec3, b: Vec3): Body {
  const [x, y, z] = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
  const f = massG / 12;
  return {
    massG,
    centreMm: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2],
    inertiaGMm2: [f * (y * y + z * z), f * (x * x + z * z), f * (x * x + y * y), -f * x * y, -f * y * z, -f * z * x],
  };
}

function distance(a: Vec3, b: Vec3): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
}

/**
 * Moment of inertia about any axis, g·mm²: uᵀ·J·u and the parallel-axis term.
 * @param axis through atMm along a unit vector
 */
export function inertiaAbout(body: Body, { atMm, axis }: Readonly<{ atMm: Vec3; axis: Vec3 }>): number {
  const [x, y, z] = axis;
  const [xx, yy, zz, xy, yz, zx] = body.inertiaGMm2;
  const own = x * x * xx + y * y * yy + z * z * zz + 2 * (x * y * xy + y * z * yz + z * x * zx);
  const r = [body.centreMm[0] - atMm[0], body.centreMm[1] - atMm[1], body.centreMm[2] - atMm[2]];
  const along = r[0] * x + r[1] * y + r[2] * z;
  return own + body.massG * (r[0] * r[0] + r[1] * r[1] + r[2] * r[2] - along * along);
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
