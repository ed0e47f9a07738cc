import type { Container } from './container.ts';
import type { Shape } from './shape.ts';
import { pairDepth, type TableStore, type World, worldOf } from './world.ts';

/**
 * Items on their places, some perhaps overlapping. Items 0 … count−1 move; obstacles follow as items that do not.
 * `home` is the container an item lies in, −1 while it lies in none. weight and depth are rows of `all` per moving item.
 */
export type Layout = {
  readonly world: World;
  readonly containers: readonly Container[];
  readonly count: number;
  readonly all: number;
  readonly shape: Int32Array;
  readonly variant: Int32Array;
  readonly home: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** box with margins: minX, minY, maxX, maxY */
  readonly box: Float64Array;
  readonly weight: Float64Array;
  /** least weight of a pair: geometric mean of both hull areas over the mean hull area */
  readonly leastWeight: Float64Array;
  readonly depth: Float64Array;
  readonly wallWeight: Float64Array;
  readonly wallDepth: Float64Array;
  /** containers an item may lie in; undefined = all */
  readonly homesOf: readonly (readonly number[] | undefined)[];
  /** reach of a variant's hull along each half-plane of a container, made when first asked for */
  readonly reach: (Float64Array | undefined)[];
  /** shallower overlap than this is none: rounding */
  readonly tolMm: number;
  /** containers 0 … open − 1 may be used */
  open: number;
  evaluations: number;
};

export type LayoutSpec = Readonly<{
  shapes: readonly Shape[];
  turnsDeg: readonly (readonly number[])[];
  items: readonly number[];
  homesOf?: readonly (readonly number[] | undefined)[];
  containers: readonly Container[];
  tolMm: number;
  store?: TableStore;
}>;

export function layoutOf({ shapes, turnsDeg, items, homesOf, containers, tolMm, store }: LayoutSpec): Layout {
  const obstacles = containers.flatMap((container, home) => container.obstacles.map((shape) => ({ shape, home })));
  const world = worldOf(
    [...shapes, ...obstacles.map((o) => o.shape)],
    [...turnsDeg, ...obstacles.map(() => [0])],
    store,
  );
  const count = items.length;
  const all = count + obstacles.length;
  const layout: Layout = {
    world,
    containers,
    count,
    all,
    shape: Int32Array.from([...items, ...obstacles.map((_, k) => shapes.length + k)]),
    variant: new Int32Array(all),
    home: new Int32Array(all).fill(-1),
    x: new Float64Array(all),
    y: new Float64Array(all),
    box: new Float64Array(4 * all),
    weight: new Float64Array(count * all),
    leastWeight: new Float64Array(count * all),
    depth: new Float64Array(count * all),
    wallWeight: new Float64Array(count).fill(1),
    wallDepth: new Float64Array(count),
    homesOf: homesOf ?? items.map(() => undefined),
    reach: new Array(containers.length * world.turnDeg.length).fill(undefined),
    tolMm,
    open: containers.length,
    evaluations: 0,
  };
  for (let j = 0; j < all; j++) layout.variant[j] = world.firstVariant[layout.shape[j]!]!;
  weighBySize(layout);
  obstacles.forEach((o, k) => {
    setPlace(layout, count + k, layout.variant[count + k]!, 0, 0, o.home);
  });
  return layout;
}

// The same depth is harder to undo between two large shapes than between small ones: with equal weights the search reached
// 1 % less density on the published strips in the same time (DECISIONS.md).
function weighBySize(layout: Layout): void {
  const { count, all, leastWeight } = layout;
  const areas = Array.from(layout.shape, (s) => layout.world.shapes[s]!.hullAreaMm2);
  const mean = areas.slice(0, count).reduce((a, b) => a + b, 0) / Math.max(1, count);
  for (let i = 0; i < count; i++) {
    for (let j = 0; j < all; j++) leastWeight[i * all + j] = Math.sqrt(areas[i]! * areas[j]!) / mean;
  }
  resetWeights(layout);
}

/** Forgets what the search has learnt about pairs. */
export function resetWeights(layout: Layout): void {
  layout.weight.set(layout.leastWeight);
  layout.wallWeight.fill(1);
}

/** Puts an item down without looking at overlaps; see `measure`. */
export function setPlace(layout: Layout, i: number, variant: number, x: number, y: number, home: number): void {
  const { world, box } = layout;
  const margin = world.shapes[layout.shape[i]!]!.marginMm;
  layout.variant[i] = variant;
  layout.x[i] = x;
  layout.y[i] = y;
  layout.home[i] = home;
  box[4 * i] = x + world.box[4 * variant]! - margin;
  box[4 * i + 1] = y + world.box[4 * variant + 1]! - margin;
  box[4 * i + 2] = x + world.box[4 * variant + 2]! + margin;
  box[4 * i + 3] = y + world.box[4 * variant + 3]! + margin;
}

