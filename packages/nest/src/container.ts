import type { Ring } from '@stonehand/model';
import { convexParts } from './convex-parts.ts';
import { facesOf, ringAreaMm2 } from './outline.ts';
import { flatAreaMm2, hullOf, type Shape, shapeKey } from './shape.ts';

/**
 * Where shapes may lie: the box cut by half-planes (x, y of the outward normal, offset), less obstacles. x1 is the only thing
 * that changes, when a strip gets shorter.
 */
export type Container = {
  readonly x0: number;
  readonly y0: number;
  x1: number;
  readonly y1: number;
  readonly planes: Float64Array;
  readonly obstacles: readonly Shape[];
  readonly areaMm2: number;
};

export function rectangleContainer(widthMm: number, heightMm: number): Container {
  return {
    x0: 0,
    y0: 0,
    x1: widthMm,
    y1: heightMm,
    planes: new Float64Array(0),
    obstacles: [],
    areaMm2: widthMm * heightMm,
  };
}

/**
 * A build plate's usable outline as its convex hull less the pockets outside the outline and less the keep-outs.
 * @param clearanceMm between pieces; obstacles take theirs back, so that only a piece's brim keeps off them
 */
export function plateContainer(usable: Ring, keepOut: readonly Ring[], clearanceMm: number): Container {
  const outline = facesOf([usable], 'usable area')[0]!.outer;
  const hullXy = hullOf(outline);
  const xs = outline.map((p) => p[0]);
  const ys = outline.map((p) => p[1]);
  const obstacles: Shape[] = [];
  const marginMm = -clearanceMm / 2;
  for (const pocket of pockets(outline)) obstacles.push(fixedShape(pocket, marginMm));
  for (const ring of keepOut)
    for (const face of facesOf([ring], 'keep-out')) obstacles.push(fixedShape(face.outer, marginMm));
  return {
    x0: Math.min(...xs),
    y0: Math.min(...ys),
    x1: Math.max(...xs),
    y1: Math.max(...ys),
    planes: slantedPlanes(hullXy),
    obstacles,
    areaMm2: ringAreaMm2(outline) - keepOut.reduce((sum, ring) => sum + areaInside(ring, hullXy), 0),
  };
}

/** Area of a ring inside a convex outline (Sutherland & Hodgman 1974: cut by one edge after the other). */
function areaInside(ring: Ring, hullXy: Float64Array): number {
  let kept = [...ring];
  for (let i = 0; i < hullXy.length; i += 2) {
    const x = hullXy[i]!;
    const y = hullXy[i + 1]!;
    const ex = hullXy[(i + 2) % hullXy.length]! - x;
    const ey = hullXy[(i + 3) % hullXy.length]! - y;
    const side = (p: readonly [number, number]): number => ex * (p[1] - y) - ey * (p[0] - x);
    kept = kept.flatMap((p, k) => {
      const q = kept[(k + 1) % kept.length]!;
      const [a, b] = [side(p), side(q)];
      const own = a >= 0 ? [p] : [];
      if (a >= 0 === b >= 0) return own;
      return [...own, [p[0] + (a / (a - b)) * (q[0] - p[0]), p[1] + (a / (a - b)) * (q[1] - p[1])] as const];
    });
  }
  return Math.abs(ringAreaMm2(kept));
}

function fixedShape(ring: Ring, marginMm: number): Shape {
  const hullXy = hullOf(ring);
  const parts = convexParts(ring, []);
  return {
    key: shapeKey(parts, marginMm),
    parts,
    hullXy,
    outlineXy: Float64Array.from(ring.flat()),
    areaMm2: Math.abs(ringAreaMm2(ring)),
    hullAreaMm2: flatAreaMm2(hullXy),
    marginMm,
    wallMm: 0,
  };
}

/** Edges of the hull that the box does not already stand for. */
function slantedPlanes(hullXy: Float64Array): Float64Array {
  const planes: number[] = [];
  for (let i = 0; i < hullXy.length; i += 2) {
    const x = hullXy[i]!;
    const y = hullXy[i + 1]!;
    const ex = hullXy[(i + 2) % hullXy.length]! - x;
    const ey = hullXy[(i + 3) % hullXy.length]! - y;
    if (ex === 0 || ey === 0) continue;
    const length = Math.hypot(ex, ey);
    planes.push(ey / length, -ex / length, (ey * x - ex * y) / length);
  }
  return Float64Array.from(planes);
}

/** The areas between an outline and its convex hull, counter-clockwise. */
function pockets(outline: Ring): Ring[] {
  const hullXy = hullOf(outline);
  const onHull = new Set<string>();
  for (let i = 0; i < hullXy.length; i += 2) onHull.add(`${hullXy[i]},${hullXy[i + 1]}`);
  const n = outline.length;
  const start = outline.findIndex((p) => onHull.has(`${p[0]},${p[1]}`));
  const found: Ring[] = [];
  let chain: (readonly [number, number])[] = [outline[start]!];
  for (let k = 1; k <= n; k++) {
    const point = outline[(start + k) % n]!;
    chain.push(point);
    if (!onHull.has(`${point[0]},${point[1]}`)) continue;
    // The chain runs with the material on its left, so backwards it runs around the pocket.
    const pocket = chain.reverse();
    if (pocket.length > 2 && ringAreaMm2(pocket) > 0) found.push(pocket);
    chain = [point];
  }
  return found;
}
