import type { Box, Mesh, Recipe } from '@stonehand/model';
import { bridgedFaces } from './bridged-faces.ts';
import { sampleColumns } from './sample-columns.ts';
import { type SupportFaces, supportFaces } from './support-faces.ts';

export type SupportNeed = Readonly<{
  /** of solid columns from the overhanging faces down to the part below or the plate; times the support's share for plastic */
  volumeMm3: number;
  /** seen from above, where the part rests on support */
  contactMm2: number;
  /** contact, plus where the columns stand on the part */
  scarMm2: number;
  /** spacing of the last grid of vertical rays, mm; absent when nothing had to be sampled */
  cellMm?: number;
}>;

export type SupportOptions = Readonly<{
  /** columns lower than this vanish when sliced; half the first layer unless said */
  leastGapMm?: number;
  /** finest grid, cells across the longer side of the shadow */
  mostCells?: number;
  /** support is allowed in these places only, mesh coordinates: faces with their middle in none of them stay as they are */
  supportIn?: readonly Box[];
  /** the mesh's half-edge twins, to find bridges; without them every ceiling needs support */
  twins?: () => Int32Array;
}>;

const FIRST_CELLS = 128;
const SETTLED = 0.004;

/**
 * What must be propped up in a pose, and how much: columns under every face beyond the limit. The columns' volume down to
 * the plate and their area are exact sums over the faces. Only what lies in between is sampled, on a grid of vertical
 * rays: the part below (the column ends on it), faces inside other bodies, gaps too low to print. The grid is halved until
 * volume and areas change by less than 0.4 %, or at `mostCells`; its lines run at the golden slope to the posed axes, so
 * that straight edges of a part do not all fall on one side of the rays.
 * A flat ceiling whose ends are held by walls at most bridgeMm apart needs none (see bridged-faces.ts).
 * @param rotation 9 numbers, row-major
 */
export function supportNeed(
  mesh: Mesh,
  rotation: readonly number[],
  recipe: Recipe,
  options: SupportOptions = {},
): SupportNeed {
  return needOfFaces(mesh, facesInNeed(mesh, rotation, recipe, options), recipe, options);
}

/** The faces that supportNeed adds up, those of bridges taken off. */
export function facesInNeed(
  mesh: Mesh,
  rotation: readonly number[],
  recipe: Recipe,
  { leastGapMm = recipe.firstLayerMm / 2, supportIn, twins, gridRad }: SupportOptions & Readonly<{ gridRad?: number }>,
): SupportFaces {
  const faces = supportFaces(mesh, rotation, recipe.overhangFromVerticalDeg, leastGapMm, gridRad);
  if (twins !== undefined && recipe.bridgeMm > 0 && faces.ceilings) {
    bridgedFaces(mesh, faces, twins(), recipe.bridgeMm, recipe.layerMm);
  }
  if (supportIn !== undefined) keepWithin(mesh, faces, supportIn);
  return faces;
}

function keepWithin({ positions: p, triangles, originMm }: Mesh, { needs }: SupportFaces, boxes: readonly Box[]): void {
  for (let t = 0; t < needs.length; t++) {
    if (needs[t] === 0) continue;
    const [a, b, c] = [3 * triangles[3 * t], 3 * triangles[3 * t + 1], 3 * triangles[3 * t + 2]];
    const inside = boxes.some(({ min, max }) =>
      [0, 1, 2].every((k) => {
        const middle = (p[a + k] + p[b + k] + p[c + k]) / 3 + originMm[k];
        return middle >= min[k] && middle <= max[k];
      }),
    );
    if (!inside) needs[t] = 0;
  }
}

export function needOfFaces(
  mesh: Mesh,
  faces: SupportFaces,
  recipe: Recipe,
  { leastGapMm = recipe.firstLayerMm / 2, mostCells = 1024 }: SupportOptions,
): SupportNeed {
  const whole = columnsToPlate(mesh, faces);
  if (whole.areaMm2 === 0) return { volumeMm3: 0, contactMm2: 0, scarMm2: 0 };
  let cells = Math.min(FIRST_CELLS, mostCells);
  let need = between(mesh, faces, whole, cells, leastGapMm);
  while (2 * cells <= mostCells) {
    const before = need;
    cells *= 2;
    need = between(mesh, faces, whole, cells, leastGapMm);
    if (settled(before, need)) break;
  }
  return need;
}

function settled(a: SupportNeed, b: SupportNeed): boolean {
  const near = (x: number, y: number): boolean => Math.abs(x - y) <= SETTLED * Math.max(Math.abs(x), Math.abs(y));
  return near(a.volumeMm3, b.volumeMm3) && near(a.contactMm2, b.contactMm2) && near(a.scarMm2, b.scarMm2);
}

function between(
  mesh: Mesh,
  faces: SupportFaces,
  whole: { volumeMm3: number; areaMm2: number },
  cells: number,
  leastGapMm: number,
): SupportNeed {
  const cellMm = Math.max(faces.widthMm, faces.depthMm) / cells;
  const found = sampleColumns(mesh, faces, cellMm, leastGapMm);
  const area = cellMm * cellMm;
  const contactMm2 = whole.areaMm2 - found.dropped * area;
  // What is left of an area that the rays take off whole is their error, not a need.
  if (contactMm2 <= SETTLED * found.dropped * area) return { volumeMm3: 0, contactMm2: 0, scarMm2: 0, cellMm };
  return {
    volumeMm3: Math.max(0, whole.volumeMm3 - found.droppedMm * area),
    contactMm2,
    scarMm2: contactMm2 + found.standing * area,
    cellMm,
  };
}

function columnsToPlate(mesh: Mesh, faces: SupportFaces): { volumeMm3: number; areaMm2: number } {
  const { triangles } = mesh;
  const { xyz, needs } = faces;
  let volumeMm3 = 0;
  let areaMm2 = 0;
  for (let t = 0; t < needs.length; t++) {
    if (needs[t] === 0) continue;
    const a = 3 * triangles[3 * t];
    const b = 3 * triangles[3 * t + 1];
    const c = 3 * triangles[3 * t + 2];
    const twice = (xyz[c] - xyz[a]) * (xyz[b + 1] - xyz[a + 1]) - (xyz[b] - xyz[a]) * (xyz[c + 1] - xyz[a + 1]);
    areaMm2 += twice / 2;
    volumeMm3 += (twice / 6) * (xyz[a + 2] + xyz[b + 2] + xyz[c + 2]);
  }
  return { volumeMm3, areaMm2 };
}
