// The loops of src/box-pairs.ts and src/triangle-planes.ts in the same order, so that the same pairs come out.

const GUARDS: i32 = 0x80008000;
const HALVES: i32 = 0x7fff7fff;
const BLOCK: u32 = 8;
const FAN: u32 = 4;
const MOST_PER_STEP: u32 = BLOCK * BLOCK;
const BOUND: f64 = 3.0 / 281474976710656.0; // 3 · 2⁻⁴⁸

/** A plane per triangle: normal and bound, four doubles each; of the triangles from..to. */
export function planesSome(points: usize, triangles: usize, from: u32, to: u32, planes: usize): void {
  for (let t = from; t < to; t++) {
    const h = triangles + <usize>t * 12;
    const a = points + <usize>load<u32>(h) * 24;
    const b = points + <usize>load<u32>(h, 4) * 24;
    const c = points + <usize>load<u32>(h, 8) * 24;
    const ux = load<f64>(b) - load<f64>(a);
    const uy = load<f64>(b, 8) - load<f64>(a, 8);
    const uz = load<f64>(b, 16) - load<f64>(a, 16);
    const vx = load<f64>(c) - load<f64>(a);
    const vy = load<f64>(c, 8) - load<f64>(a, 8);
    const vz = load<f64>(c, 16) - load<f64>(a, 16);
    const m = max(max(max(abs(ux), abs(uy)), max(abs(uz), abs(vx))), max(abs(vy), abs(vz)));
    const o = planes + ((<usize>t) << 5);
    store<f64>(o, uy * vz - uz * vy);
    store<f64>(o, uz * vx - ux * vz, 8);
    store<f64>(o, ux * vy - uy * vx, 16);
    store<f64>(o, BOUND * m * m, 24);
  }
}

/**
 * Turns boxes of src/box-order.ts, where they are, into three words with guards that one subtraction of all compares: the halves of least x y turned into
 * what they lack to the greatest, most x y, most z and lack of least z.
 */
export function guardBoxes(boxes: usize, from: u32, to: u32): void {
  for (let i = from; i < to; i++) {
    const o = boxes + ((<usize>i) << 4);
    store<i32>(o, (HALVES - load<i32>(o)) | GUARDS);
    store<i32>(o, load<i32>(o, 4) | GUARDS, 4);
    store<i32>(o, load<i32>(o, 12) | GUARDS, 8);
    store<i32>(o, GUARDS, 12);
  }
}

/** What a guarded box is to be compared with: its own ends, each where the other's opposite end stands. */
function ends(guarded: usize): v128 {
  return i32x4(
    HALVES - (load<i32>(guarded, 4) & HALVES),
    HALVES - (load<i32>(guarded) & HALVES),
    <i32>rotl<u32>(<u32>(HALVES - (load<i32>(guarded, 8) & HALVES)), 16),
    0,
  );
}

function meets(mine: v128, guarded: usize): bool {
  return !v128.any_true(v128.andnot(i32x4.splat(GUARDS), i32x4.sub(v128.load(guarded), mine)));
}

let block: u32 = 0;
let depth: u32 = 0;
/** Pairs of boxes that may still be compared. */
let left: u32 = 0;
/** 1 once all pairs have been visited, 2 once the budget has ended before. */
export let state: u32 = 0;

export function startPairs(budget: u32): void {
  block = 0;
  depth = 0;
  left = budget;
  state = 0;
}

/**
 * Goes on with the pairs of places whose boxes meet, the lower place first, and writes the two triangles of those that no plane
 * parts; ends after `steps` blocks, or when `room` pairs may not suffice for the next two blocks.
 * @param levels per level: address of its boxes, number of them, blocks under one; the places' own boxes are not among them
 * @returns pairs written
 */
