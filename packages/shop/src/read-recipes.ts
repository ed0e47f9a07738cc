import type { InfillPattern, Recipe } from '@stonehand/model';
import { complain, durationOf, type Entry, given, lengthOf, namedEntries, numberOf, rawOf, shareOf } from './fields.ts';
import { parseShare } from './parse-share.ts';

/**
 * 0.2 mm layers and 0.45 mm beads for a 0.4 mm nozzle, 45° and 10 mm bridges without support: published design rules
 * for filament printing (several services' pages agree). Two perimeters, 4 + 4 solid layers (0.8 mm), 15 % infill
 * and support, 8 s a layer (range 5–15): common practice.
 */
export const STANDARD_RECIPE: Recipe = {
  id: 'standard',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 2,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'gyroid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 8,
};
// First layers of 0.2 to 0.3 mm stick on plates that are not quite flat (common practice).
const LEAST_FIRST_LAYER_MM = 0.2;
const PATTERNS: readonly InfillPattern[] = ['lines', 'grid', 'gyroid'];

/** The recipes of shop/recipes.yaml; absent keys as in the standard recipe. */
export function readRecipes(file: Entry): Recipe[] {
  return namedEntries(file).map(([id, entry]) => readRecipe(id, entry));
}

function readRecipe(id: string, entry: Entry): Recipe {
  const layerMm = lengthOf(entry, 'layer') ?? STANDARD_RECIPE.layerMm;
  const recipe: Recipe = {
    ...STANDARD_RECIPE,
    id,
    layerMm,
    firstLayerMm: lengthOf(entry, 'firstLayer') ?? Math.max(layerMm, LEAST_FIRST_LAYER_MM),
    ...given({
      beadWidthMm: lengthOf(entry, 'bead'),
      perimeters: numberOf(entry, 'perimeters'),
      roofLayers: numberOf(entry, 'roofLayers'),
      floorLayers: numberOf(entry, 'floorLayers'),
      overhangFromVerticalDeg: numberOf(entry, 'overhang'),
      bridgeMm: lengthOf(entry, 'bridge'),
      brimMm: lengthOf(entry, 'brim'),
      leastLayerS: durationOf(entry, 'leastLayer'),
    }),
    ...readInfill(entry),
    ...readSupport(entry),
  };
  checkLayers(entry, recipe);
  return recipe;
}

function readInfill(entry: Entry): Partial<Recipe> {
  const value = rawOf(entry, 'infill');
  if (typeof value === 'number') return given({ infillShare: shareOf(entry, 'infill') });
  if (typeof value !== 'string') return {};
  const match = /^\s*([\d.]+\s*%?)\s*(\p{L}*)\s*$/u.exec(value);
  const pattern = match?.[2] === '' ? STANDARD_RECIPE.infillPattern : PATTERNS.find((name) => name === match?.[2]);
  try {
    if (match !== null && pattern !== undefined) return { infillShare: parseShare(match[1]!), infillPattern: pattern };
  } catch {
    // Falls through to the one complaint that shows the whole form.
  }
  complain(
    entry,
    ['infill'],
    'DATA_INVALID',
    `"${value}" is not an infill`,
    `Write a share and one of ${PATTERNS.join(', ')}, such as 15 % gyroid.`,
  );
  return {};
}

function readSupport(entry: Entry): Partial<Recipe> {
  const value = rawOf(entry, 'support');
  if (value === 'none') return { support: 'none' };
  if (value === 'auto') return {};
  if (value === undefined) return {};
  const supportShare = shareOf(entry, 'support');
  if (supportShare === undefined) return {};
  if (supportShare === 0) return { support: 'none' };
  return { support: 'auto', supportShare };
}

// A bead is a strip with round edges: it must be wider than it is high.
function checkLayers(entry: Entry, recipe: Recipe): void {
  const { layerMm, firstLayerMm, beadWidthMm } = recipe;
  const goesWithBead = (heightMm: number): boolean => heightMm > 0 && heightMm < beadWidthMm;
  if (goesWithBead(layerMm) && goesWithBead(firstLayerMm)) return;
  const [key, height] = goesWithBead(layerMm) ? ['firstLayer', firstLayerMm] : ['layer', layerMm];
  complain(
    entry,
    Object.hasOwn(entry.raw, key) ? [key] : ['bead'],
    'DATA_INVALID',
    `layers of ${height} mm do not go with beads ${beadWidthMm} mm wide`,
    'A layer is higher than 0 and lower than the bead is wide; a quarter to three quarters of the nozzle is usual.',
  );
}
