import type { Finding, Material, Mesh, Printer, Recipe } from '@stonehand/model';
import { beadSpacingMm, layerRegions, type Polygons, type Rings, ringsAreaMm2, sectionsAt } from '@stonehand/slice';

export type PieceFor = Readonly<{
  recipe: Recipe;
  printer: Printer;
  material: Material;
  /** no light may show through */
  opaque?: boolean;
}>;

/**
 * What may go wrong with one piece, posed as it is printed: warping where a kind that shrinks lies flat on a long contact, and light through parts that
 * must not let any through.
 */
export function pieceFindings(mesh: Mesh, polygons: Polygons, piece: PieceFor): Finding[] {
  return [
    ...warpFindings(mesh, polygons, piece),
    ...(piece.opaque === true ? opaqueFindings(mesh, polygons, piece) : []),
  ];
}

/** Kinds that shrink less (PLA, PETG) hold to the plate by themselves; flexible ones give way (common practice, no source). */
const SHRINKS_SHARE = 0.004;
/** A corner that wants to creep in by this much lifts: in the open, and in a chamber that keeps the part warm (no source). */
const OPEN_MM = 0.25;
const ENCLOSED_MM = 0.6;
/** Sharp corners lift earlier, a brim holds them (no source). */
const SHARP_TIMES = 1.5;
const BRIM_TIMES = 0.6;
const BRIM_MM = 3;

function warpFindings(mesh: Mesh, polygons: Polygons, { recipe, printer, material }: PieceFor): Finding[] {
  const { shrinkShare, kind, needs } = material;
  if (shrinkShare < SHRINKS_SHARE || needs.includes('slowFeed')) return [];
  const contact = contactOf(mesh, polygons, recipe);
  const sharp = sharpCorners(contact);
  const enclosed = printer.has.includes('enclosure');
  const creepMm = (shrinkShare * contact.longestMm) / 2;
  const pullMm = creepMm * (sharp > 0 ? SHARP_TIMES : 1) * (recipe.brimMm >= BRIM_MM ? BRIM_TIMES : 1);
  if (pullMm < (enclosed ? ENCLOSED_MM : OPEN_MM)) return [];
  const corners = sharp === 0 ? '' : `, with ${sharp} sharp ${sharp === 1 ? 'corner' : 'corners'}`;
  const where = enclosed ? '' : ' and no enclosure';
  return [
    {
      code: 'WARPING',
      severity: 'doubt',
      count: Math.max(1, sharp),
      says: `it may lift off the plate: ${Math.round(contact.longestMm)} mm of ${kind} lie flat${corners}${where}; each end wants to creep in by ${creepMm.toFixed(1)} mm`,
      remedy: warpRemedy(recipe, enclosed, sharp),
      spoils: ['boxMm'],
    },
  ];
}

function warpRemedy({ brimMm }: Recipe, enclosed: boolean, sharp: number): string {
  const steps = [
    ...(brimMm < BRIM_MM ? ['a brim of 5 mm or more'] : []),
    ...(enclosed ? [] : ['an enclosed printer']),
    ...(sharp > 0 ? ['rounder corners on the plate'] : []),
    'a cut into shorter pieces',
  ];
  return `What helps: ${steps.join(', ')}.`;
}

type Contact = Readonly<{ outline: Rings; longestMm: number }>;

/** The first layer and its longest extent in any direction. */
function contactOf(mesh: Mesh, polygons: Polygons, { firstLayerMm }: Recipe): Contact {
  let low = Number.POSITIVE_INFINITY;
  for (let i = 2; i < mesh.positions.length; i += 3) low = Math.min(low, mesh.positions[i]);
  // Simplified: points in the middle of a straight edge would hide its length.
  const [outline] = layerRegions(sectionsAt(mesh, [low + firstLayerMm / 2]), polygons);
  const { xyMm } = outline;
  let longestMm = 0;
  for (let step = 0; step < DIRECTIONS; step++) {
    const cos = Math.cos((Math.PI * step) / DIRECTIONS);
    const sin = Math.sin((Math.PI * step) / DIRECTIONS);
    let from = Number.POSITIVE_INFINITY;
    let to = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < xyMm.length; i += 2) {
      const along = xyMm[i] * cos + xyMm[i + 1] * sin;
      if (along < from) from = along;
      if (along > to) to = along;
    }
    longestMm = Math.max(longestMm, to - from);
  }
  polygons.free();
  return { outline, longestMm };
}

