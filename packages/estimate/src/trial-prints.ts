import type { Mesh, Recipe } from '@stonehand/model';
import { beadSpacingMm } from '@stonehand/slice';
import { cellsMesh } from './cells-mesh.ts';

export type TrialPrintId = 'trial-walls' | 'trial-fill' | 'trial-support';

/** A small print that is mostly one kind of bead, standing as it is to be printed. */
export type TrialPrint = Readonly<{ id: TrialPrintId; what: string; mesh: Mesh; recipe: Recipe }>;

/**
 * Three prints that tell apart what walls, infill with solid layers, and support are off by: a lattice of perimeters alone, a flat block, and a
 * table on a thin leg. About two hours together on a plain machine. The recipe is the one given, less its brim, with the infill and support
 * that each needs.
 */
export function trialPrints(recipe: Recipe): readonly TrialPrint[] {
  const plain: Recipe = { ...recipe, perimeters: 2, support: 'none', brimMm: 0 };
  return [
    { id: 'trial-walls', what: 'a lattice: perimeters only', mesh: lattice(plain), recipe: plain },
    {
      id: 'trial-fill',
      what: 'a flat block: infill and solid layers',
      mesh: block(),
      recipe: { ...plain, infillShare: Math.max(LEAST_INFILL, recipe.infillShare) },
    },
    {
      id: 'trial-support',
      what: 'a table on one leg: support',
      mesh: table(),
      recipe: { ...plain, support: 'auto', supportShare: Math.max(LEAST_SUPPORT, recipe.supportShare) },
    },
  ];
}

/** Sparser ones would leave the block and the table with too little of what they are to show. */
const LEAST_INFILL = 0.2;
const LEAST_SUPPORT = 0.15;

const LATTICE_CELLS = 4;
const LATTICE_PITCH_MM = 10;
const LATTICE_HEIGHT_MM = 8;

/** Walls of exactly four beads around square openings, open above and below: no floor, roof or infill fits in. */
function lattice(recipe: Recipe): Mesh {
  const wallMm = 4 * beadSpacingMm(recipe.beadWidthMm, recipe.layerMm);
  const lines = [0, wallMm];
  for (let cell = 1; cell <= LATTICE_CELLS; cell++)
    lines.push(cell * LATTICE_PITCH_MM, cell * LATTICE_PITCH_MM + wallMm);
  // Even steps are walls, odd ones openings.
  return cellsMesh(lines, lines, [0, LATTICE_HEIGHT_MM], (i, j) => i % 2 === 0 || j % 2 === 0);
}

function block(): Mesh {
  return cellsMesh([0, 44], [0, 44], [0, 7.4], () => true);
}

/** The leg stands in the middle; all around it the top hangs 14 mm over. */
function table(): Mesh {
  const lines = [0, 14, 26, 40];
  return cellsMesh(lines, lines, [0, 12, 13.2], (i, j, k) => k === 1 || (i === 1 && j === 1));
}
