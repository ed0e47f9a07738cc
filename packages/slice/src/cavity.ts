import type { LayerLoops, Recipe } from '@stonehand/model';
import { islandsOf } from './islands.ts';
import { layerHeightMm, layerRegions } from './layer-regions.ts';
import type { Polygons } from './polygons.ts';
import { concatRings, NO_RINGS, type Rings, ringCount, ringsAreaMm2 } from './rings.ts';
import { withoutSlivers } from './slivers.ts';

export type CavityOptions = Readonly<{
  wallMm: number;
  /** only what closes by itself: ceilings within the overhang limit, or no wider than a bridge */
  selfClosing: boolean;
}>;

/** The room inside a piece behind a wall, as rings for each layer (outer rings counter-clockwise). */
export type Cavity = Readonly<{ layers: readonly Rings[]; volumeMm3: number }>;

/** The wall is kept to a quarter of itself in height: layers are taken together in groups no higher than that. */
const GROUPS_PER_WALL = 4;
/** Ceilings keep this much below the recipe's limit, so that judging them layer by layer finds nothing. */
const LIMIT_SLACK_DEG = 1;

/**
 * What lies deeper than wallMm inside the piece: the outline of a layer moved in by √(wall² − d²) for every layer at a distance d
 * above and below, intersected (the inner offset by a ball, layer by layer). Groups of layers count as their common part, so the wall
 * is never thinner than asked. With `selfClosing` the ceiling is then lowered to a gable: from ridges no wider than a bridge
 * down, the room widens by the overhang limit.
 */
export function cavityOf(
  loops: LayerLoops,
  recipe: Recipe,
  polygons: Polygons,
  { wallMm, selfClosing }: CavityOptions,
): Cavity {
  const regions = layerRegions(loops, polygons);
  const perGroup = Math.max(1, Math.floor(wallMm / GROUPS_PER_WALL / recipe.layerMm));
  const rooms = roomsBehindWall(regions, perGroup, perGroup * recipe.layerMm, wallMm, polygons).map((room) =>
    withoutSlivers(room, recipe.beadWidthMm, polygons),
  );
  const inGroup = regions.map((_, i) => rooms[Math.floor(i / perGroup)]);
  const layers = selfClosing ? gabled(inGroup, recipe, polygons) : inGroup;
  polygons.free();
  return { layers, volumeMm3: volumeOf(layers, loops) };
}

/** The layers of a piece with the cavity cut out. */
export function hollowedLoops(loops: LayerLoops, { layers }: Cavity): LayerLoops {
  const extra = layers.reduce((sum, rings) => sum + ringCount(rings), 0);
  const loopStart = new Uint32Array(loops.loopStart.length + extra);
  const layerStart = new Uint32Array(loops.layerStart.length);
  const xyMm = new Float64Array(loops.xyMm.length + layers.reduce((sum, rings) => sum + rings.xyMm.length, 0));
  let loop = 0;
  let at = 0;
  const add = (points: Float64Array): void => {
    xyMm.set(points, at);
    at += points.length;
    loopStart[++loop] = at / 2;
  };
  layers.forEach((rings, i) => {
    for (let l = loops.layerStart[i]; l < loops.layerStart[i + 1]; l++)
      add(loops.xyMm.subarray(2 * loops.loopStart[l], 2 * loops.loopStart[l + 1]));
    for (let r = 0; r < ringCount(rings); r++)
      add(turnedBack(rings.xyMm.subarray(2 * rings.ringStart[r], 2 * rings.ringStart[r + 1])));
    layerStart[i + 1] = loop;
  });
  return { ...loops, layerStart, loopStart, xyMm };
}

function turnedBack(xyMm: Float64Array): Float64Array {
  const n = xyMm.length / 2;
  const back = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    back[2 * i] = xyMm[2 * (n - 1 - i)];
    back[2 * i + 1] = xyMm[2 * (n - 1 - i) + 1];
  }
  return back;
}

function roomsBehindWall(
  regions: readonly Rings[],
  perGroup: number,
  groupMm: number,
  wallMm: number,
  polygons: Polygons,
): Rings[] {
  const common: Rings[] = [];
  for (let i = 0; i < regions.length; i += perGroup)
    common.push(regions.slice(i, i + perGroup).reduce((a, b) => (a === b ? a : polygons.intersect(a, b))));
  const steps = Math.ceil(wallMm / groupMm);
  // insets[k][d]: group k moved in for a neighbour d + 1 groups away (and for itself at d = 0: the same depth).
  const insets = common.map((region) =>
    Array.from({ length: steps }, (_, d) => polygons.offset(region, -Math.sqrt(wallMm ** 2 - (d * groupMm) ** 2))),
  );
  return common.map((_, k) => {
    if (k < steps || k + steps >= common.length) return NO_RINGS;
    let room = insets[k][0];
    for (let d = 1; d <= steps; d++)
      for (const other of [k - d, k + d]) {
        if (ringCount(room) === 0) return NO_RINGS;
        const inset = insets[other][d - 1];
        if (!polygons.covers(inset, room)) room = polygons.intersect(room, inset);
      }
    return room;
  });
}

/** From the top down: what the room above, widened by the overhang limit, covers, and ridges that a bridge spans. */
function gabled(rooms: readonly Rings[], recipe: Recipe, polygons: Polygons): Rings[] {
  const limitRad = (Math.max(0, recipe.overhangFromVerticalDeg - LIMIT_SLACK_DEG) * Math.PI) / 180;
  const reachMm = recipe.layerMm * Math.tan(limitRad);
  const ridges = new Map<Rings, Rings>();
  const layers: Rings[] = new Array(rooms.length).fill(NO_RINGS);
  for (let i = rooms.length - 2; i >= 0; i--) {
    const room = rooms[i];
    if (ringCount(room) === 0) continue;
    if (layers[i + 1] === room) {
      layers[i] = room;
      continue;
    }
    let ridge = ridges.get(room);
    if (ridge === undefined) {
      ridge = ridgeOf(room, recipe.bridgeMm, polygons);
      ridges.set(room, ridge);
    }
    const grown = ringCount(layers[i + 1]) === 0 ? NO_RINGS : polygons.offset(layers[i + 1], reachMm);
    const kept = polygons.union(ringCount(grown) === 0 ? NO_RINGS : polygons.intersect(grown, room), ridge);
    layers[i] = ringsAreaMm2(kept) > 0.999 * ringsAreaMm2(room) ? room : kept;
  }
  return layers;
}

/** The innermost strip of each island of a region, no wider than a bridge: all of it where it is narrower. */
function ridgeOf(room: Rings, bridgeMm: number, polygons: Polygons): Rings {
  return concatRings(
    islandsOf(room).map((island) => {
      let strip = island;
      // Steps of a quarter bridge cannot pass over the last half bridge of depth, so that something is always left.
      for (let depthMm = bridgeMm / 4; ringCount(polygons.offset(strip, -bridgeMm / 2)) > 0; depthMm += bridgeMm / 4)
        strip = polygons.offset(island, -depthMm);
      return strip;
    }),
  );
}

function volumeOf(layers: readonly Rings[], loops: LayerLoops): number {
  return layers.reduce((sum, rings, i) => sum + ringsAreaMm2(rings) * layerHeightMm(loops, i), 0);
}
