// The loops of src/ray-tree.ts and src/cast-rays.ts, term by term in the same order, so that their results are equal to the bit.

const BINS: i32 = 16;
const LEAF: u32 = 4;
const LARGEST_LEAF: u32 = 255;
const TINY: f64 = 1e-30;
const WIDE: f64 = 1.0 + 1.0 / 2097152.0; // 1 + 2⁻²¹
const BOX: usize = 24;

/** Corners of the triangles from..to about the middle, nine singles each. */
export function soupSingle(
  points: usize,
  triangles: usize,
  from: u32,
  to: u32,
  x: f64,
  y: f64,
  z: f64,
  soup: usize,
): void {
  centre<f32>(points, triangles, from, to, x, y, z, soup);
}

export function soupDouble(
  points: usize,
  triangles: usize,
  from: u32,
  to: u32,
  x: f64,
  y: f64,
  z: f64,
  soup: usize,
): void {
  centre<f64>(points, triangles, from, to, x, y, z, soup);
}

function centre<T>(points: usize, triangles: usize, from: u32, to: u32, x: f64, y: f64, z: f64, soup: usize): void {
  for (let h = 3 * from; h < 3 * to; h++) {
    const p = points + <usize>load<u32>(triangles + ((<usize>h) << 2)) * (3 * sizeof<T>());
    const o = soup + <usize>h * 12;
    store<f32>(o, <f32>(<f64>load<T>(p) + x));
    store<f32>(o, <f32>(<f64>load<T>(p, sizeof<T>()) + y), 4);
    store<f32>(o, <f32>(<f64>load<T>(p, 2 * sizeof<T>()) + z), 8);
  }
}

/** Boxes of the triangles from..to, and their numbers in order. */
export function soupBounds(soup: usize, from: u32, to: u32, bounds: usize, order: usize): void {
  for (let t = from; t < to; t++) {
    const s = soup + <usize>t * 36;
    const o = bounds + <usize>t * BOX;
    for (let k: usize = 0; k < 12; k += 4) {
      const a = load<f32>(s + k);
      const b = load<f32>(s + k, 12);
      const c = load<f32>(s + k, 24);
      store<f32>(o + k, min(min(a, b), c));
      store<f32>(o + k, max(max(a, b), c), 12);
    }
    store<u32>(order + ((<usize>t) << 2), t);
  }
}

/** First corner and the two sides from it, of the places from..to. */
export function cornersInOrder(soup: usize, order: usize, from: u32, to: u32, corners: usize): void {
  for (let i = from; i < to; i++) {
    const s = soup + <usize>load<u32>(order + ((<usize>i) << 2)) * 36;
    const o = corners + <usize>i * 36;
    for (let k: usize = 0; k < 12; k += 4) {
      const a = load<f32>(s + k);
      store<f32>(o + k, a);
      store<f32>(o + k, <f32>(<f64>load<f32>(s + k, 12) - <f64>a), 12);
      store<f32>(o + k, <f32>(<f64>load<f32>(s + k, 24) - <f64>a), 24);
    }
  }
}

let depth: u32 = 0;
/** Nodes of the tree so far. */
export let nodes: u32 = 0;

/** Puts the whole list on the stack. */
export function startTree(count: u32, stack: usize): void {
  push(stack, 0, 0, 0, count);
  depth = 1;
  nodes = 1;
}

function push(stack: usize, at: u32, node: u32, from: u32, to: u32): void {
  const s = stack + <usize>at * 12;
  store<u32>(s, node);
  store<u32>(s, from, 4);
  store<u32>(s, to, 8);
}

/** Splits lists of about so many triangles together; returns whether any are left. scratch: 6 doubles, 16 doubles, 16 words, 96 singles. */
export function splitSome(
  bounds: usize,
  order: usize,
  boxes: usize,
  link: usize,
  size: usize,
  stack: usize,
  scratch: usize,
  work: u32,
): bool {
  let done: u32 = 0;
  while (depth > 0 && done < work) {
    depth--;
    const s = stack + <usize>depth * 12;
    const node = load<u32>(s);
    const from = load<u32>(s, 4);
    const to = load<u32>(s, 8);
    done += to - from;
    measure(bounds, order, from, to, boxes + <usize>node * BOX, scratch);
    const ex = load<f64>(scratch, 24) - load<f64>(scratch);
    const ey = load<f64>(scratch, 32) - load<f64>(scratch, 8);
    const ez = load<f64>(scratch, 40) - load<f64>(scratch, 16);
    const axis: u32 = ex >= ey && ex >= ez ? 0 : ey >= ez ? 1 : 2;
    const extent = axis === 0 ? ex : axis === 1 ? ey : ez;
    let at = (from + to) >> 1;
    if (to - from <= LEAF) at = from;
    else if (extent > 0)
      at = partition(bounds, order, from, to, axis, load<f64>(scratch + ((<usize>axis) << 3)), extent, scratch);
    if (at === from && to - from <= LARGEST_LEAF) {
      store<i32>(link + ((<usize>node) << 2), -1 - <i32>from);
      store<u8>(size + node, <u8>(to - from));
      continue;
    }
    if (at === from || at === to) at = (from + to) >> 1;
    store<i32>(link + ((<usize>node) << 2), <i32>nodes);
    store<u8>(size + node, 0);
    push(stack, depth++, nodes + 1, at, to);
    push(stack, depth++, nodes, from, at);
    nodes += 2;
  }
  return depth > 0;
}

