import type { Mesh, Vec3 } from '@stonehand/model';

/** A piece where it belongs in the part, or a pin or key between pieces. */
export type NamedBody = Readonly<{ name: string; mesh: Mesh }>;

/** Pieces drawn apart move by this share of their distance from the part's middle. */
const APART = 0.35;

/** The pieces of a part moved apart, each away from the middle of the whole. */
export function exploded(bodies: readonly NamedBody[]): NamedBody[] {
  const boxes = bodies.map(({ mesh }) => boxOf(mesh));
  const whole = boxes.reduce(
    (a, b) => [...a.slice(0, 3).map((v, d) => Math.min(v, b[d]!)), ...a.slice(3).map((v, d) => Math.max(v, b[3 + d]!))],
    [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity],
  );
  return bodies.map(({ name, mesh }, i) => {
    const [x, y, z] = [0, 1, 2].map(
      (d) => (APART * (boxes[i]![d]! + boxes[i]![3 + d]! - whole[d]! - whole[3 + d]!)) / 2,
    ) as unknown as Vec3;
    const [ox, oy, oz] = mesh.originMm;
    return { name, mesh: { ...mesh, originMm: [ox + x, oy + y, oz + z] } };
  });
}

/** Least x y z, then greatest. */
function boxOf({ positions: p, originMm }: Mesh): number[] {
  const box = [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity];
  for (let i = 0; i < p.length; i++) {
    const d = i % 3;
    const v = p[i]! + originMm[d as 0 | 1 | 2];
    box[d] = Math.min(box[d]!, v);
    box[3 + d] = Math.max(box[3 + d]!, v);
  }
  return box;
}
