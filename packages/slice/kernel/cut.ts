// Cuts a closed mesh with horizontal planes: the loops of src/cut-planes.ts, with the same arithmetic, so that they are equal to the bit.
// Loops are found triangle by triangle instead of plane by plane: the planes that cross a triangle follow each other while its
// neighbours are still in the processor's cache. Every crossed triangle gives one point, so each plane's place in the output is known before.

/** Lowest and highest z of the corners from..to, widening the two doubles at `range`. */
export function rangeSingle(points: usize, triangles: usize, from: u32, to: u32, range: usize): void {
  widen<f32>(points, triangles, from, to, range);
}

export function rangeDouble(points: usize, triangles: usize, from: u32, to: u32, range: usize): void {
  widen<f64>(points, triangles, from, to, range);
}

function widen<T>(points: usize, triangles: usize, from: u32, to: u32, range: usize): void {
  let low = load<f64>(range);
  let high = load<f64>(range, 8);
  for (let h = from; h < to; h++) {
    const z = coordinate<T>(points, load<u32>(triangles + (h << 2)), 2);
    if (z < low) low = z;
    if (z > high) high = z;
  }
  store<f64>(range, low);
  store<f64>(range, high, 8);
}

/** For each vertex from..to the number of planes at or below it. `guess` holds the number for even bins from the lowest plane on. */
export function levelsSingle(
  points: usize,
  from: u32,
  to: u32,
  planes: usize,
  planeCount: i32,
  guess: usize,
  bins: i32,
  binsPerMm: f64,
  levels: usize,
): void {
  findLevels<f32>(points, from, to, planes, planeCount, guess, bins, binsPerMm, levels);
}

export function levelsDouble(
  points: usize,
  from: u32,
  to: u32,
  planes: usize,
  planeCount: i32,
  guess: usize,
  bins: i32,
  binsPerMm: f64,
  levels: usize,
): void {
  findLevels<f64>(points, from, to, planes, planeCount, guess, bins, binsPerMm, levels);
}

function findLevels<T>(
  points: usize,
  from: u32,
  to: u32,
  planes: usize,
  planeCount: i32,
  guess: usize,
  bins: i32,
  binsPerMm: f64,
  levels: usize,
): void {
  const low = load<f64>(planes);
  const last = <f64>bins;
  for (let v = from; v < to; v++) {
    const z = coordinate<T>(points, v, 2);
    const bin = (z - low) * binsPerMm;
    // A vertex whose height is no number lands in the last bin and is below every plane, as in the plain code.
    const place = bin <= 0 ? 0 : bin < last ? <i32>bin : bins;
    let k = bin <= 0 ? 0 : load<i32>(guess + (place << 2));
    while (k > 0 && load<f64>(planes + ((k - 1) << 3)) > z) k--;
    while (k < planeCount && load<f64>(planes + (k << 3)) <= z) k++;
    store<i32>(levels + (v << 2), k);
  }
}

/**
 * For the triangles from..to: turns the twins into 4 · triangle + corner, writes the number of its first plane and of its segments before
 * less that number, and counts at each plane how many triangles begin and cease to cross it.
 * @returns the number of segments so far; -1 where an edge has no twin
 */
export function spans(
  triangles: usize,
  twins: usize,
  from: u32,
  to: u32,
  levels: usize,
  starts: usize,
  change: usize,
  before: i32,
): i32 {
  let segments = before;
  for (let t = from; t < to; t++) {
    const corners = triangles + 12 * <usize>t;
    const a = load<u32>(corners);
    const b = load<u32>(corners, 4);
    const c = load<u32>(corners, 8);
    const beside = twins + 12 * <usize>t;
    for (let k: usize = 0; k < 12; k += 4) {
      const g = load<u32>(beside + k);
      if (<i32>g < 0) return -1;
      store<u32>(beside + k, g + g / 3);
    }
    let first = 0;
    let end = 0;
    if (a !== b && b !== c && c !== a) {
      const ka = load<i32>(levels + (a << 2));
      const kb = load<i32>(levels + (b << 2));
      const kc = load<i32>(levels + (c << 2));
      first = min(ka, min(kb, kc));
      end = max(ka, max(kb, kc));
    }
    store<i32>(starts + (t << 3), segments - first);
    store<i32>(starts + (t << 3), first, 4);
    if (end > first) {
      const at = change + (first << 2);
      store<i32>(at, load<i32>(at) + 1);
      const stop = change + (end << 2);
      store<i32>(stop, load<i32>(stop) - 1);
      segments += end - first;
    }
  }
  store<i32>(starts + (to << 3), segments);
  store<i32>(starts + (to << 3), 0, 4);
  return segments;
}