function measure(bounds: usize, order: usize, from: u32, to: u32, box: usize, centres: usize): void {
  let x0: f32 = Infinity;
  let y0: f32 = Infinity;
  let z0: f32 = Infinity;
  let x1: f32 = -Infinity;
  let y1: f32 = -Infinity;
  let z1: f32 = -Infinity;
  let cx0: f64 = Infinity;
  let cy0: f64 = Infinity;
  let cz0: f64 = Infinity;
  let cx1: f64 = -Infinity;
  let cy1: f64 = -Infinity;
  let cz1: f64 = -Infinity;
  for (let i = from; i < to; i++) {
    const o = bounds + <usize>load<u32>(order + ((<usize>i) << 2)) * BOX;
    const lx = load<f32>(o);
    const ly = load<f32>(o, 4);
    const lz = load<f32>(o, 8);
    const hx = load<f32>(o, 12);
    const hy = load<f32>(o, 16);
    const hz = load<f32>(o, 20);
    if (lx < x0) x0 = lx;
    if (ly < y0) y0 = ly;
    if (lz < z0) z0 = lz;
    if (hx > x1) x1 = hx;
    if (hy > y1) y1 = hy;
    if (hz > z1) z1 = hz;
    const cx = <f64>lx + <f64>hx;
    const cy = <f64>ly + <f64>hy;
    const cz = <f64>lz + <f64>hz;
    if (cx < cx0) cx0 = cx;
    if (cy < cy0) cy0 = cy;
    if (cz < cz0) cz0 = cz;
    if (cx > cx1) cx1 = cx;
    if (cy > cy1) cy1 = cy;
    if (cz > cz1) cz1 = cz;
  }
  store<f32>(box, x0);
  store<f32>(box, y0, 4);
  store<f32>(box, z0, 8);
  store<f32>(box, x1, 12);
  store<f32>(box, y1, 16);
  store<f32>(box, z1, 20);
  store<f64>(centres, cx0);
  store<f64>(centres, cy0, 8);
  store<f64>(centres, cz0, 16);
  store<f64>(centres, cx1, 24);
  store<f64>(centres, cy1, 32);
  store<f64>(centres, cz1, 40);
}

const COSTS: usize = 48;
const COUNTS: usize = COSTS + 16 * 8;
const BIN_BOXES: usize = COUNTS + 16 * 4;

function partition(
  bounds: usize,
  order: usize,
  from: u32,
  to: u32,
  axis: u32,
  low: f64,
  extent: f64,
  scratch: usize,
): u32 {
  const scale = (<f64>BINS * (1.0 - 1.0 / 1048576.0)) / extent;
  const along = (<usize>axis) << 2;
  fillBins(bounds, order, from, to, along, low, scale, scratch);
  const best = cheapestBin(scratch);
  let i = from;
  let j = to;
  while (i < j) {
    const t = load<u32>(order + ((<usize>i) << 2));
    if (binOf(bounds + <usize>t * BOX + along, low, scale) < best) i++;
    else {
      j--;
      store<u32>(order + ((<usize>i) << 2), load<u32>(order + ((<usize>j) << 2)));
      store<u32>(order + ((<usize>j) << 2), t);
    }
  }
  return i;
}

function binOf(bound: usize, low: f64, scale: f64): i32 {
  return <i32>((<f64>load<f32>(bound) + <f64>load<f32>(bound, 12) - low) * scale);
}

