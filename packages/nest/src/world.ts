import { buildPairTable, cornersOf, depthAt, type PairTable, touchingCorner, touchingCorners } from './pair-table.ts';
import { cosSinDeg, type Shape, turned } from './shape.ts';

/**
 * Shapes in all their allowed turns ("variants"), flat by variant, and the tables of their pairs, each made when first
 * asked for. A table depends on the difference of two turns only, so 24 turns need 24 tables a pair, not 576.
 */
export type World = Readonly<{
  shapes: readonly Shape[];
  /** variants of shape s: firstVariant[s] … firstVariant[s + 1] − 1 */
  firstVariant: Int32Array;
  shapeOf: Int32Array;
  turnDeg: Float64Array;
  cos: Float64Array;
  sin: Float64Array;
  /** outline's box at this turn: minX, minY, maxX, maxY */
  box: Float64Array;
  hulls: readonly Float64Array[];
  tables: PairTable[];
  /** made tables by shapes, gap and turn between them; may be handed from one world to the next */
  store: TableStore;
  /** 1 + index of the table of variants a, b; 0 = not made yet */
  tableOf: Int32Array;
  /** made when first asked for */
  touching: Map<PairTable, Float64Array>;
}>;

export type TableStore = Map<string, PairTable>;

export function worldOf(
  shapes: readonly Shape[],
  turnsDeg: readonly (readonly number[])[],
  store: TableStore = new Map(),
): World {
  const firstVariant = new Int32Array(shapes.length + 1);
  for (let s = 0; s < shapes.length; s++) firstVariant[s + 1] = firstVariant[s]! + turnsDeg[s]!.length;
  const count = firstVariant[shapes.length]!;
  const world = {
    shapes,
    firstVariant,
    shapeOf: new Int32Array(count),
    turnDeg: new Float64Array(count),
    cos: new Float64Array(count),
    sin: new Float64Array(count),
    box: new Float64Array(4 * count),
    hulls: [] as Float64Array[],
    tables: [],
    tableOf: new Int32Array(count * count),
    touching: new Map<PairTable, Float64Array>(),
    store,
  };
  for (let s = 0; s < shapes.length; s++) {
    for (let k = 0; k < turnsDeg[s]!.length; k++) addVariant(world, firstVariant[s]! + k, s, turnsDeg[s]![k]!);
  }
  return world;
}

function addVariant(world: World & { hulls: Float64Array[] }, v: number, s: number, deg: number): void {
  const [cos, sin] = cosSinDeg(deg);
  const hull = turned(world.shapes[s]!.hullXy, cos, sin);
  world.shapeOf[v] = s;
  world.turnDeg[v] = deg;
  world.cos[v] = cos;
  world.sin[v] = sin;
  world.hulls.push(hull);
  world.box.set([Infinity, Infinity, -Infinity, -Infinity], 4 * v);
  for (let i = 0; i < hull.length; i += 2) {
    world.box[4 * v] = Math.min(world.box[4 * v]!, hull[i]!);
    world.box[4 * v + 1] = Math.min(world.box[4 * v + 1]!, hull[i + 1]!);
    world.box[4 * v + 2] = Math.max(world.box[4 * v + 2]!, hull[i]!);
    world.box[4 * v + 3] = Math.max(world.box[4 * v + 3]!, hull[i + 1]!);
  }
}

/** How deep variant va at xa, ya overlaps vb at xb, yb (or stands nearer than their gap); 0 exactly when it does not. */
export function pairDepth(
  world: World,
  va: number,
  xa: number,
  ya: number,
  vb: number,
  xb: number,
  yb: number,
): number {
  let dx = xb - xa;
  let dy = yb - ya;
  let base = va;
  let other = vb;
  // The lower shape stands still, so that a pair has one table whichever way it is asked.
  if (world.shapeOf[va]! > world.shapeOf[vb]!) {
    dx = -dx;
    dy = -dy;
    base = vb;
    other = va;
  }
  const table = tableAt(world, base, other);
  const cos = world.cos[base]!;
  const sin = world.sin[base]!;
  return depthAt(table, cos * dx + sin * dy, cos * dy - sin * dx);
}

/**
 * A place, relative to variant `still`, at which variant `moving` touches it with a corner in a corner; false when the pair has none.
 * @param pick uniform in [0, 1)
 * @param out gets x, y
 */
export function touchingPlace(world: World, moving: number, still: number, pick: number, out: Float64Array): boolean {
  const isBase = world.shapeOf[moving]! < world.shapeOf[still]!;
  const base = isBase ? moving : still;
  const table = tableAt(world, base, isBase ? still : moving);
  if (cornersOf(table) > MOST_LISTED) {
    if (!touchingCorner(table, Math.floor(pick * cornersOf(table)), out)) return false;
  } else {
    let touching = world.touching.get(table);
    if (touching === undefined) {
      touching = touchingCorners(table);
      world.touching.set(table, touching);
    }
    if (touching.length === 0) return false;
    const k = 2 * Math.floor((pick * touching.length) / 2);
    out[0] = touching[k]!;
    out[1] = touching[k + 1]!;
  }
  const sign = isBase ? -1 : 1;
  const cos = sign * world.cos[base]!;
  const sin = sign * world.sin[base]!;
  const x = out[0]!;
  out[0] = cos * x - sin * out[1]!;
  out[1] = sin * x + cos * out[1]!;
  return true;
}

// Pairs of outlines with many parts have thousands of corners, most of them deep inside: there one is tried at a time.
const MOST_LISTED = 400;

function tableAt(world: World, base: number, other: number): PairTable {
  const at = base * world.turnDeg.length + other;
  const index = world.tableOf[at]!;
  return world.tables[index === 0 ? makeTable(world, base, other, at) : index - 1]!;
}

function makeTable(world: World, base: number, other: number, at: number): number {
  const a = world.shapes[world.shapeOf[base]!]!;
  const b = world.shapes[world.shapeOf[other]!]!;
  const between = (((world.turnDeg[other]! - world.turnDeg[base]!) % 360) + 360) % 360;
  // Differences that agree to a millionth of a degree share a table: over 300 mm that is 5 nm.
  const gapMm = Math.max(0, a.marginMm + b.marginMm);
  const key = `${a.key},${b.key},${gapMm},${Math.round(between * 1e6) % 360e6}`;
  let table = world.store.get(key);
  if (table === undefined) {
    const [cos, sin] = cosSinDeg(between);
    const partsB = b.parts.map((part) => turned(part, cos, sin));
    table = buildPairTable(a.parts, partsB, gapMm);
    world.store.set(key, table);
  }
  world.tableOf[at] = world.tables.push(table);
  return world.tables.length - 1;
}
