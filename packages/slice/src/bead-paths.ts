import type { LayerLoops, LayerPaths, Recipe } from '@stonehand/model';
import { beadSpacingMm } from './bead-section.ts';
import type { Bead } from './beads.ts';
import { brimBeads } from './brim.ts';
import { infillBeads, lineBeads, solidAngle, solidBeads } from './fill-beads.ts';
import { type Hang, hangsOf, unsupportedOf } from './hangs.ts';
import { islandsOf } from './islands.ts';
import { layerHeightMm, layerRegions, SAME_MM } from './layer-regions.ts';
import { type Nozzle, writeBeads } from './order-beads.ts';
import { type OutlineMove, outlineMoves } from './outline-moves.ts';
import { PathWriter } from './path-writer.ts';
import { type BeadSize, type Perimeters, perimetersOf } from './perimeters.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, type Rings, ringCount, sameRings, windingAt } from './rings.ts';
import { type Filling, fillingOf } from './solid-regions.ts';
import { type SupportLayer, type SupportOptions, supportLayers } from './support.ts';

export type BeadPathOptions = Partial<SupportOptions> &
  Readonly<{
    /** share of a contact layer that is filled */
    contactShare?: number;
    /** where support is allowed, by layer; everywhere unless said */
    supportWithin?: (layer: number) => Rings;
  }>;

/** One layer's gap for PLA (check values B4), two dense layers, the rest common practice without a source. */
export const SUPPORT_DEFAULTS: SupportOptions = { supportGapLayers: 1, contactLayers: 2, supportSideGapMm: 0.3 };
export const CONTACT_SHARE = 0.75;

/**
 * Everything a nozzle lays down for a stack of layers, in the order of printing: brim, support, then island by island
 * perimeters from the inside out, solid floors and roofs, bridges, infill; travel moves between.
 * @param loops layers of a posed piece; loops of any direction, overlapping bodies are united
 * @returns flat arrays, kinds as indices into BEAD_KINDS; width × layer height gives the section by beadAreaMm2
 */
export function beadPaths(
  loops: LayerLoops,
  recipe: Recipe,
  polygons: Polygons,
  options: BeadPathOptions = {},
): LayerPaths {
  return pathsOfStack(layerStack(loops, recipe, polygons, options), recipe, polygons, options);
}

/** What of a piece's layers does not depend on perimeters, solid layers and infill: outlines, what hangs, support. */
export type LayerStack = Readonly<{
  loops: LayerLoops;
  regions: readonly Rings[];
  /** how far the outline moves to layer i from the one below */
  moveTo: (layer: number) => OutlineMove;
  hangs: readonly (readonly Hang[])[];
  support?: readonly SupportLayer[];
}>;

/** The layers of a piece, ready to be filled by any recipe with the same layer heights, overhang limit and support. */
export function layerStack(
  loops: LayerLoops,
  recipe: Recipe,
  polygons: Polygons,
  { contactShare: _, supportWithin, ...options }: BeadPathOptions = {},
): LayerStack {
  const regions = layerRegions(loops, polygons);
  const moveTo = outlineMoves(regions);
  const hangs = hangsOf(regions, moveTo, loops, recipe, polygons);
  if (recipe.support === 'none') return { loops, regions, moveTo, hangs };
  const needing = hangs.map((hang, i) => {
    const area = unsupportedOf(hang);
    return supportWithin === undefined || ringCount(area) === 0 ? area : polygons.intersect(area, supportWithin(i));
  });
  const support = supportLayers(regions, needing, { ...SUPPORT_DEFAULTS, ...options }, polygons);
  if (recipe.brimMm > 0) clearOfBrim(support, regions[0], recipe, polygons);
  return { loops, regions, moveTo, hangs, support };
}

/** Perimeters of one layer and how what they leave is filled; the same for every share of infill below solid. */
export type LayerFill = Readonly<{ islands: readonly Island[]; filling: Filling }>;

/** Asks for the layers in their order, from the lowest up: each looks for islands that repeat one below. */
export function layerFills(stack: LayerStack, recipe: Recipe, polygons: Polygons): (layer: number) => LayerFill {
  const { loops, hangs, regions } = stack;
  let below: readonly Island[] = [];
  return (i) => {
    const islands = islandsWithPerimeters(regions[i], below, beadSizeOf(loops, i, recipe), recipe, polygons);
    const core = concatRings(islands.map((island) => island.perimeters.core));
    below = islands;
    return { islands, filling: fillingOf(i, stack, core, hangs[i], recipe, polygons) };
  };
}

/** The beads of a stack in the order of printing. `fills` may be kept from a recipe that differs in its infill only. */
export function pathsOfStack(
  stack: LayerStack,
  recipe: Recipe,
  polygons: Polygons,
  {
    contactShare = CONTACT_SHARE,
    fills = layerFills(stack, recipe, polygons),
  }: Readonly<{ contactShare?: number; fills?: (layer: number) => LayerFill }> = {},
): LayerPaths {
  const { loops, regions, support } = stack;
  const writer = new PathWriter();
  const nozzle: Nozzle = { x: 0, y: 0, known: false };
  for (let i = 0; i < regions.length; i++) {
    const size = beadSizeOf(loops, i, recipe);
    const { islands, filling } = fills(i);
    if (i === 0) writeBeads(firstLayerBrim(regions[0], recipe, size, polygons), writer, nozzle, { keepOrder: false });
    if (support !== undefined) writeSupport(support[i], i, recipe, contactShare, size, writer, nozzle);
    writeIslands(islands, filling, i, loops.zMm[i], recipe, size, writer, nozzle);
    writer.endLayer();
  }
  polygons.free();
  return writer.finish(loops.bottomMm, loops.topMm);
}