function fillBins(
  bounds: usize,
  order: usize,
  from: u32,
  to: u32,
  along: usize,
  low: f64,
  scale: f64,
  scratch: usize,
): void {
  for (let bin: usize = 0; bin < <usize>BINS; bin++) {
    store<u32>(scratch + COUNTS + (bin << 2), 0);
    const o = scratch + BIN_BOXES + bin * BOX;
    store<f32>(o, Infinity);
    store<f32>(o, Infinity, 4);
    store<f32>(o, Infinity, 8);
    store<f32>(o, -Infinity, 12);
    store<f32>(o, -Infinity, 16);
    store<f32>(o, -Infinity, 20);
  }
  for (let i = from; i < to; i++) {
    const t = bounds + <usize>load<u32>(order + ((<usize>i) << 2)) * BOX;
    const bin = <usize>binOf(t + along, low, scale);
    const count = scratch + COUNTS + (bin << 2);
    store<u32>(count, load<u32>(count) + 1);
    const o = scratch + BIN_BOXES + bin * BOX;
    for (let k: usize = 0; k < 12; k += 4) {
      const low = load<f32>(t + k);
      const high = load<f32>(t + k, 12);
      if (low < load<f32>(o + k)) store<f32>(o + k, low);
      if (high > load<f32>(o + k, 12)) store<f32>(o + k, high, 12);
    }
  }
}

let sx0: f64 = 0;
let sy0: f64 = 0;
let sz0: f64 = 0;
let sx1: f64 = 0;
let sy1: f64 = 0;
let sz1: f64 = 0;
let swept: u32 = 0;

function startSweep(): void {
  sx0 = sy0 = sz0 = Infinity;
  sx1 = sy1 = sz1 = -Infinity;
  swept = 0;
}

/** Takes one more bin in; returns area · triangles of all taken so far. */
function sweep(scratch: usize, bin: usize): f64 {
  const count = load<u32>(scratch + COUNTS + (bin << 2));
  swept += count;
  if (count > 0) {
    const o = scratch + BIN_BOXES + bin * BOX;
    sx0 = min(sx0, <f64>load<f32>(o));
    sy0 = min(sy0, <f64>load<f32>(o, 4));
    sz0 = min(sz0, <f64>load<f32>(o, 8));
    sx1 = max(sx1, <f64>load<f32>(o, 12));
    sy1 = max(sy1, <f64>load<f32>(o, 16));
    sz1 = max(sz1, <f64>load<f32>(o, 20));
  }
  if (swept === 0) return Infinity;
  const x = sx1 - sx0;
  const y = sy1 - sy0;
  const z = sz1 - sz0;
  return <f64>swept * (x * y + y * z + z * x);
}

function cheapestBin(scratch: usize): i32 {
  startSweep();
  for (let bin = BINS - 1; bin >= 0; bin--) store<f64>(scratch + COSTS + ((<usize>bin) << 3), sweep(scratch, bin));
  startSweep();
  let best: f64 = Infinity;
  let at = 1;
  for (let bin = 0; bin < BINS - 1; bin++) {
    const cost = sweep(scratch, bin) + load<f64>(scratch + COSTS + ((<usize>bin) << 3), 8);
    if (cost < best) {
      best = cost;
      at = bin + 1;
    }
  }
  return at;
}

/** The boxes of each two children plane by plane, left and right side by side, so that both are compared at once. */
export function pairBoxes(boxes: usize, pairsFrom: u32, pairsTo: u32, pairs: usize): void {
  for (let pair = pairsFrom; pair < pairsTo; pair++) {
    const left = boxes + (<usize>pair * 2 + 1) * BOX;
    const o = pairs + <usize>pair * (2 * BOX);
    for (let k: usize = 0; k < 6; k++) {
      store<f32>(o + (k << 3), load<f32>(left + (k << 2)));
      store<f32>(o + (k << 3), load<f32>(left + BOX + (k << 2)), 4);
    }
  }
}

/** First hits of the rays from..to: six doubles each, about the tree's middle after x y z are taken off. stack: 512 × (double, word). */
export function castSome(
  pairs: usize,
  link: usize,
  size: usize,
  order: usize,
  corners: usize,
  rays: usize,
  count: u32,
  mx: f64,
  my: f64,
  mz: f64,
  within: f64,
  unseen: usize,
  distance: usize,
  triangle: usize,
  stack: usize,
): void {
  for (let r: u32 = 0; r < count; r++) {
    const o = rays + <usize>r * 48;
    const x = load<f64>(o) - mx;
    const y = load<f64>(o, 8) - my;
    const z = load<f64>(o, 16) - mz;
    const dx = load<f64>(o, 24);
    const dy = load<f64>(o, 32);
    const dz = load<f64>(o, 40);
    const skip = load<u32>(unseen + ((<usize>r) << 2));
    const found = walk(pairs, link, size, order, corners, x, y, z, dx, dy, dz, within, skip, stack);
    store<i32>(triangle + ((<usize>r) << 2), found);
    store<f32>(distance + ((<usize>r) << 2), found >= 0 ? <f32>reached : -1.0);
  }
}

let reached: f64 = 0;