/**
 * Walks all loops that begin at the triangles from..to.
 * @param seen a byte for every segment, 0 at first
 * @param next for each plane the address of its next point in the output; one more for the end
 * @param ends for each plane where its points end
 * @param chains receives plane and address of the first point of every loop
 * @returns where the next chain goes; 0 when a walk does not come back (twins that are none)
 */
export function walkSingle(
  points: usize,
  triangles: usize,
  twins: usize,
  from: u32,
  to: u32,
  planes: usize,
  starts: usize,
  seen: usize,
  next: usize,
  ends: usize,
  chains: usize,
): usize {
  return walk<f32>(points, triangles, twins, from, to, planes, starts, seen, next, ends, chains);
}

export function walkDouble(
  points: usize,
  triangles: usize,
  twins: usize,
  from: u32,
  to: u32,
  planes: usize,
  starts: usize,
  seen: usize,
  next: usize,
  ends: usize,
  chains: usize,
): usize {
  return walk<f64>(points, triangles, twins, from, to, planes, starts, seen, next, ends, chains);
}

function walk<T>(
  points: usize,
  triangles: usize,
  twins: usize,
  from: u32,
  to: u32,
  planes: usize,
  starts: usize,
  seen: usize,
  next: usize,
  ends: usize,
  chains: usize,
): usize {
  let chain = chains;
  for (let begin = from; begin < to; begin++) {
    const base = load<i32>(starts + (begin << 3));
    const first = load<i32>(starts + (begin << 3), 4);
    const end = load<i32>(starts + ((begin + 1) << 3)) + load<i32>(starts + ((begin + 1) << 3), 4) - base;
    for (let k = first; k < end; k++) {
      if (load<u8>(seen + <usize>(base + k)) !== 0) continue;
      const z = load<f64>(planes + ((<usize>k) << 3));
      let out: usize = load<u32>(next + ((<usize>k) << 2));
      const limit: usize = load<u32>(ends + ((<usize>k) << 2));
      store<u32>(chain, k);
      store<u32>(chain, <u32>out, 4);
      chain += 8;
      // h = 4 · triangle + corner; the walk carries the edge it came over, from its end above to its end below.
      let h = downEdge<T>(points, triangles, begin, z);
      let t = begin;
      const va = load<u32>(triangles + ((h - t) << 2));
      const vb = load<u32>(triangles + (((h & 3) === 2 ? h - 2 - t : h + 1 - t) << 2));
      let ax = coordinate<T>(points, va, 0);
      let ay = coordinate<T>(points, va, 1);
      let az = coordinate<T>(points, va, 2);
      let bx = coordinate<T>(points, vb, 0);
      let by = coordinate<T>(points, vb, 1);
      let bz = coordinate<T>(points, vb, 2);
      do {
        if (out >= limit) return 0;
        store<u8>(seen + <usize>(load<i32>(starts + (t << 3)) + k), 1);
        const share = (z - az) / (bz - az);
        store<f64>(out, ax + share * (bx - ax));
        store<f64>(out, ay + share * (by - ay), 8);
        out += 16;
        const corner = h & 3;
        const third = corner === 0 ? h + 2 : h - 1;
        const c = load<u32>(triangles + ((third - t) << 2));
        const cz = coordinate<T>(points, c, 2);
        let up = third;
        if (cz >= z) {
          up = corner === 2 ? h - 2 : h + 1;
          ax = coordinate<T>(points, c, 0);
          ay = coordinate<T>(points, c, 1);
          az = cz;
        } else {
          bx = coordinate<T>(points, c, 0);
          by = coordinate<T>(points, c, 1);
          bz = cz;
        }
        h = load<u32>(twins + ((up - t) << 2));
        t = h >> 2;
      } while (t !== begin);
      store<u32>(next + ((<usize>k) << 2), <u32>out);
    }
  }
  return chain;
}

function downEdge<T>(points: usize, triangles: usize, t: u32, z: f64): u32 {
  const corners = triangles + 12 * <usize>t;
  const a = coordinate<T>(points, load<u32>(corners), 2) >= z;
  const b = coordinate<T>(points, load<u32>(corners, 4), 2) >= z;
  const c = coordinate<T>(points, load<u32>(corners, 8), 2) >= z;
  const o = t << 2;
  if (a && !b) return o;
  return b && !c ? o + 1 : o + 2;
}

function coordinate<T>(points: usize, vertex: u32, axis: usize): f64 {
  return <f64>load<T>(points + 3 * sizeof<T>() * <usize>vertex + axis * sizeof<T>());
}