export function beadSizeOf(loops: Pick<LayerLoops, 'bottomMm' | 'topMm'>, layer: number, recipe: Recipe): BeadSize {
  const heightMm = layerHeightMm(loops, layer);
  return { widthMm: recipe.beadWidthMm, heightMm, spacingMm: beadSpacingMm(recipe.beadWidthMm, heightMm) };
}

export type Island = Readonly<{ region: Rings; heightMm: number; perimeters: Perimeters }>;

/** Islands that repeat one of the layer below keep its perimeters. */
export function islandsWithPerimeters(
  region: Rings,
  below: readonly Island[],
  size: BeadSize,
  recipe: Recipe,
  polygons: Polygons,
): Island[] {
  const { heightMm } = size;
  return islandsOf(region).map((island) => {
    const known = below.find(
      (other) => Math.abs(other.heightMm - heightMm) < 1e-9 && sameRings(other.region, island, SAME_MM),
    );
    if (known !== undefined) return known;
    return { region: island, heightMm, perimeters: perimetersOf(island, recipe.perimeters, size, polygons) };
  });
}

export function firstLayerBrim(region: Rings, recipe: Recipe, size: BeadSize, polygons: Polygons): Bead[] {
  return recipe.brimMm > 0 && ringCount(region) > 0 ? brimBeads(region, recipe.brimMm, size, polygons) : [];
}

/** Support and brim share the first layer: the brim comes first, so the columns keep off it. */
function clearOfBrim(support: SupportLayer[], region: Rings, recipe: Recipe, polygons: Polygons): void {
  if (ringCount(support[0].columns) === 0 || ringCount(region) === 0) return;
  const taken = polygons.offset(region, recipe.brimMm, { join: 'round' });
  support[0] = { ...support[0], columns: polygons.subtract(support[0].columns, taken) };
}

export function writeSupport(
  layer: SupportLayer,
  i: number,
  recipe: Recipe,
  contactShare: number,
  size: BeadSize,
  writer: PathWriter,
  nozzle: Nozzle,
): void {
  const { columns, contact } = layer;
  // Columns keep one direction, so that their lines stand on each other; contact layers cross them.
  const across = i % 2 === 0 ? solidAngle(1) : 0;
  writeBeads(lineBeads(columns, 'support', solidAngle(0), recipe.supportShare, size), writer, nozzle, {
    keepOrder: true,
  });
  writeBeads(lineBeads(contact, 'contact', across, contactShare, size), writer, nozzle, { keepOrder: true });
}

export function writeIslands(
  islands: readonly Island[],
  filling: Filling,
  layer: number,
  zMm: number,
  recipe: Recipe,
  size: BeadSize,
  writer: PathWriter,
  nozzle: Nozzle,
): void {
  const share = partsByIsland(islands, filling);
  const left = islands.map((_, k) => k);
  while (left.length > 0) {
    const k = takeNearest(left, islands, nozzle);
    const { beads } = islands[k].perimeters;
    for (const group of groupsInOrder(beads)) writeBeads(group, writer, nozzle, { keepOrder: false });
    const { solid, sparse, bridges } = share[k];
    writeBeads(solidBeads(solid, 'solid', solidAngle(layer), size), writer, nozzle, { keepOrder: false });
    for (const bridge of bridges) {
      writeBeads(solidBeads(bridge.area, 'bridge', bridge.angleRad, size), writer, nozzle, { keepOrder: false });
    }
    const keepOrder = recipe.infillPattern !== 'gyroid';
    writeBeads(infillBeads(sparse, layer, zMm, recipe, size), writer, nozzle, { keepOrder });
  }
}

/** The filling of each island: a connected part belongs to the island that holds its first point. */
function partsByIsland(islands: readonly Island[], filling: Filling): Filling[] {
  if (islands.length === 1) return [filling];
  const parts = islands.map(() => ({
    solid: [] as Rings[],
    sparse: [] as Rings[],
    bridges: [] as Filling['bridges'][number][],
  }));
  const home = (part: Rings): number => {
    const at = islands.findIndex((island) => windingAt(island.region, part.xyMm[0], part.xyMm[1]) !== 0);
    return Math.max(at, 0);
  };
  for (const part of islandsOf(filling.solid)) parts[home(part)].solid.push(part);
  for (const part of islandsOf(filling.sparse)) parts[home(part)].sparse.push(part);
  for (const bridge of filling.bridges) {
    for (const part of islandsOf(bridge.area)) parts[home(part)].bridges.push({ ...bridge, area: part });
  }
  return parts.map((p) => ({ solid: concatRings(p.solid), sparse: concatRings(p.sparse), bridges: p.bridges }));
}

function takeNearest(left: number[], islands: readonly Island[], nozzle: Nozzle): number {
  let best = 0;
  let nearest = Number.POSITIVE_INFINITY;
  left.forEach((k, i) => {
    const xy = islands[k].region.xyMm;
    const d = Math.hypot(xy[0] - nozzle.x, xy[1] - nozzle.y);
    if (d < nearest) {
      nearest = d;
      best = i;
    }
  });
  return left.splice(best, 1)[0];
}

/** Consecutive beads of one kind and width: a perimeter is finished before the next one outside it begins. */
function groupsInOrder(beads: readonly Bead[]): Bead[][] {
  const groups: Bead[][] = [];
  for (const bead of beads) {
    const last = groups[groups.length - 1]?.[0];
    if (last !== undefined && last.kind === bead.kind && last.closed === bead.closed)
      groups[groups.length - 1].push(bead);
    else groups.push([bead]);
  }
  return groups;
}
