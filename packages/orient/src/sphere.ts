import type { Vec3 } from '@stonehand/model';

export const AXES: readonly Vec3[] = [
  [0, 0, -1],
  [0, 0, 1],
  [-1, 0, 0],
  [1, 0, 0],
  [0, -1, 0],
  [0, 1, 0],
];

export function within(a: Vec3, b: Vec3, rad: number): boolean {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] >= Math.cos(rad);
}

/** Point i of n spread evenly over the sphere along a spiral of golden angles (from memory). */
export function fibonacci(i: number, n: number): Vec3 {
  const z = 1 - (2 * (i + 0.5)) / n;
  const r = Math.sqrt(1 - z * z);
  const rad = i * Math.PI * (3 - Math.sqrt(5));
  return [r * Math.cos(rad), r * Math.sin(rad), z];
}
