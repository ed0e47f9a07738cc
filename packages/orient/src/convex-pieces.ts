import type { Ring } from '@stonehand/model';
import { orient2d } from 'robust-predicates';

/**
 * A simple outline cut into convex polygons that cover it, x, y pairs, counter-clockwise: ears are cut off, and neighbours put
 * together again where the corner between them stays convex.
 * @param ring counter-clockwise, no corner twice
 * Source: ear clipping (Meisters 1975), merging over diagonals (Hertel, Mehlhorn 1983), both from memory
 */
export function convexPieces(ring: Ring): Float64Array[] {
  const pieces: number[][] = ears(ring);
  for (let i = 0; i < pieces.length; i++) {
    for (let j = i + 1; j < pieces.length; j++) {
      const joined = joinedOver(ring, pieces[i], pieces[j]);
      if (joined === undefined) continue;
      pieces[i] = joined;
      pieces.splice(j, 1);
      // The larger piece may now join one that it could not before.
      j = i;
    }
  }
  return pieces.map((piece) => Float64Array.from(piece.flatMap((k) => [ring[k][0], ring[k][1]])));
}

function ears(ring: Ring): number[][] {
  const left = ring.map((_, i) => i);
  const triangles: number[][] = [];
  while (left.length > 3) {
    const n = left.length;
    let cut = left.findIndex((b, k) => {
      const a = left[(k + n - 1) % n];
      const c = left[(k + 1) % n];
      return turn(ring, a, b, c) > 0 && !left.some((p) => p !== a && p !== b && p !== c && covers(ring, a, b, c, p));
    });
    // Only a ring that crosses itself has no ear; a flat corner is dropped, else the first corner goes.
    if (cut < 0) cut = Math.max(0, flatCorner(ring, left));
    const triangle = [left[(cut + n - 1) % n], left[cut], left[(cut + 1) % n]];
    if (turn(ring, triangle[0], triangle[1], triangle[2]) > 0) triangles.push(triangle);
    left.splice(cut, 1);
  }
  if (left.length === 3 && turn(ring, left[0], left[1], left[2]) > 0) triangles.push(left);
  return triangles;
}

function flatCorner(ring: Ring, left: readonly number[]): number {
  const n = left.length;
  return left.findIndex((b, k) => turn(ring, left[(k + n - 1) % n], b, left[(k + 1) % n]) === 0);
}

function joinedOver(ring: Ring, p: readonly number[], q: readonly number[]): number[] | undefined {
  for (let i = 0; i < p.length; i++) {
    const [a, b] = [p[i], p[(i + 1) % p.length]];
    const j = q.findIndex((v, k) => v === b && q[(k + 1) % q.length] === a);
    if (j < 0) continue;
    // p from b round to a, then q from after a round to before b.
    const around = [
      ...Array.from({ length: p.length }, (_, k) => p[(i + 1 + k) % p.length]),
      ...Array.from({ length: q.length - 2 }, (_, k) => q[(j + 2 + k) % q.length]),
    ];
    const n = around.length;
    const convex = around.every((v, k) => turn(ring, around[(k + n - 1) % n], v, around[(k + 1) % n]) >= 0);
    if (convex) return around;
  }
  return undefined;
}

/** Positive for a turn to the left. */
function turn(ring: Ring, a: number, b: number, c: number): number {
  return -orient2d(ring[a][0], ring[a][1], ring[b][0], ring[b][1], ring[c][0], ring[c][1]);
}

function covers(ring: Ring, a: number, b: number, c: number, p: number): boolean {
  return turn(ring, a, b, p) >= 0 && turn(ring, b, c, p) >= 0 && turn(ring, c, a, p) >= 0;
}