export function pairsSome(
  points: usize,
  triangles: usize,
  planes: usize,
  order: usize,
  places: u32,
  guarded: usize,
  levels: usize,
  levelCount: u32,
  stack: usize,
  out: usize,
  room: u32,
  steps: u32,
): u32 {
  const blocks = <usize>load<u32>(levels);
  const blockCount = load<u32>(levels, 4);
  let written: u32 = 0;
  let done: u32 = 0;
  while (true) {
    if (depth === 0) {
      if (block === blockCount) {
        state = 1;
        return written;
      }
      if (done++ === steps) return written;
      store<u32>(stack, 0);
      store<u32>(stack, levelCount - 1, 4);
      depth = 1;
    }
    const mine = ends(blocks + ((<usize>block) << 4));
    while (depth > 0) {
      if (written + MOST_PER_STEP > room) return written;
      depth--;
      const entry = stack + ((<usize>depth) << 3);
      const node = load<u32>(entry);
      const level = load<u32>(entry, 4);
      if (level === 0) {
        written = visitBlocks(points, triangles, planes, order, places, guarded, blocks, block, node, out, written);
        if (state === 2) return written;
        continue;
      }
      const below = levels + <usize>(level - 1) * 12;
      const boxes = <usize>load<u32>(below);
      const end = min((node + 1) * FAN, load<u32>(below, 4));
      const span = load<u32>(below, 8);
      for (let child = node * FAN; child < end; child++) {
        if ((child + 1) * span <= block) continue;
        if (!meets(mine, boxes + ((<usize>child) << 4))) continue;
        const pushed = stack + ((<usize>depth) << 3);
        store<u32>(pushed, child);
        store<u32>(pushed, level - 1, 4);
        depth++;
      }
    }
    block++;
  }
}

function visitBlocks(
  points: usize,
  triangles: usize,
  planes: usize,
  order: usize,
  places: u32,
  guarded: usize,
  blocks: usize,
  lower: u32,
  upper: u32,
  out: usize,
  written: u32,
): u32 {
  const iEnd = min((lower + 1) * BLOCK, places);
  const jEnd = min((upper + 1) * BLOCK, places);
  const whole = blocks + ((<usize>upper) << 4);
  for (let i = lower * BLOCK; i < iEnd; i++) {
    const mine = ends(guarded + ((<usize>i) << 4));
    if (!meets(mine, whole)) continue;
    const s = load<u32>(order + ((<usize>i) << 2));
    for (let j = lower === upper ? i + 1 : upper * BLOCK; j < jEnd; j++) {
      if (!meets(mine, guarded + ((<usize>j) << 4))) continue;
      if (left === 0) {
        state = 2;
        return written;
      }
      left--;
      const t = load<u32>(order + ((<usize>j) << 2));
      if (apart(points, triangles, planes, s, t) || apart(points, triangles, planes, t, s)) continue;
      store<u32>(out + ((<usize>written) << 3), s);
      store<u32>(out + ((<usize>written) << 3), t, 4);
      written++;
    }
  }
  return written;
}

/** True only when the corners of t that s does not share lie all strictly on one side of the plane of s. */
function apart(points: usize, triangles: usize, planes: usize, s: u32, t: u32): bool {
  const hs = triangles + <usize>s * 12;
  const a = load<u32>(hs);
  const b = load<u32>(hs, 4);
  const c = load<u32>(hs, 8);
  const pa = points + <usize>a * 24;
  const ax = load<f64>(pa);
  const ay = load<f64>(pa, 8);
  const az = load<f64>(pa, 16);
  const plane = planes + ((<usize>s) << 5);
  const nx = load<f64>(plane);
  const ny = load<f64>(plane, 8);
  const nz = load<f64>(plane, 16);
  const bound = load<f64>(plane, 24);
  let seen = 0;
  const ht = triangles + <usize>t * 12;
  for (let k: usize = 0; k < 12; k += 4) {
    const v = load<u32>(ht + k);
    if (v === a || v === b || v === c) continue;
    const p = points + <usize>v * 24;
    const dx = load<f64>(p) - ax;
    const dy = load<f64>(p, 8) - ay;
    const dz = load<f64>(p, 16) - az;
    const height = nx * dx + ny * dy + nz * dz;
    const least = bound * (abs(dx) + abs(dy) + abs(dz));
    if (height > least) {
      if (seen < 0) return false;
      seen = 1;
    } else if (height < -least) {
      if (seen > 0) return false;
      seen = -1;
    } else return false;
  }
  return seen !== 0;
}
