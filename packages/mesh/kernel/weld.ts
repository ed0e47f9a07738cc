// Exact weld of single-precision corners: the same result as weldBlock32 of src/weld-table.ts.

/** Corners whose table entries are fetched together; three arrays of this length stay in the first-level cache. */
const BATCH: u32 = 384;

/**
 * Welds n triangles. Corner k of triangle i is the three words at records + i·stride + 12·k; its vertex number goes to
 * out + 4·(3·i + k). `slots` has room for two words per corner of a batch, points for all new vertices and one word more;
 * a corner is read with the word after it, which may be anything.
 * @returns the new number of vertices, or −1 − i when triangle i is the first with a coordinate that is not finite
 */
export function weld(
  records: usize,
  stride: u32,
  n: u32,
  out: usize,
  slots: usize,
  table: usize,
  mask: u32,
  points: usize,
  vertexCount: u32,
): i32 {
  let count = vertexCount;
  let record = records;
  let to = out;
  for (let first: u32 = 0; first < n; first += BATCH / 3) {
    const some = min(BATCH / 3, n - first);
    fetch(record, stride, some, slots, table, mask);
    for (let i: u32 = 0, slotAt = slots; i < some; i++, record += stride) {
      for (let corner = record; corner < record + 36; corner += 12, slotAt += 8, to += 4) {
        const xyz = withoutMinus0(v128.load(corner));
        let slot = load<u32>(slotAt);
        let entry = load<u32>(slotAt, 4);
        // Entries are never removed, so only an empty one may have changed since it was fetched.
        if (entry === 0) entry = load<u32>(table + (slot << 2));
        while (entry !== 0) {
          if (first3(i32x4.eq(v128.load(points + (entry - 1) * 12), xyz)) === 7) break;
          slot = (slot + 1) & mask;
          entry = load<u32>(table + (slot << 2));
        }
        if (entry === 0) {
          if (notFinite(xyz)) return -1 - <i32>(first + i);
          v128.store(points + count * 12, xyz); // its fourth word is overwritten by the next
          entry = ++count;
          store<u32>(table + (slot << 2), entry);
        }
        store<u32>(to, entry - 1);
      }
    }
  }
  return count;
}

/** Enters the vertices anew into an empty table. */
export function refill(points: usize, vertexCount: u32, table: usize, mask: u32): void {
  for (let v: u32 = 0; v < vertexCount; v++) {
    const point = points + v * 12;
    let slot = hash(load<u32>(point), load<u32>(point, 4), load<u32>(point, 8)) & mask;
    while (load<u32>(table + (slot << 2)) !== 0) slot = (slot + 1) & mask;
    store<u32>(table + (slot << 2), v + 1);
  }
}

/**
 * Slot and entry of each corner of a batch. Apart from the comparing, because loads that wait for nothing overlap: a
 * large table is far from the processor, and one look-up after the other would wait for each in turn.
 */
function fetch(records: usize, stride: u32, n: u32, slots: usize, table: usize, mask: u32): void {
  let record = records;
  let slotAt = slots;
  for (let i: u32 = 0; i < n; i++, record += stride) {
    for (let corner = record; corner < record + 36; corner += 12, slotAt += 8) {
      const xyz = withoutMinus0(v128.load(corner));
      const slot = hash(i32x4.extract_lane(xyz, 0), i32x4.extract_lane(xyz, 1), i32x4.extract_lane(xyz, 2)) & mask;
      store<u32>(slotAt, slot);
      store<u32>(slotAt, load<u32>(table + (slot << 2)), 4);
    }
  }
}

/** Four bit patterns at once; a corner is the first three. */
function withoutMinus0(bits: v128): v128 {
  return v128.andnot(bits, i32x4.eq(bits, i32x4.splat(0x80000000)));
}

/** One bit for each of the first three of four answers. */
function first3(answers: v128): i32 {
  return i32x4.bitmask(answers) & 7;
}

/** IEEE 754 binary32: all eight exponent bits set means NaN or infinity. */
function notFinite(bits: v128): bool {
  const exponent = i32x4.splat(0x7f800000);
  return first3(i32x4.eq(v128.and(bits, exponent), exponent)) !== 0;
}

function hash(x: u32, y: u32, z: u32): u32 {
  let h = (x * 0x9e3779b1) ^ (y * 0x85ebca77) ^ (z * 0xc2b2ae3d);
  h ^= h >> 15;
  h *= 0x2c1b3c6d;
  return h ^ (h >> 13);
}