function walk(
  pairs: usize,
  link: usize,
  size: usize,
  order: usize,
  corners: usize,
  x: f64,
  y: f64,
  z: f64,
  dx: f64,
  dy: f64,
  dz: f64,
  within: f64,
  unseen: u32,
  stack: usize,
): i32 {
  const ix = 1.0 / (dx === 0 ? TINY : dx);
  const iy = 1.0 / (dy === 0 ? TINY : dy);
  const iz = 1.0 / (dz === 0 ? TINY : dz);
  const nearX: usize = dx < 0 ? 24 : 0;
  const nearY: usize = dy < 0 ? 32 : 8;
  const nearZ: usize = dz < 0 ? 40 : 16;
  const farX: usize = 24 - nearX;
  const farY: usize = 40 - nearY;
  const farZ: usize = 56 - nearZ;
  const xx = f64x2.splat(x);
  const yy = f64x2.splat(y);
  const zz = f64x2.splat(z);
  const ixx = f64x2.splat(ix);
  const iyy = f64x2.splat(iy);
  const izz = f64x2.splat(iz);
  const wide = f64x2.splat(WIDE);
  const zero = f64x2.splat(0);
  let best = within;
  let found: i32 = -1;
  let top = stack;
  let node: u32 = 0;
  while (true) {
    const triangles = load<u8>(size + node);
    const to = load<i32>(link + ((<usize>node) << 2));
    let down = false;
    if (triangles === 0) {
      const a = pairs + <usize>(to >> 1) * (2 * BOX);
      let t0 = slab(a + nearX, xx, ixx);
      let t1 = slab(a + farX, xx, ixx);
      t0 = f64x2.pmax(t0, slab(a + nearY, yy, iyy));
      t1 = f64x2.pmin(t1, slab(a + farY, yy, iyy));
      t0 = f64x2.pmax(t0, slab(a + nearZ, zz, izz));
      t1 = f64x2.pmin(t1, slab(a + farZ, zz, izz));
      const hits = v128.and(
        v128.and(f64x2.le(t0, f64x2.mul(t1, wide)), f64x2.ge(t1, zero)),
        f64x2.le(t0, f64x2.splat(best)),
      );
      const mask = i64x2.bitmask(hits);
      if (mask !== 0) {
        down = true;
        node = <u32>to;
        if (mask === 3) {
          const left = f64x2.extract_lane(t0, 0);
          const right = f64x2.extract_lane(t0, 1);
          if (left <= right) {
            store<f64>(top, right);
            store<u32>(top, <u32>to + 1, 8);
          } else {
            store<f64>(top, left);
            store<u32>(top, <u32>to, 8);
            node = <u32>to + 1;
          }
          top += 16;
        } else if (mask === 2) node = <u32>to + 1;
      }
    } else {
      const first = <u32>(-1 - to);
      for (let i = first; i < first + triangles; i++) {
        const o = corners + <usize>i * 36;
        const ux = <f64>load<f32>(o, 12);
        const uy = <f64>load<f32>(o, 16);
        const uz = <f64>load<f32>(o, 20);
        const vx = <f64>load<f32>(o, 24);
        const vy = <f64>load<f32>(o, 28);
        const vz = <f64>load<f32>(o, 32);
        const px = dy * vz - dz * vy;
        const py = dz * vx - dx * vz;
        const pz = dx * vy - dy * vx;
        const det = ux * px + uy * py + uz * pz;
        if (det === 0) continue;
        const inverse = 1.0 / det;
        const sx = x - <f64>load<f32>(o);
        const sy = y - <f64>load<f32>(o, 4);
        const sz = z - <f64>load<f32>(o, 8);
        const u = (sx * px + sy * py + sz * pz) * inverse;
        if (u < 0 || u > 1) continue;
        const qx = sy * uz - sz * uy;
        const qy = sz * ux - sx * uz;
        const qz = sx * uy - sy * ux;
        const v = (dx * qx + dy * qy + dz * qz) * inverse;
        if (v < 0 || u + v > 1) continue;
        const t = (vx * qx + vy * qy + vz * qz) * inverse;
        if (t < 0 || t > best) continue;
        const number = load<u32>(order + ((<usize>i) << 2));
        if (number === unseen) continue;
        best = t;
        found = <i32>number;
      }
    }
    if (down) continue;
    do {
      if (top === stack) {
        reached = best;
        return found;
      }
      top -= 16;
      node = load<u32>(top, 8);
    } while (load<f64>(top) > best);
  }
}

function slab(at: usize, from: v128, inverse: v128): v128 {
  return f64x2.mul(f64x2.sub(f64x2.promote_low_f32x4(v128.load64_zero(at)), from), inverse);
}
