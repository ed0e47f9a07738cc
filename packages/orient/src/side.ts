import { orient3d } from 'robust-predicates';

/**
 * Positive when point d lies on the side of the triangle a, b, c from which it is seen counter-clockwise, 0 when the
 * four lie in one plane; the sign is exact.
 * @param p 3·n coordinates; a, b, c, d index points
 */
export function side(p: ArrayLike<number>, a: number, b: number, c: number, d: number): number {
  return -orient3d(
    p[3 * a],
    p[3 * a + 1],
    p[3 * a + 2],
    p[3 * b],
    p[3 * b + 1],
    p[3 * b + 2],
    p[3 * c],
    p[3 * c + 1],
    p[3 * c + 2],
    p[3 * d],
    p[3 * d + 1],
    p[3 * d + 2],
  );
}
