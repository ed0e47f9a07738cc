import { hashValue } from '@stonehand/base';
import type { Ring } from '@stonehand/model';
import { convexParts } from './convex-parts.ts';
import { type Face, facesOf, outlineAreaMm2, simplifyOutward } from './outline.ts';

/**
 * An outline as the search sees it: convex parts (flat x, y pairs, counter-clockwise) whose union it is, its convex
 * hull, and half the gap to keep from another shape with the same margin.
 */
export type Shape = Readonly<{
  /** equal for equal outlines and margins: names the shape's tables */
  key: string;
  parts: readonly Float64Array[];
  hullXy: Float64Array;
  /** corners of all rings */
  outlineXy: Float64Array;
  areaMm2: number;
  hullAreaMm2: number;
  /** gap to another shape = sum of both margins, at least 0 */
  marginMm: number;
  /** gap to the wall of the container */
  wallMm: number;
}>;

export type ShapeOptions = Readonly<{
  marginMm?: number;
  wallMm?: number;
  /** the outline may be grown by up to this much to lose corners */
  simplifyMm?: number;
  what?: string;
}>;

/** @throws StonehandError DATA_INVALID when the rings enclose no area */
export function shapeOf(
  rings: readonly Ring[],
  { marginMm = 0, wallMm = 0, simplifyMm = 0, what = 'outline' }: ShapeOptions = {},
): Shape {
  const faces = facesOf(rings, what);
  const areaMm2 = outlineAreaMm2(faces);
  const kept = simplifyMm > 0 ? faces.map((face) => simplifyOutward(face, simplifyMm)) : faces;
  return shapeOfFaces(kept, areaMm2, marginMm, wallMm);
}

function shapeOfFaces(faces: readonly Face[], areaMm2: number, marginMm: number, wallMm: number): Shape {
  const parts = faces.flatMap((face) => convexParts(face.outer, face.holes));
  const hullXy = hullOf(faces.flatMap((face) => face.outer));
  const key = shapeKey(parts, marginMm);
  const outlineXy = Float64Array.from(faces.flatMap((face) => [face.outer, ...face.holes].flat(2)));
  return { key, parts, hullXy, outlineXy, areaMm2, hullAreaMm2: flatAreaMm2(hullXy), marginMm, wallMm };
}

export function shapeKey(parts: readonly Float64Array[], marginMm: number): string {
  return hashValue([marginMm, ...parts.map((part) => [...part])]);
}

/** Convex hull, counter-clockwise, without points on its edges (Andrew 1979: monotone chain, from memory). */
export function hullOf(points: readonly (readonly [number, number])[]): Float64Array {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const chain: (readonly [number, number])[] = [];
  const grow = (from: number, point: readonly [number, number]): void => {
    while (chain.length >= from + 2) {
      const a = chain[chain.length - 2]!;
      const b = chain[chain.length - 1]!;
      if ((b[0] - a[0]) * (point[1] - b[1]) - (b[1] - a[1]) * (point[0] - b[0]) > 0) break;
      chain.pop();
    }
    chain.push(point);
  };
  for (const point of sorted) grow(0, point);
  const upperFrom = chain.length - 1;
  for (let i = sorted.length - 2; i >= 0; i--) grow(upperFrom, sorted[i]!);
  chain.pop();
  return Float64Array.from(chain.flatMap((p) => [p[0], p[1]]));
}

export function flatAreaMm2(xy: Float64Array): number {
  let twice = 0;
  for (let i = 0, j = xy.length - 2; i < xy.length; j = i, i += 2) {
    twice += xy[j]! * xy[i + 1]! - xy[j + 1]! * xy[i]!;
  }
  return twice / 2;
}

/** Points turned about the origin, counter-clockwise. */
export function turned(xy: Float64Array, cos: number, sin: number): Float64Array {
  const out = new Float64Array(xy.length);
  for (let i = 0; i < xy.length; i += 2) {
    out[i] = cos * xy[i]! - sin * xy[i + 1]!;
    out[i + 1] = sin * xy[i]! + cos * xy[i + 1]!;
  }
  return out;
}

/** cos and sin of an angle in degrees; quarter turns are exact, so that rectangles stay rectangles to the bit. */
export function cosSinDeg(deg: number): readonly [number, number] {
  const turn = ((deg % 360) + 360) % 360;
  if (turn === 0) return [1, 0];
  if (turn === 90) return [0, 1];
  if (turn === 180) return [-1, 0];
  if (turn === 270) return [0, -1];
  const rad = (turn * Math.PI) / 180;
  return [Math.cos(rad), Math.sin(rad)];
}
