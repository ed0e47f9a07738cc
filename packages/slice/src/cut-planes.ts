import type { Mesh } from '@stonehand/model';

/** What the walk gives before open chains are joined: chain c owns points chainStart[c] … chainStart[c + 1] − 1. */
export type Chains = Readonly<{
  xyMm: Float64Array;
  chainStart: Uint32Array;
  /** plane k owns chains planeStart[k] … planeStart[k + 1] − 1 */
  planeStart: Uint32Array;
  /** 1 where the walk came to an edge without a neighbour; its last point is then the end of the chain */
  open: Uint8Array;
  openCount: number;
}>;

/**
 * Cuts the mesh with horizontal planes, ascending. A vertex on a plane counts as above it, so each crossed triangle gives
 * exactly one segment and chains walk from triangle to triangle without comparing coordinates: time and memory grow
 * with triangles + segments. Material lies to the left.
 * After Minetto et al. 2017 (buckets by plane) and Dutra da Silva et al. 2025 (walking with known adjacency), abstracts.
 */
export function cutPlanes(mesh: Mesh, pair: Int32Array, planesMm: Float64Array): Chains {
  const { segmentStart, segmentTriangle } = bucketByPlane(mesh, planesMm);
  const planes = planesMm.length;
  const { positions: p, triangles: tri } = mesh;
  const hasBoundary = pair.includes(-1);
  const xy = new Float64Array((hasBoundary ? 4 : 2) * segmentTriangle.length);
  const planeStart = new Uint32Array(planes + 1);
  const seen = new Int32Array(tri.length / 3).fill(-1);
  let chainStart = new Uint32Array(1024);
  let open = new Uint8Array(1024);
  let chains = 0;
  let openCount = 0;
  let at = 0;
  for (let k = 0; k < planes; k++) {
    const z = planesMm[k];
    // An open chain must be entered at its head, so planes through a mesh with a boundary are passed over twice.
    for (let pass = hasBoundary ? 0 : 1; pass < 2; pass++) {
      for (let s = segmentStart[k]; s < segmentStart[k + 1]; s++) {
        let t = segmentTriangle[s];
        if (seen[t] === k || (pass === 0 && pair[downEdge(p, tri, t, z)] !== -1)) continue;
        if (chains + 1 >= chainStart.length) {
          chainStart = grown(chainStart, new Uint32Array(2 * chainStart.length));
          open = grown(open, new Uint8Array(2 * open.length));
        }
        // The walk carries the edge it came over, from its end above to its end below; each step loads one corner only.
        let h = downEdge(p, tri, t, z);
        const first = 3 * tri[h];
        const second = 3 * tri[h === 3 * t + 2 ? h - 2 : h + 1];
        let ax = p[first];
        let ay = p[first + 1];
        let az = p[first + 2];
        let bx = p[second];
        let by = p[second + 1];
        let bz = p[second + 2];
        for (;;) {
          seen[t] = k;
          const share = (z - az) / (bz - az);
          xy[at++] = ax + share * (bx - ax);
          xy[at++] = ay + share * (by - ay);
          const corner = h - 3 * t;
          const third = corner === 0 ? h + 2 : h - 1;
          const c = 3 * tri[third];
          const cz = p[c + 2];
          let up: number;
          if (cz >= z) {
            up = corner === 2 ? h - 2 : h + 1;
            ax = p[c];
            ay = p[c + 1];
            az = cz;
          } else {
            up = third;
            bx = p[c];
            by = p[c + 1];
            bz = cz;
          }
          h = pair[up];
          if (h < 0) {
            const end = (z - az) / (bz - az);
            xy[at++] = ax + end * (bx - ax);
            xy[at++] = ay + end * (by - ay);
            open[chains] = 1;
            openCount++;
            break;
          }
          t = (h / 3) | 0;
          if (seen[t] === k) break;
        }
        chainStart[++chains] = at / 2;
      }
    }
    planeStart[k + 1] = chains;
  }
  return {
    xyMm: xy.subarray(0, at),
    chainStart: chainStart.subarray(0, chains + 1),
    planeStart,
    open: open.subarray(0, chains),
    openCount,
  };
}

