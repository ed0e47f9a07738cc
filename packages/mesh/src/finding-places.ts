import type { Mesh, Vec3 } from '@stonehand/model';

/** Spoiled when inside and outside are not defined. */
export const SOLID_FIGURES: readonly string[] = ['volumeMm3', 'centreMm', 'inertiaMm5'];

/** Points of a mesh in mm, to show where a finding is. */
export type Places = Readonly<{
  vertex(vertex: number): Vec3;
  edge(halfEdge: number): Vec3;
  triangle(halfEdge: number): Vec3;
  /** a point in the mesh's numbers, offset included */
  point(at: Vec3): Vec3;
}>;

/** @param mmPerUnit millimetres per unit of the mesh's numbers */
export function placesOf(mesh: Mesh, mmPerUnit: number): Places {
  const { positions, triangles, originMm } = mesh;
  const mean = (vertices: readonly number[]): Vec3 => {
    const along = (i: number): number =>
      (vertices.reduce((sum, v) => sum + positions[v * 3 + i], 0) / vertices.length + originMm[i]) * mmPerUnit;
    return [along(0), along(1), along(2)];
  };
  const corners = (halfEdges: readonly number[]): Vec3 => mean(halfEdges.map((k) => triangles[k]));
  return {
    vertex: (v) => mean([v]),
    edge: (h) => corners([h, h % 3 === 2 ? h - 2 : h + 1]),
    triangle: (h) => corners([h - (h % 3), h - (h % 3) + 1, h - (h % 3) + 2]),
    point: ([x, y, z]) => [x * mmPerUnit, y * mmPerUnit, z * mmPerUnit],
  };
}

export function many(count: number, one: string, several: string): string {
  return `${count} ${count === 1 ? one : several}`;
}

/** Three digits, without an exponent for everyday sizes. */
export function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}
