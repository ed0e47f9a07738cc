import type { Mesh } from '@stonehand/model';
import type { SupportFaces } from './support-faces.ts';

const LINES = 64;
/** Share of a ceiling that may miss its anchor (corners, roundings) before it is no bridge. */
const LOOSE_SHARE = 0.01;
const DIRECTIONS = 8;

/**
 * Takes off the need of ceilings that can be bridged. A ceiling is a patch of level faces joined by their edges, at one
 * height within half a layer. An edge of the patch is held where the neighbouring face goes down from it and is not itself
 * in need. The patch is a bridge if there is a direction, square to one of its longest held edges, in which (all but 1 % of)
 * the lines across it run from a held edge to a held edge over at most bridgeMm. Curved ceilings, and ledges held on one
 * side, are none.
 */
export function bridgedFaces(
  mesh: Mesh,
  faces: SupportFaces,
  twins: Int32Array,
  bridgeMm: number,
  layerMm: number,
): void {
  const seen = new Uint8Array(faces.needs.length);
  for (let t = 0; t < seen.length; t++) {
    if (faces.needs[t] !== 2 || seen[t] === 1) continue;
    const patch = patchFrom(t, faces, twins, seen);
    const rim = rimOf(patch, mesh, faces, twins);
    if (rim.highMm - rim.lowMm > layerMm / 2) continue;
    if (isBridge(rim.edges, bridgeMm)) for (const face of patch) faces.needs[face] = 0;
  }
}

function patchFrom(first: number, faces: SupportFaces, twins: Int32Array, seen: Uint8Array): number[] {
  const patch = [first];
  seen[first] = 1;
  for (let k = 0; k < patch.length; k++) {
    for (let h = 3 * patch[k]; h < 3 * patch[k] + 3; h++) {
      const next = twins[h] < 0 ? -1 : (twins[h] / 3) | 0;
      if (next < 0 || seen[next] === 1 || faces.needs[next] !== 2) continue;
      seen[next] = 1;
      patch.push(next);
    }
  }
  return patch;
}

type RimEdge = Readonly<{ ax: number; ay: number; bx: number; by: number; held: boolean }>;

function rimOf(
  patch: readonly number[],
  mesh: Mesh,
  faces: SupportFaces,
  twins: Int32Array,
): { edges: RimEdge[]; lowMm: number; highMm: number } {
  const { triangles } = mesh;
  const p = faces.xyz;
  const inPatch = new Set(patch);
  const edges: RimEdge[] = [];
  let lowMm = Infinity;
  let highMm = -Infinity;
  for (const t of patch) {
    for (let k = 0; k < 3; k++) {
      const h = 3 * t + k;
      const a = 3 * triangles[h];
      const b = 3 * triangles[3 * t + ((k + 1) % 3)];
      lowMm = Math.min(lowMm, p[a + 2]);
      highMm = Math.max(highMm, p[a + 2]);
      const next = twins[h] < 0 ? -1 : (twins[h] / 3) | 0;
      if (inPatch.has(next)) continue;
      const across = next < 0 ? -1 : 3 * triangles[3 * next + ((twins[h] + 2) % 3)];
      const held = across >= 0 && faces.needs[next] === 0 && p[across + 2] < Math.min(p[a + 2], p[b + 2]);
      edges.push({ ax: p[a], ay: p[a + 1], bx: p[b], by: p[b + 1], held });
    }
  }
  return { edges, lowMm, highMm };
}

function isBridge(edges: readonly RimEdge[], bridgeMm: number): boolean {
  const length = (e: RimEdge): number => Math.hypot(e.bx - e.ax, e.by - e.ay);
  const held = edges.filter((e) => e.held).sort((a, b) => length(b) - length(a));
  return held.slice(0, DIRECTIONS).some((e) => {
    const size = length(e);
    return size > 0 && looseShare(edges, -(e.by - e.ay) / size, (e.bx - e.ax) / size, bridgeMm) <= LOOSE_SHARE;
  });
}

/** Of the lines across the patch in direction d, the share of their length that is no span between held edges. */
function looseShare(edges: readonly RimEdge[], dx: number, dy: number, bridgeMm: number): number {
  let from = Infinity;
  let to = -Infinity;
  for (const e of edges) {
    const s = e.ax * -dy + e.ay * dx;
    from = Math.min(from, s);
    to = Math.max(to, s);
  }
  let all = 0;
  let loose = 0;
  for (let line = 0; line < LINES; line++) {
    const s = from + ((line + 0.5) / LINES) * (to - from);
    const ends: { at: number; held: boolean }[] = [];
    for (const e of edges) {
      const sa = e.ax * -dy + e.ay * dx - s;
      const sb = e.bx * -dy + e.by * dx - s;
      if (sa < 0 === sb < 0) continue;
      const share = sa / (sa - sb);
      const x = e.ax + share * (e.bx - e.ax);
      const y = e.ay + share * (e.by - e.ay);
      ends.push({ at: x * dx + y * dy, held: e.held });
    }
    ends.sort((a, b) => a.at - b.at);
    for (let k = 0; k + 1 < ends.length; k += 2) {
      const span = ends[k + 1].at - ends[k].at;
      all += span;
      if (!ends[k].held || !ends[k + 1].held || span > bridgeMm * (1 + 1e-6)) loose += span;
    }
  }
  return all === 0 ? 1 : loose / all;
}