/** The longest extent is found to cos(π/72), a thousandth. */
const DIRECTIONS = 36;
const SHARP_COS = Math.cos(Math.PI / 3);
const LEG_MM = 3;

/** Convex corners that turn by 60° or more between two legs that are no chords of a curve. */
function sharpCorners({ outline: { xyMm: xy, ringStart } }: Contact): number {
  let count = 0;
  for (let r = 0; r < ringStart.length - 1; r++) {
    const n = ringStart[r + 1] - ringStart[r];
    const x = (i: number): number => xy[2 * (ringStart[r] + ((i + n) % n))];
    const y = (i: number): number => xy[2 * (ringStart[r] + ((i + n) % n)) + 1];
    for (let i = 0; i < n; i++) {
      const [ax, ay, bx, by] = [x(i) - x(i - 1), y(i) - y(i - 1), x(i + 1) - x(i), y(i + 1) - y(i)];
      const [a, b] = [Math.hypot(ax, ay), Math.hypot(bx, by)];
      if (a < LEG_MM || b < LEG_MM) continue;
      const turnsLeft = ax * by - ay * bx > 0;
      if (turnsLeft && (ax * bx + ay * by) / (a * b) <= SHARP_COS) count++;
    }
  }
  return count;
}

/** Heights at which walls are looked at. */
const LOOKS = 24;
/** Less of a section than this is a rounding of a corner, not a thin wall. */
const THIN_SHARE = 0.005;

function opaqueFindings(mesh: Mesh, polygons: Polygons, { recipe, material }: PieceFor): Finding[] {
  const { opaqueMm, colour, kind } = material;
  if (opaqueMm === undefined)
    return [
      {
        code: 'LIGHT_UNTESTED',
        severity: 'note',
        count: 1,
        says: `no light may show through, and nobody has said from what thickness ${colour} ${kind} is opaque`,
        remedy: 'Hold a printed step wedge before a lamp and write the thickness as "opaque" into shop/materials.yaml.',
        spoils: [],
      },
    ];
  return [...thinWalls(mesh, polygons, opaqueMm, material), ...thinSkins(recipe, opaqueMm, material)];
}

function thinWalls(mesh: Mesh, polygons: Polygons, opaqueMm: number, { colour, kind }: Material): Finding[] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 2; i < mesh.positions.length; i += 3) {
    low = Math.min(low, mesh.positions[i]);
    high = Math.max(high, mesh.positions[i]);
  }
  const heights = Array.from({ length: LOOKS }, (_, i) => low + ((i + 0.5) * (high - low)) / LOOKS);
  const thin = layerRegions(sectionsAt(mesh, heights), polygons).filter((region) => {
    const heart = polygons.offset(region, -opaqueMm / 2);
    const thick = polygons.offset(heart, opaqueMm / 2, { join: 'round' });
    const lostMm2 = ringsAreaMm2(polygons.subtract(region, thick));
    return lostMm2 > THIN_SHARE * ringsAreaMm2(region) + opaqueMm * opaqueMm;
  }).length;
  polygons.free();
  if (thin === 0) return [];
  return [
    {
      code: 'LIGHT_THIN',
      severity: 'doubt',
      count: thin,
      says: `light shows through: walls thinner than the ${opaqueMm} mm from which ${colour} ${kind} is opaque, at ${thin} of ${LOOKS} heights looked at`,
      remedy: 'Thicken these walls, paint them inside, or use a darker filament.',
      spoils: [],
    },
  ];
}

/** Where infill lies behind the walls, light meets two sets of perimeters, or a floor and a roof. */
function thinSkins(recipe: Recipe, opaqueMm: number, { colour, kind }: Material): Finding[] {
  if (recipe.infillShare >= 1) return [];
  const wallsMm = 2 * recipe.perimeters * beadSpacingMm(recipe.beadWidthMm, recipe.layerMm);
  const flatMm = (recipe.floorLayers + recipe.roofLayers) * recipe.layerMm;
  const says = (what: string, mm: number): Finding => ({
    code: 'LIGHT_SKIN',
    severity: 'doubt',
    count: 1,
    says: `light may show through where there is infill: ${what} are ${mm.toFixed(1)} mm of plastic, and ${colour} ${kind} is opaque from ${opaqueMm} mm`,
    remedy: 'More perimeters or solid layers, or paint inside.',
    spoils: [],
  });
  return [
    ...(wallsMm < opaqueMm ? [says(`two times ${recipe.perimeters} perimeters`, wallsMm)] : []),
    ...(flatMm < opaqueMm ? [says('floor and roof together', flatMm)] : []),
  ];
}
