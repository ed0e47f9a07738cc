import type { Vec3 } from '@stonehand/model';
import type { NormalBins } from './normal-bins.ts';
import { unit } from './rotation.ts';

/** A flat direction of the surface and how square to the plate it must stay: down · normal = limit is a circle on the sphere. */
export type LimitCircles = Readonly<{ normals: readonly Vec3[]; limit: number }>;

const MOST = 12;
const LEAST_SHARE = 0.003;
/** Normals of one bin that differ by less than this are one plane's: its vectors add up to their lengths. */
const FLAT = 1e-9;
const ON_CIRCLE = 16;

/**
 * The support of a part with flat faces jumps where one of them passes the limit, and the least is often right at such a
 * jump: faces at exactly the limit need none. These are the largest flat directions of the surface.
 */
export function limitCircles({ count, sums }: NormalBins, limit: number): LimitCircles {
  const flat: { normal: Vec3; areaMm2: number }[] = [];
  let total = 0;
  for (let k = 0; k < 7 * count; k += 7) {
    const area = sums[k + 3];
    total += area;
    const size = Math.hypot(sums[k], sums[k + 1], sums[k + 2]);
    if (size < (1 - FLAT) * area) continue;
    flat.push({ normal: [sums[k] / size, sums[k + 1] / size, sums[k + 2] / size], areaMm2: area });
  }
  const normals = flat
    .filter(({ areaMm2 }) => areaMm2 >= LEAST_SHARE * total)
    .sort((a, b) => b.areaMm2 - a.areaMm2)
    .slice(0, MOST)
    .map(({ normal }) => normal);
  return { normals, limit };
}

/** Where two circles meet, and points along each of them. */
export function directionsOnCircles({ normals, limit }: LimitCircles): Vec3[] {
  const found: Vec3[] = [];
  const across = Math.sqrt(1 - limit * limit);
  normals.forEach((n, i) => {
    const [u, v] = squareTo(n);
    for (let k = 0; k < ON_CIRCLE; k++) {
      const turn = (2 * Math.PI * k) / ON_CIRCLE;
      const [c, s] = [across * Math.cos(turn), across * Math.sin(turn)];
      found.push([
        limit * n[0] + c * u[0] + s * v[0],
        limit * n[1] + c * u[1] + s * v[1],
        limit * n[2] + c * u[2] + s * v[2],
      ]);
    }
    for (const m of normals.slice(i + 1)) found.push(...crossings(n, m, limit));
  });
  return found;
}

/** The nearest direction on the nearest circle, and where that circle crosses others nearby. */
export function snappedToCircles(down: Vec3, { normals, limit }: LimitCircles, withinRad: number): Vec3[] {
  const near = normals.filter((n) => Math.abs(dot(n, down) - limit) < withinRad);
  const found: Vec3[] = [];
  near.forEach((n, i) => {
    const along = dot(n, down);
    const rest: Vec3 = [down[0] - along * n[0], down[1] - along * n[1], down[2] - along * n[2]];
    const size = Math.hypot(...rest);
    if (size > 1e-9) {
      const across = Math.sqrt(1 - limit * limit) / size;
      found.push([limit * n[0] + across * rest[0], limit * n[1] + across * rest[1], limit * n[2] + across * rest[2]]);
    }
    for (const m of near.slice(i + 1)) {
      for (const point of crossings(n, m, limit)) if (dot(point, down) > Math.cos(2 * withinRad)) found.push(point);
    }
  });
  return found;
}

/** d with d·n = d·m = limit: in the plane of n + m and n × m. */
function crossings(n: Vec3, m: Vec3, limit: number): Vec3[] {
  const between = dot(n, m);
  if (Math.abs(between) > 1 - 1e-9) return [];
  const share = limit / (1 + between);
  const square = 1 - share * share * (2 + 2 * between);
  if (square < 0) return [];
  const axis = unit([n[1] * m[2] - n[2] * m[1], n[2] * m[0] - n[0] * m[2], n[0] * m[1] - n[1] * m[0]]);
  const up = Math.sqrt(square);
  return [up, -up].map(
    (s): Vec3 => [
      share * (n[0] + m[0]) + s * axis[0],
      share * (n[1] + m[1]) + s * axis[1],
      share * (n[2] + m[2]) + s * axis[2],
    ],
  );
}

function squareTo(n: Vec3): [Vec3, Vec3] {
  const s = n[2] >= 0 ? 1 : -1;
  const a = -1 / (s + n[2]);
  const b = n[0] * n[1] * a;
  return [
    [1 + s * n[0] * n[0] * a, s * b, -s * n[0]],
    [b, s + n[1] * n[1] * a, -n[1]],
  ];
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
