import type { Mesh } from '@stonehand/model';

// Above this many half-edges at one vertex a sort is cheaper than comparing all pairs (a fan of 10 000 would cost 10⁸).
const PAIRWISE_LIMIT = 24;

/**
 * For each half-edge 3·t + k (corner k to corner k + 1 of triangle t) the half-edge of the neighbouring triangle that
 * runs the other way, or −1. An edge of four or more faces is split into pairs that bound the same wedge of material,
 * so that bodies that merely touch keep loops of their own. Triangles with a repeated corner take no part.
 */
export function pairHalfEdges(mesh: Mesh): Int32Array {
  const { triangles: tri } = mesh;
  const vertexCount = mesh.positions.length / 3;
  const halfEdges = tri.length;
  const start = new Uint32Array(vertexCount + 2);
  const list = new Uint32Array(halfEdges);
  const pair = new Int32Array(halfEdges).fill(-1);
  for (let h = 0; h < halfEdges; h += 3) {
    const a = tri[h];
    const b = tri[h + 1];
    const c = tri[h + 2];
    if (a === b || b === c || c === a) continue;
    start[Math.min(a, b) + 2]++;
    start[Math.min(b, c) + 2]++;
    start[Math.min(c, a) + 2]++;
  }
  for (let v = 2; v < vertexCount + 2; v++) start[v] += start[v - 1];
  for (let h = 0; h < halfEdges; h += 3) {
    const a = tri[h];
    const b = tri[h + 1];
    const c = tri[h + 2];
    if (a === b || b === c || c === a) continue;
    list[start[Math.min(a, b) + 1]++] = h;
    list[start[Math.min(b, c) + 1]++] = h + 1;
    list[start[Math.min(c, a) + 1]++] = h + 2;
  }
  for (let v = 0; v < vertexCount; v++) {
    const from = start[v];
    const to = start[v + 1];
    if (to - from > PAIRWISE_LIMIT) sortByFarEnd(tri, list, from, to);
    pairAtVertex(mesh, list, from, to, pair);
  }
  return pair;
}

const next = (h: number): number => (h % 3 === 2 ? h - 2 : h + 1);

function farEnd(tri: Uint32Array, h: number): number {
  const a = tri[h];
  const b = tri[next(h)];
  return Math.max(a, b);
}

function sortByFarEnd(tri: Uint32Array, list: Uint32Array, from: number, to: number): void {
  const part = list.subarray(from, to);
  part.sort((g, h) => farEnd(tri, g) - farEnd(tri, h) || g - h);
}

function pairAtVertex(mesh: Mesh, list: Uint32Array, from: number, to: number, pair: Int32Array): void {
  const tri = mesh.triangles;
  const sorted = to - from > PAIRWISE_LIMIT;
  for (let i = from; i < to; i++) {
    const h = list[i];
    if (pair[h] !== -1) continue;
    const tail = tri[h];
    const far = farEnd(tri, h);
    let match = -1;
    let others = 0;
    for (let j = i + 1; j < to; j++) {
      const g = list[j];
      if (farEnd(tri, g) !== far) {
        if (sorted) break;
        continue;
      }
      others++;
      if (match < 0 && tri[g] !== tail && pair[g] === -1) match = g;
    }
    if (others > 1) pairByWedge(mesh, list, i, to, far, pair);
    else if (match >= 0) {
      pair[h] = match;
      pair[match] = h;
    }
  }
}

/** An edge of three or more faces: each half-edge low → high takes the nearest one high → low on its material side. */
function pairByWedge(mesh: Mesh, list: Uint32Array, from: number, to: number, far: number, pair: Int32Array): void {
  const tri = mesh.triangles;
  const fan: { h: number; forward: boolean; angle: number }[] = [];
  for (let j = from; j < to; j++) {
    const h = list[j];
    if (farEnd(tri, h) !== far || pair[h] !== -1) continue;
    fan.push({ h, forward: tri[h] !== far, angle: angleAboutEdge(mesh, h, far) });
  }
  fan.sort((p, q) => p.angle - q.angle || Number(p.forward) - Number(q.forward) || p.h - q.h);
  const n = fan.length;
  // Material lies clockwise of a forward face: match like brackets, nearest first, round the edge twice.
  const waiting: number[] = [];
  for (let k = 2 * n - 1; k >= 0; k--) {
    const face = fan[k % n];
    if (pair[face.h] !== -1) continue;
    if (face.forward) {
      if (!waiting.includes(face.h)) waiting.push(face.h);
    } else {
      const mate = waiting.pop();
      if (mate === undefined) continue;
      pair[face.h] = mate;
      pair[mate] = face.h;
    }
  }
}

/** Angle of the triangle of h about its edge, counter-clockwise seen against the direction low → high. */
function angleAboutEdge(mesh: Mesh, h: number, far: number): number {
  const { positions: p, triangles: tri } = mesh;
  const low = 3 * (tri[h] === far ? tri[next(h)] : tri[h]);
  const high = 3 * far;
  const apex = 3 * tri[next(next(h))];
  const e = [p[high] - p[low], p[high + 1] - p[low + 1], p[high + 2] - p[low + 2]];
  const length = Math.hypot(e[0], e[1], e[2]) || 1;
  // A frame u, v = e × u that depends on the edge only, so that all its faces are measured from the same direction.
  const u = Math.abs(e[2]) < 0.9 * length ? [e[1], -e[0], 0] : [0, e[2], -e[1]];
  const v = [e[1] * u[2] - e[2] * u[1], e[2] * u[0] - e[0] * u[2], e[0] * u[1] - e[1] * u[0]];
  const d = [p[apex] - p[low], p[apex + 1] - p[low + 1], p[apex + 2] - p[low + 2]];
  return Math.atan2((d[0] * v[0] + d[1] * v[1] + d[2] * v[2]) / length, d[0] * u[0] + d[1] * u[1] + d[2] * u[2]);
}