/** How far a variant would stick out of a container. */
export function wallDepthAt(layout: Layout, variant: number, x: number, y: number, home: number): number {
  const { world } = layout;
  const container = layout.containers[home]!;
  const wall = world.shapes[world.shapeOf[variant]!]!.wallMm;
  const left = container.x0 + wall - x - world.box[4 * variant]!;
  const right = x + world.box[4 * variant + 2]! + wall - container.x1;
  const below = container.y0 + wall - y - world.box[4 * variant + 1]!;
  const above = y + world.box[4 * variant + 3]! + wall - container.y1;
  let sum = 0;
  if (left > layout.tolMm) sum += left;
  if (right > layout.tolMm) sum += right;
  if (below > layout.tolMm) sum += below;
  if (above > layout.tolMm) sum += above;
  const planes = container.planes;
  if (planes.length === 0) return sum;
  const reach = layout.reach[home * world.turnDeg.length + variant] ?? makeReach(layout, variant, home);
  let worst = 0;
  for (let k = 0; k < reach.length; k++) {
    const out = planes[3 * k]! * x + planes[3 * k + 1]! * y + reach[k]! + wall - planes[3 * k + 2]!;
    if (out > worst) worst = out;
  }
  return worst > layout.tolMm ? sum + worst : sum;
}

function makeReach(layout: Layout, variant: number, home: number): Float64Array {
  const { planes } = layout.containers[home]!;
  const hull = layout.world.hulls[variant]!;
  const reach = new Float64Array(planes.length / 3).fill(-Infinity);
  for (let k = 0; k < reach.length; k++) {
    for (let i = 0; i < hull.length; i += 2) {
      reach[k] = Math.max(reach[k]!, planes[3 * k]! * hull[i]! + planes[3 * k + 1]! * hull[i + 1]!);
    }
  }
  layout.reach[home * layout.world.turnDeg.length + variant] = reach;
  return reach;
}

/**
 * Weighted overlap that item i would have at a place: the sum over walls, items and obstacles of weight × depth.
 * Stops adding as soon as the sum reaches `limit`. 0 exactly when the place is free.
 */
export function lossAt(
  layout: Layout,
  i: number,
  variant: number,
  x: number,
  y: number,
  home: number,
  limit: number,
): number {
  layout.evaluations++;
  let sum = wallDepthAt(layout, variant, x, y, home) * layout.wallWeight[i]!;
  if (sum >= limit) return sum;
  const { world, box, home: homes, variant: variants, x: xs, y: ys, weight, all, tolMm } = layout;
  const margin = world.shapes[layout.shape[i]!]!.marginMm;
  const x0 = x + world.box[4 * variant]! - margin;
  const y0 = y + world.box[4 * variant + 1]! - margin;
  const x1 = x + world.box[4 * variant + 2]! + margin;
  const y1 = y + world.box[4 * variant + 3]! + margin;
  const row = i * all;
  for (let j = 0; j < all; j++) {
    if (box[4 * j]! >= x1 || box[4 * j + 2]! <= x0 || box[4 * j + 1]! >= y1 || box[4 * j + 3]! <= y0) continue;
    if (homes[j]! !== home || j === i) continue;
    const depth = pairDepth(world, variant, x, y, variants[j]!, xs[j]!, ys[j]!);
    if (depth > tolMm) {
      sum += depth * weight[row + j]!;
      if (sum >= limit) return sum;
    }
  }
  return sum;
}

/** Writes the depths of item i against everything, on both sides. */
export function measure(layout: Layout, i: number): void {
  const { world, box, home, variant, x, y, depth, all, count, tolMm } = layout;
  const own = home[i]!;
  layout.wallDepth[i] = own < 0 ? 0 : wallDepthAt(layout, variant[i]!, x[i]!, y[i]!, own);
  for (let j = 0; j < all; j++) {
    let d = 0;
    if (
      j !== i &&
      own >= 0 &&
      home[j] === own &&
      box[4 * j]! < box[4 * i + 2]! &&
      box[4 * j + 2]! > box[4 * i]! &&
      box[4 * j + 1]! < box[4 * i + 3]! &&
      box[4 * j + 3]! > box[4 * i + 1]!
    ) {
      d = pairDepth(world, variant[i]!, x[i]!, y[i]!, variant[j]!, x[j]!, y[j]!);
      if (d <= tolMm) d = 0;
    }
    depth[i * all + j] = d;
    if (j < count) depth[j * all + i] = d;
  }
}

export function measureAll(layout: Layout): void {
  for (let i = 0; i < layout.count; i++) measure(layout, i);
}

/** Unweighted overlap of one item. */
export function overlapOf(layout: Layout, i: number): number {
  let sum = layout.wallDepth[i]!;
  const row = i * layout.all;
  for (let j = 0; j < layout.all; j++) sum += layout.depth[row + j]!;
  return sum;
}

/** Unweighted overlap of all, each pair once. */
export function totalOverlap(layout: Layout): number {
  const { count, all, depth, wallDepth } = layout;
  let sum = 0;
  for (let i = 0; i < count; i++) {
    sum += wallDepth[i]!;
    for (let j = i + 1; j < all; j++) sum += depth[i * all + j]!;
  }
  return sum;
}

export type Snapshot = Readonly<{ variant: Int32Array; home: Int32Array; x: Float64Array; y: Float64Array }>;

export function snapshot(layout: Layout): Snapshot {
  return {
    variant: layout.variant.slice(0, layout.count),
    home: layout.home.slice(0, layout.count),
    x: layout.x.slice(0, layout.count),
    y: layout.y.slice(0, layout.count),
  };
}

export function restore(layout: Layout, kept: Snapshot): void {
  for (let i = 0; i < layout.count; i++) {
    setPlace(layout, i, kept.variant[i]!, kept.x[i]!, kept.y[i]!, kept.home[i]!);
  }
  measureAll(layout);
}
