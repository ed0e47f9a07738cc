/**
 * The growing vertex list of an exact weld, for single and for double precision. Open addressing with linear probing
 * over fixed typed arrays; resizable buffers were measured 1.4 to 1.65 times slower in every later loop.
 * See DECISIONS.md "Welding by exact bits".
 */

/** Triangles per block of a streaming reader: 200 KB of binary STL, which stays in a second-level cache. */
export const BLOCK_TRIANGLES = 4096;

/**
 * Welder for single precision: compares the 32-bit patterns, with −0 taken as +0.
 * Words of corner k of triangle i start at (i·strideHalfWords + odd) / 2 + firstWord + 3k, where odd records of an odd
 * stride are read from `oddWords`, the same bytes moved on by two, so that every record is aligned in one of the two.
 */
export class Welder32 {
  readonly triangles: Uint32Array;
  vertexCount = 0;
  private bits: Uint32Array;
  private table: Int32Array;

  constructor(triangleCount: number) {
    this.triangles = new Uint32Array(triangleCount * 3);
    const capacity = Math.max(16, Math.ceil(triangleCount * VERTICES_PER_TRIANGLE));
    this.bits = new Uint32Array(capacity * 3);
    this.table = new Int32Array(tableSize(capacity));
  }

  /** Adds n triangles from index `first` on; returns the first triangle with a NaN or infinite coordinate, or −1. */
  add(
    evenWords: Uint32Array,
    oddWords: Uint32Array,
    firstWord: number,
    strideHalfWords: number,
    n: number,
    first: number,
  ): number {
    this.makeRoom(n * 3);
    const found = weldBlock32(
      evenWords,
      oddWords,
      firstWord,
      strideHalfWords,
      n,
      first,
      this.triangles,
      this.bits,
      this.table,
      this.vertexCount,
    );
    if (found < 0) return -1 - found;
    this.vertexCount = found;
    return -1;
  }

  positions(): Float32Array {
    const used = this.vertexCount * 3;
    const positions = new Float32Array(this.bits.buffer, 0, used);
    return used < this.bits.length * KEEP_SHARE ? positions.slice() : positions;
  }

  private makeRoom(more: number): void {
    const need = this.vertexCount + more;
    if (need * 3 > this.bits.length) {
      const most = this.triangles.length + 16;
      const bits = new Uint32Array(3 * Math.min(most, Math.ceil(need * GROWTH)));
      bits.set(this.bits);
      this.bits = bits;
    }
    if (need > this.table.length * MAX_LOAD) {
      this.table = new Int32Array(tableSize(need));
      refill32(this.bits, this.vertexCount, this.table);
    }
  }
}

/** Welder for double precision, where the number of triangles is not known beforehand. */
export class Welder64 {
  vertexCount = 0;
  triangleCount = 0;
  private corners: Uint32Array;
  private coords: Float64Array;
  private table: Int32Array;

  constructor(expectedTriangles: number) {
    const capacity = Math.max(16, Math.ceil(expectedTriangles * VERTICES_PER_TRIANGLE));
    this.corners = new Uint32Array(Math.max(16, expectedTriangles) * 3);
    this.coords = new Float64Array(capacity * 3);
    this.table = new Int32Array(tableSize(capacity));
  }

  /** Adds the first n triangles of the soup, 9 numbers each; returns the first that is not finite (counted from 0 over all), or −1. */
  add(soup: Float64Array, n: number): number {
    this.makeRoom(n);
    const words = new Uint32Array(soup.buffer, soup.byteOffset, soup.length * 2);
    const { corners, coords, table } = this;
    const found = weldBlock64(soup, words, n, this.triangleCount, corners, coords, table, this.vertexCount);
    if (found < 0) return -1 - found;
    this.vertexCount = found;
    this.triangleCount += n;
    return -1;
  }

  triangles(): Uint32Array {
    return trimmed(this.corners, this.triangleCount * 3);
  }

  positions(): Float64Array {
    return trimmed(this.coords, this.vertexCount * 3);
  }

  private makeRoom(n: number): void {
    const corners = (this.triangleCount + n) * 3;
    if (corners > this.corners.length) this.corners = grown(this.corners, new Uint32Array(Math.ceil(corners * 1.5)));
    const need = this.vertexCount + n * 3;
    if (need * 3 > this.coords.length) {
      this.coords = grown(this.coords, new Float64Array(3 * Math.ceil(need * GROWTH)));
    }
    if (need > this.table.length * MAX_LOAD) {
      this.table = new Int32Array(tableSize(need));
      refill64(this.coords, this.vertexCount, this.table);
    }
  }
}

export const VERTICES_PER_TRIANGLE = 0.55; // a closed surface has about half as many vertices as triangles (Euler)
export const GROWTH = 1.3;
export const MAX_LOAD = 0.75;
const KEEP_SHARE = 0.75; // give back the rest of the buffer when a quarter of it or more is empty

export function tableSize(vertices: number): number {
  let size = 32;
  while (size < vertices * 1.6) size *= 2;
  return size;
}

function grown<T extends Uint32Array | Float64Array>(from: T, into: T): T {
  into.set(from);
  return into;
}

function trimmed<T extends Uint32Array | Float64Array>(array: T, used: number): T {
  return (used < array.length * KEEP_SHARE ? array.slice(0, used) : array.subarray(0, used)) as T;
}

