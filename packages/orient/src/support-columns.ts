import { halfEdgeTwins } from '@stonehand/mesh';
import type { Mesh, Recipe } from '@stonehand/model';
import { type ColumnSpans, sampleColumns } from './sample-columns.ts';
import { facesInNeed, type SupportOptions } from './support-need.ts';

/**
 * The support of a way up as a mesh of upright blocks, for pictures: in the pose's coordinates, box minimum of the part at
 * 0, 0, 0. Sides between neighbouring blocks are left out, so the mesh is open there.
 * @returns undefined where none is needed
 */
export function supportColumns(
  mesh: Mesh,
  rotation: readonly number[],
  recipe: Recipe,
  { cells = 96, ...options }: SupportOptions & Readonly<{ cells?: number }> = {},
): Mesh | undefined {
  const asked = { ...options, twins: () => halfEdgeTwins(mesh), gridRad: 0 };
  const faces = facesInNeed(mesh, rotation, recipe, asked);
  const cellMm = Math.max(faces.widthMm, faces.depthMm) / cells;
  const spans: ColumnSpans = { cell: [], fromMm: [], toMm: [] };
  const { columns } = sampleColumns(mesh, faces, cellMm, recipe.firstLayerMm / 2, spans);
  return spans.cell.length === 0 ? undefined : blocks(spans, columns, cellMm);
}

const AROUND = [
  [1, 0],
  [0, 1],
  [-1, 0],
  [0, -1],
] as const;

function blocks({ cell, fromMm, toMm }: ColumnSpans, columns: number, cellMm: number): Mesh {
  const inCell = new Map<number, number[]>();
  cell.forEach((c, k) => {
    const list = inCell.get(c);
    if (list === undefined) inCell.set(c, [k]);
    else list.push(k);
  });
  const corners: number[] = [];
  const triangles: number[] = [];
  const quad = (...points: readonly (readonly [number, number, number])[]): void => {
    const first = corners.length / 3;
    for (const p of points) corners.push(...p);
    triangles.push(first, first + 1, first + 2, first, first + 2, first + 3);
  };
  for (let k = 0; k < cell.length; k++) {
    const column = cell[k] % columns;
    const row = Math.floor(cell[k] / columns);
    const [x0, x1] = [column * cellMm, (column + 1) * cellMm];
    const [y0, y1] = [row * cellMm, (row + 1) * cellMm];
    const [z0, z1] = [fromMm[k], toMm[k]];
    quad([x0, y0, z1], [x1, y0, z1], [x1, y1, z1], [x0, y1, z1]);
    quad([x0, y0, z0], [x0, y1, z0], [x1, y1, z0], [x1, y0, z0]);
    for (const [dx, dy] of AROUND) {
      const beside = column + dx < 0 || column + dx >= columns ? [] : (inCell.get(cell[k] + dx + dy * columns) ?? []);
      if (beside.some((j) => fromMm[j] < z1 && toMm[j] > z0)) continue;
      // Counter-clockwise from outside.
      if (dx !== 0) {
        const x = dx === 1 ? x1 : x0;
        const [from, to] = dx === 1 ? [y0, y1] : [y1, y0];
        quad([x, from, z0], [x, to, z0], [x, to, z1], [x, from, z1]);
      } else {
        const y = dy === 1 ? y1 : y0;
        const [from, to] = dy === 1 ? [x1, x0] : [x0, x1];
        quad([from, y, z0], [to, y, z0], [to, y, z1], [from, y, z1]);
      }
    }
  }
  return { positions: Float32Array.from(corners), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}