function downEdge(p: Mesh['positions'], tri: Uint32Array, t: number, z: number): number {
  const o = 3 * t;
  const a = p[3 * tri[o] + 2] >= z;
  const b = p[3 * tri[o + 1] + 2] >= z;
  const c = p[3 * tri[o + 2] + 2] >= z;
  if (a && !b) return o;
  return b && !c ? o + 1 : o + 2;
}

/** Triangles by crossed plane (lowest < z ≤ highest vertex): a counting sort over the planes each triangle spans. */
function bucketByPlane(
  mesh: Mesh,
  planesMm: Float64Array,
): { segmentStart: Uint32Array; segmentTriangle: Uint32Array } {
  const { positions: p, triangles: tri } = mesh;
  const triangles = tri.length / 3;
  const planes = planesMm.length;
  const first = new Int32Array(triangles);
  const end = new Int32Array(triangles);
  const change = new Int32Array(planes + 1);
  // A triangle is cut by the planes from its lowest corner's first plane above to its highest corner's.
  const above = planesAbove(p, planesMm);
  for (let t = 0; t < triangles; t++) {
    const ia = tri[3 * t];
    const ib = tri[3 * t + 1];
    const ic = tri[3 * t + 2];
    if (ia === ib || ib === ic || ic === ia) continue;
    const a = above[ia];
    const b = above[ib];
    const c = above[ic];
    const k0 = Math.min(a, b, c);
    const k1 = Math.max(a, b, c);
    first[t] = k0;
    end[t] = k1;
    change[k0]++;
    change[k1]--;
  }
  const segmentStart = new Uint32Array(planes + 1);
  let crossing = 0;
  for (let k = 0; k < planes; k++) {
    crossing += change[k];
    segmentStart[k + 1] = segmentStart[k] + crossing;
  }
  const segmentTriangle = new Uint32Array(segmentStart[planes]);
  const fill = segmentStart.slice();
  for (let t = 0; t < triangles; t++) {
    for (let k = first[t]; k < end[t]; k++) segmentTriangle[fill[k]++] = t;
  }
  return { segmentStart, segmentTriangle };
}

export type PlaneBins = Readonly<{ binsPerMm: number; bins: number; guess: Int32Array }>;

/** Even bins from the lowest plane on that point near the first plane above a height, so that uneven layers cost no search. */
export function planeBins(planesMm: Float64Array): PlaneBins {
  const planes = planesMm.length;
  const low = planes > 0 ? planesMm[0] : 0;
  const span = planes > 0 ? planesMm[planes - 1] - low : 0;
  const bins = 2 * planes + 1;
  const binsPerMm = span > 0 ? (bins - 1) / span : 0;
  const guess = new Int32Array(bins + 1);
  for (let bin = 0, k = 0; bin <= bins; bin++) {
    while (k < planes && (planesMm[k] - low) * binsPerMm < bin) k++;
    guess[bin] = k;
  }
  return { binsPerMm, bins, guess };
}

/** For each vertex the index of the first plane above it. */
function planesAbove(p: Mesh['positions'], planesMm: Float64Array): Int32Array {
  const planes = planesMm.length;
  const low = planes > 0 ? planesMm[0] : 0;
  const { binsPerMm, bins, guess } = planeBins(planesMm);
  const above = new Int32Array(p.length / 3);
  for (let v = 0; v < above.length; v++) {
    const z = p[3 * v + 2];
    const bin = (z - low) * binsPerMm;
    let k = bin <= 0 ? 0 : bin >= bins ? guess[bins] : guess[Math.floor(bin)];
    while (k > 0 && planesMm[k - 1] > z) k--;
    while (k < planes && planesMm[k] <= z) k++;
    above[v] = k;
  }
  return above;
}

function grown<T extends Uint32Array | Uint8Array>(old: T, larger: T): T {
  larger.set(old);
  return larger;
}
