import type { Vec3 } from '@stonehand/model';
import type { Subject } from './subject.ts';

export type RestFace = Readonly<{ down: Vec3; areaMm2: number }>;

/** Facets of one resting face: normals within 0.2°, planes within 0.05 mm (a quarter of a layer). */
const SAME_NORMAL = Math.cos((0.2 * Math.PI) / 180);
const SAME_PLANE_MM = 0.05;
/** Facets looked at, largest first: a smooth body has hundreds of thousands, none of which it can stand on. */
const MOST_FACETS = 3000;
const MOST_GROUPS = 200;

/**
 * The faces of the convex hull that a part can be put down on, largest first: facets of the hull merged where they lie in
 * one plane.
 */
export function restFaces({ mesh, hull }: Subject): readonly RestFace[] {
  const p = mesh.positions;
  const { triangles } = hull;
  const count = triangles.length / 3;
  const normal = new Float64Array(3 * count);
  const twice = new Float64Array(count);
  const order = new Uint32Array(count);
  for (let t = 0; t < count; t++) {
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const [bx, by, bz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const [cx, cy, cz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    normal[3 * t] = by * cz - bz * cy;
    normal[3 * t + 1] = bz * cx - bx * cz;
    normal[3 * t + 2] = bx * cy - by * cx;
    twice[t] = Math.hypot(normal[3 * t], normal[3 * t + 1], normal[3 * t + 2]);
    order[t] = t;
  }
  order.sort((a, b) => twice[b] - twice[a] || a - b);
  const groups: { sum: [number, number, number]; unit: Vec3; at: number }[] = [];
  for (let k = 0; k < Math.min(count, MOST_FACETS); k++) {
    const t = order[k];
    if (twice[t] === 0) break;
    const n: Vec3 = [normal[3 * t], normal[3 * t + 1], normal[3 * t + 2]];
    const corner = 3 * triangles[3 * t];
    const group = groups.find(
      (g) =>
        dot(g.unit, n) >= SAME_NORMAL * twice[t] &&
        Math.abs(g.unit[0] * p[corner] + g.unit[1] * p[corner + 1] + g.unit[2] * p[corner + 2] - g.at) <= SAME_PLANE_MM,
    );
    if (group !== undefined) {
      for (let i = 0; i < 3; i++) group.sum[i] += n[i];
    } else if (groups.length < MOST_GROUPS) {
      const u: Vec3 = [n[0] / twice[t], n[1] / twice[t], n[2] / twice[t]];
      groups.push({ sum: [...n], unit: u, at: u[0] * p[corner] + u[1] * p[corner + 1] + u[2] * p[corner + 2] });
    }
  }
  return groups
    .map((g) => {
      const size = Math.hypot(...g.sum);
      return { down: [g.sum[0] / size, g.sum[1] / size, g.sum[2] / size] as const, areaMm2: size / 2 };
    })
    .sort((a, b) => b.areaMm2 - a.areaMm2);
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