// Odd constants of well-mixing 32-bit hashes (golden ratio and the xxHash primes, public domain, from memory).
function hash3(x: number, y: number, z: number): number {
  let h = Math.imul(x, 0x9e3779b1) ^ Math.imul(y, 0x85ebca77) ^ Math.imul(z, 0xc2b2ae3d);
  h ^= h >>> 15;
  h = Math.imul(h, 0x2c1b3c6d);
  return h ^ (h >>> 13);
}

function weldBlock32(
  evenWords: Uint32Array,
  oddWords: Uint32Array,
  firstWord: number,
  strideHalfWords: number,
  n: number,
  first: number,
  triangles: Uint32Array,
  bits: Uint32Array,
  table: Int32Array,
  vertexCount: number,
): number {
  const mask = table.length - 1;
  const oddStride = strideHalfWords & 1;
  let count = vertexCount;
  let out = first * 3;
  for (let i = 0; i < n; i++) {
    const odd = i & oddStride;
    const words = odd === 1 ? oddWords : evenWords;
    let o = ((i * strideHalfWords + odd) >> 1) + firstWord;
    for (let k = 0; k < 3; k++, o += 3, out++) {
      let x = words[o];
      let y = words[o + 1];
      let z = words[o + 2];
      if (x === 0x80000000) x = 0;
      if (y === 0x80000000) y = 0;
      if (z === 0x80000000) z = 0;
      let slot = hash3(x, y, z) & mask;
      let entry = table[slot];
      while (entry !== 0) {
        const p = (entry - 1) * 3;
        if (bits[p] === x && bits[p + 1] === y && bits[p + 2] === z) break;
        slot = (slot + 1) & mask;
        entry = table[slot];
      }
      if (entry === 0) {
        // Only a new vertex can be the first that is not finite, so old ones need no test.
        if (exponentFull(x) || exponentFull(y) || exponentFull(z)) return -1 - (first + i);
        const p = count * 3;
        bits[p] = x;
        bits[p + 1] = y;
        bits[p + 2] = z;
        entry = ++count;
        table[slot] = entry;
      }
      triangles[out] = entry - 1;
    }
  }
  return count;
}

// IEEE 754 binary32: all eight exponent bits set means NaN or infinity.
function exponentFull(bits: number): boolean {
  return (bits & 0x7f800000) === 0x7f800000;
}

function refill32(bits: Uint32Array, vertexCount: number, table: Int32Array): void {
  const mask = table.length - 1;
  for (let v = 0; v < vertexCount; v++) {
    let slot = hash3(bits[3 * v], bits[3 * v + 1], bits[3 * v + 2]) & mask;
    while (table[slot] !== 0) slot = (slot + 1) & mask;
    table[slot] = v + 1;
  }
}

function weldBlock64(
  soup: Float64Array,
  words: Uint32Array,
  n: number,
  first: number,
  triangles: Uint32Array,
  coords: Float64Array,
  table: Int32Array,
  vertexCount: number,
): number {
  const mask = table.length - 1;
  let count = vertexCount;
  let out = first * 3;
  for (let o = 0; o < n * 9; o += 3, out++) {
    // Adding 0 turns −0 into +0 and leaves every other number as it is.
    const x = soup[o] + 0;
    const y = soup[o + 1] + 0;
    const z = soup[o + 2] + 0;
    soup[o] = x; // the hash reads the bits
    soup[o + 1] = y;
    soup[o + 2] = z;
    const w = o * 2;
    let slot =
      hash3(
        words[w] ^ Math.imul(words[w + 1], 0x27d4eb2f),
        words[w + 2] ^ Math.imul(words[w + 3], 0x27d4eb2f),
        words[w + 4] ^ Math.imul(words[w + 5], 0x27d4eb2f),
      ) & mask;
    let entry = table[slot];
    while (entry !== 0) {
      const p = (entry - 1) * 3;
      if (coords[p] === x && coords[p + 1] === y && coords[p + 2] === z) break;
      slot = (slot + 1) & mask;
      entry = table[slot];
    }
    if (entry === 0) {
      // x − x is 0 for finite numbers and NaN for the others.
      if (x - x !== 0 || y - y !== 0 || z - z !== 0) return -1 - (first + Math.floor(o / 9));
      const p = count * 3;
      coords[p] = x;
      coords[p + 1] = y;
      coords[p + 2] = z;
      entry = ++count;
      table[slot] = entry;
    }
    triangles[out] = entry - 1;
  }
  return count;
}

function refill64(coords: Float64Array, vertexCount: number, table: Int32Array): void {
  const mask = table.length - 1;
  const words = new Uint32Array(coords.buffer, coords.byteOffset, vertexCount * 6);
  for (let v = 0; v < vertexCount; v++) {
    const w = v * 6;
    let slot =
      hash3(
        words[w] ^ Math.imul(words[w + 1], 0x27d4eb2f),
        words[w + 2] ^ Math.imul(words[w + 3], 0x27d4eb2f),
        words[w + 4] ^ Math.imul(words[w + 5], 0x27d4eb2f),
      ) & mask;
    while (table[slot] !== 0) slot = (slot + 1) & mask;
    table[slot] = v + 1;
  }
}
