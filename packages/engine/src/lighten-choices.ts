import type { LightenRule, Material, Recipe, Workspace } from '@stonehand/model';
import { beadSpacingMm } from '@stonehand/slice';
import type { PartWork } from './part-work.ts';

/** A way to print a part: recipe and material, and how it differs from today's for people. */
export type Way = Readonly<{ id: string; says: string; recipe: Recipe; material: Material }>;

/** No more ways than this are sliced for one part; today's is always among them. */
const MOST_WAYS = 12;
// What a part without a rule is offered: a little less of each, and of all. Below these a print is no longer sound (common practice).
const LEAST_PERIMETERS = 2;
const LEAST_INFILL = 0.05;
const LEAST_SOLID_LAYERS = 3;
/** Infill that only carries the roofs of a hollow part (common practice, no source). */
const CARRYING_INFILL = 0.05;

/** The ways to print a part, today's first; every one keeps the rule's least. */
export function waysOf(
  { recipe, material, spec }: PartWork,
  workspace: Pick<Workspace, 'recipes' | 'materials'>,
): Way[] {
  const rule = spec.lighten ?? {};
  const today: Way = { id: 'today', says: said(recipe), recipe, material };
  if (rule.keep === true) return [today];
  const recipes = spec.lighten === undefined ? littleLess(recipe) : [recipe, ...statedRecipes(recipe, rule, workspace)];
  const materials = [material, ...workspace.materials.filter(({ id }) => rule.materialIds?.includes(id))];
  const ways = new Map<string, Way>([[keyOf(recipe, material), today]]);
  for (const other of materials) {
    for (const one of recipes) {
      if (!isAllowed(one, rule.least)) continue;
      const key = keyOf(one, other);
      const says = other.id === material.id ? said(one) : `${said(one)}, ${other.name ?? other.id}`;
      if (!ways.has(key) && ways.size < MOST_WAYS) ways.set(key, { id: key, says, recipe: one, material: other });
    }
  }
  return [...ways.values()];
}

function littleLess(recipe: Recipe): Recipe[] {
  const thinner = {
    ...recipe,
    perimeters: Math.max(Math.min(recipe.perimeters, LEAST_PERIMETERS), recipe.perimeters - 1),
  };
  const sparser = {
    ...recipe,
    infillShare: Math.max(Math.min(recipe.infillShare, LEAST_INFILL), recipe.infillShare / 2),
  };
  const fewer = (layers: number): number => Math.max(Math.min(layers, LEAST_SOLID_LAYERS), layers - 1);
  const lower = { ...recipe, roofLayers: fewer(recipe.roofLayers), floorLayers: fewer(recipe.floorLayers) };
  const all = { ...lower, perimeters: thinner.perimeters, infillShare: sparser.infillShare };
  return [recipe, thinner, sparser, lower, all];
}

/** Every combination of the stated values, the value of today first in each list; then whole recipes and hollow ones. */
function statedRecipes(today: Recipe, rule: LightenRule, { recipes }: Pick<Workspace, 'recipes'>): Recipe[] {
  const { perimeters = [], infillShares = [], solidLayers = [], layersMm = [], wallsMm = [] } = rule;
  const found: Recipe[] = [];
  for (const layerMm of [today.layerMm, ...layersMm]) {
    const firstLayerMm = Math.max(layerMm, today.firstLayerMm);
    for (const count of [today.perimeters, ...perimeters])
      for (const infillShare of [today.infillShare, ...infillShares])
        for (const layers of [undefined, ...solidLayers])
          found.push({
            ...today,
            layerMm,
            firstLayerMm,
            perimeters: count,
            infillShare,
            ...(layers === undefined ? {} : { roofLayers: layers, floorLayers: layers }),
          });
  }
  // The lightest last would be cut off where there are more than are sliced: largest steps away from today come first.
  found.sort((a, b) => stepsFrom(today, b) - stepsFrom(today, a));
  return [
    ...recipes.filter(({ id }) => rule.recipeIds?.includes(id)),
    ...wallsMm.map((mm) => hollow(today, mm)),
    ...found,
  ];
}

function stepsFrom(today: Recipe, { perimeters, infillShare, roofLayers, layerMm }: Recipe): number {
  const less = [
    perimeters / today.perimeters,
    today.infillShare === 0 ? 1 : infillShare / today.infillShare,
    today.roofLayers === 0 ? 1 : roofLayers / today.roofLayers,
    today.layerMm / layerMm,
  ];
  return less.reduce((sum, share) => sum + Math.abs(1 - share), 0);
}

/** Walls, floors and roofs of one thickness; inside only what carries the roofs. */
function hollow(today: Recipe, wallMm: number): Recipe {
  const layers = Math.max(1, Math.ceil(wallMm / today.layerMm - 1e-9));
  return {
    ...today,
    perimeters: Math.max(1, Math.round(wallMm / beadSpacingMm(today.beadWidthMm, today.layerMm))),
    roofLayers: layers,
    floorLayers: layers,
    infillShare: Math.min(today.infillShare, CARRYING_INFILL),
  };
}

function isAllowed(
  recipe: Recipe,
  { perimeters = 0, infillShare = 0, solidLayers = 0 }: NonNullable<LightenRule['least']> = {},
): boolean {
  return (
    recipe.perimeters >= perimeters &&
    recipe.infillShare >= infillShare &&
    Math.min(recipe.roofLayers, recipe.floorLayers) >= solidLayers
  );
}

function keyOf(recipe: Recipe, material: Material): string {
  const { layerMm, firstLayerMm, beadWidthMm, perimeters, infillShare, infillPattern, roofLayers, floorLayers } =
    recipe;
  const numbers = [layerMm, firstLayerMm, beadWidthMm, perimeters, infillShare, infillPattern, floorLayers, roofLayers];
  return `${material.id} ${numbers.join(' ')}`;
}

/** `0.2 mm layers, 3 perimeters, 12 % gyroid, 4 solid floors and roofs` */
function said({ layerMm, perimeters, infillShare, infillPattern, floorLayers, roofLayers }: Recipe): string {
  const solid =
    floorLayers === roofLayers ? `${floorLayers} floors and roofs` : `${floorLayers} floors, ${roofLayers} roofs`;
  const walls = `${perimeters} perimeter${perimeters === 1 ? '' : 's'}`;
  return `${layerMm} mm, ${walls}, ${Number((infillShare * 100).toFixed(1))} % ${infillPattern}, ${solid}`;
}
