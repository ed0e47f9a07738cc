import type { Mesh } from '@stonehand/model';

/**
 * Pairs the half-edges along one edge of three or more triangles so that each pair bounds one wedge of material: bodies that
 * touch along the edge come apart, and a layer's outline never jumps from one to the other.
 * Seen along the edge from `v` to `other`, a triangle that runs with it has its material on the side of falling angle, one that
 * runs against it on the side of rising angle; so each wedge opens with a triangle against and closes with one along.
 * Half-edges that are left over (unequal numbers) keep −1.
 * @param fan the half-edges along the edge, in the order of the file, which also breaks ties
 */
export function pairAround(mesh: Mesh, fan: readonly number[], v: number, other: number, twins: Int32Array): void {
  const { triangles } = mesh;
  const angles = anglesAround(mesh, fan, v, other);
  const along = fan.map((h) => (triangles[h] === v ? 0 : 1));
  // At one angle a wedge closes before the next opens: a shared wall belongs to the two bodies beside it, not to itself.
  const order = fan.map((_, i) => i).sort((i, j) => angles[i] - angles[j] || along[i] - along[j] || i - j);
  const opened: number[] = [];
  // Twice round, because the first wedge may have opened before the angle at which counting starts.
  for (let step = 0; step < 2 * order.length; step++) {
    const i = order[step % order.length];
    const h = fan[i];
    if (twins[h] !== -1) continue;
    if (along[i] === 1) {
      if (!opened.includes(h)) opened.push(h);
    } else {
      const g = opened.pop();
      if (g === undefined) continue;
      twins[h] = g;
      twins[g] = h;
    }
  }
}

function anglesAround(mesh: Mesh, fan: readonly number[], v: number, other: number): readonly number[] {
  const { positions, triangles } = mesh;
  const a = 3 * v;
  const b = 3 * other;
  const ex = positions[b] - positions[a];
  const ey = positions[b + 1] - positions[a + 1];
  const ez = positions[b + 2] - positions[a + 2];
  const length2 = ex * ex + ey * ey + ez * ez;
  const angles: number[] = [];
  let x = 0;
  let y = 0;
  let z = 0;
  for (const h of fan) {
    const c = 3 * triangles[h % 3 === 0 ? h + 2 : h - 1];
    const ux = positions[c] - positions[a];
    const uy = positions[c + 1] - positions[a + 1];
    const uz = positions[c + 2] - positions[a + 2];
    const share = length2 === 0 ? 0 : (ux * ex + uy * ey + uz * ez) / length2;
    const px = ux - share * ex;
    const py = uy - share * ey;
    const pz = uz - share * ez;
    if (angles.length === 0) {
      x = px; // counted from the first
      y = py;
      z = pz;
    }
    const turn = ex * (y * pz - z * py) + ey * (z * px - x * pz) + ez * (x * py - y * px);
    angles.push(Math.atan2(turn, Math.sqrt(length2) * (x * px + y * py + z * pz)));
  }
  return angles;
}
