import type { Mesh, Vec3 } from '@stonehand/model';

/**
 * Boxes around triangles, halved along their longest side until LEAF triangles are left. Node i holds its box in box[6·i …];
 * an inner node's children are left[i] and right[i]; a leaf has left −1 and the triangles order[from[i]] … order[to[i] − 1].
 */
export type TriangleTree = Readonly<{
  mesh: Mesh;
  box: Float64Array;
  left: Int32Array;
  right: Int32Array;
  from: Int32Array;
  to: Int32Array;
  order: Uint32Array;
}>;

const LEAF = 6;
const STACK = 128; // depth is log2 of the triangles, for halves of equal count

export function buildTree(mesh: Mesh): TriangleTree {
  const count = mesh.triangles.length / 3;
  const nodes = Math.max(1, 2 * Math.ceil(count / Math.ceil(LEAF / 2)) + 1);
  const tree = {
    mesh,
    box: new Float64Array(6 * nodes),
    left: new Int32Array(nodes).fill(-1),
    right: new Int32Array(nodes).fill(-1),
    from: new Int32Array(nodes),
    to: new Int32Array(nodes),
    order: Uint32Array.from({ length: count }, (_, i) => i),
  };
  const middle = centres(mesh);
  let used = 1;
  tree.to[0] = count;
  const open = [0];
  while (open.length > 0) {
    const node = open.pop()!;
    const from = tree.from[node];
    const to = tree.to[node];
    const axis = boundTriangles(tree, node, middle);
    if (to - from <= LEAF || axis < 0) continue;
    const half = (from + to) >> 1;
    selectMiddle(tree.order, middle, axis, from, to - 1, half);
    tree.left[node] = used++;
    tree.right[node] = used++;
    tree.from[tree.left[node]] = from;
    tree.to[tree.left[node]] = half;
    tree.from[tree.right[node]] = half;
    tree.to[tree.right[node]] = to;
    open.push(tree.left[node], tree.right[node]);
  }
  return tree;
}

/** Nearest point of the surface: its square distance, place and triangle, in a record that is filled anew by each search. */
export type Nearest = { distance2: number; x: number; y: number; z: number; triangle: number };

/** Searches within √limit2 only; triangle is −1 when nothing is that near. */
export function nearestPoint(
  tree: TriangleTree,
  px: number,
  py: number,
  pz: number,
  out: Nearest,
  limit2: number = Number.POSITIVE_INFINITY,
): Nearest {
  out.distance2 = limit2;
  out.triangle = -1;
  if (tree.order.length === 0) return out;
  const { box, left, right, from, to, order } = tree;
  let top = 0;
  stack[top++] = 0;
  while (top > 0) {
    const node = stack[--top];
    if (boxDistance2(box, node, px, py, pz) >= out.distance2) continue;
    if (left[node] < 0) {
      for (let k = from[node]; k < to[node]; k++) nearestOnTriangle(tree.mesh, order[k], px, py, pz, out);
      continue;
    }
    // The nearer child is looked at first: it shrinks the limit for the other.
    const a = left[node];
    const b = right[node];
    const nearFirst = boxDistance2(box, a, px, py, pz) <= boxDistance2(box, b, px, py, pz);
    stack[top++] = nearFirst ? b : a;
    stack[top++] = nearFirst ? a : b;
  }
  return out;
}

const stack = new Int32Array(STACK);

/**
 * Whether a point is inside a closed mesh: how often a ray leaves the body more than it enters it. Two of three fixed slanting
 * directions decide, so that one ray through an edge does no harm.
 */
export function isInside(tree: TriangleTree, p: Vec3): boolean {
  let votes = 0;
  for (const d of DIRECTIONS) if (leavesAlong(tree, p, d) > 0) votes++;
  return votes >= 2;
}

const DIRECTIONS: readonly Vec3[] = [
  [0.8017, 0.3271, 0.5003],
  [-0.4423, 0.7411, 0.5051],
  [-0.2903, -0.6101, 0.7372],
];

function leavesAlong(tree: TriangleTree, p: Vec3, d: Vec3): number {
  const { box, left, right, from, to, order, mesh } = tree;
  let sum = 0;
  let top = 0;
  if (order.length > 0) stack[top++] = 0;
  while (top > 0) {
    const node = stack[--top];
    if (!rayMeetsBox(box, node, p, d)) continue;
    if (left[node] < 0) for (let k = from[node]; k < to[node]; k++) sum += crossing(mesh, order[k], p, d);
    else {
      stack[top++] = left[node];
      stack[top++] = right[node];
    }
  }
  return sum;
}

/** 1 when the ray leaves through the triangle's outer side, −1 when it enters, 0 when it misses (Möller & Trumbore 1997). */
function crossing({ positions: p, triangles }: Mesh, t: number, o: Vec3, d: Vec3): number {
  const a = 3 * triangles[3 * t];
  const b = 3 * triangles[3 * t + 1];
  const c = 3 * triangles[3 * t + 2];
  const ux = p[b] - p[a];
  const uy = p[b + 1] - p[a + 1];
  const uz = p[b + 2] - p[a + 2];
  const vx = p[c] - p[a];
  const vy = p[c + 1] - p[a + 1];
  const vz = p[c + 2] - p[a + 2];
  const nx = uy * vz - uz * vy;
  const ny = uz * vx - ux * vz;
  const nz = ux * vy - uy * vx;
  const along = nx * d[0] + ny * d[1] + nz * d[2];
  if (along === 0) return 0;
  const wx = o[0] - p[a];
  const wy = o[1] - p[a + 1];
  const wz = o[2] - p[a + 2];
  const reach = -(nx * wx + ny * wy + nz * wz) / along;
  if (!(reach > 0)) return 0;
  const qx = wx + reach * d[0];
  const qy = wy + reach * d[1];
  const qz = wz + reach * d[2];
  const nn = nx * nx + ny * ny + nz * nz;
  const s = ((qy * vz - qz * vy) * nx + (qz * vx - qx * vz) * ny + (qx * vy - qy * vx) * nz) / nn;
  const r = ((uy * qz - uz * qy) * nx + (uz * qx - ux * qz) * ny + (ux * qy - uy * qx) * nz) / nn;
  return s >= 0 && r >= 0 && s + r <= 1 ? Math.sign(along) : 0;
}

function rayMeetsBox(box: Float64Array, node: number, p: Vec3, d: Vec3): boolean {
  let near = 0;
  let far = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3; k++) {
    const t0 = (box[6 * node + k] - p[k]) / d[k];
    const t1 = (box[6 * node + 3 + k] - p[k]) / d[k];
    near = Math.max(near, Math.min(t0, t1));
    far = Math.min(far, Math.max(t0, t1));
  }
  return near <= far;
}

function boxDistance2(box: Float64Array, node: number, x: number, y: number, z: number): number {
  const b = 6 * node;
  const dx = x < box[b] ? box[b] - x : x > box[b + 3] ? x - box[b + 3] : 0;
  const dy = y < box[b + 1] ? box[b + 1] - y : y > box[b + 4] ? y - box[b + 4] : 0;
  const dz = z < box[b + 2] ? box[b + 2] - z : z > box[b + 5] ? z - box[b + 5] : 0;
  return dx * dx + dy * dy + dz * dz;
}

/** Nearest point on a triangle by the region it lies in (Ericson 2005, Real-Time Collision Detection, 5.1.5, from memory). */
function nearestOnTriangle(
  { positions: p, triangles }: Mesh,
  t: number,
  px: number,
  py: number,
  pz: number,
  out: Nearest,
): void {
  const a = 3 * triangles[3 * t];
  const b = 3 * triangles[3 * t + 1];
  const c = 3 * triangles[3 * t + 2];
  const ax = p[a];
  const ay = p[a + 1];
  const az = p[a + 2];
  const ux = p[b] - ax;
  const uy = p[b + 1] - ay;
  const uz = p[b + 2] - az;
  const vx = p[c] - ax;
  const vy = p[c + 1] - ay;
  const vz = p[c + 2] - az;
  const wx = px - ax;
  const wy = py - ay;
  const wz = pz - az;
  const uu = ux * ux + uy * uy + uz * uz;
  const uv = ux * vx + uy * vy + uz * vz;
  const vv = vx * vx + vy * vy + vz * vz;
  const uw = ux * wx + uy * wy + uz * wz;
  const vw = vx * wx + vy * wy + vz * wz;
  const det = uu * vv - uv * uv;
  let s = 0;
  let r = 0;
  const inS = vv * uw - uv * vw;
  const inR = uu * vw - uv * uw;
  if (det > 0 && inS >= 0 && inR >= 0 && inS + inR <= det) {
    s = inS / det;
    r = inR / det;
  } else {
    // Outside or flat: the nearest of the three sides.
    const s0 = uu > 0 ? clamp(uw / uu) : 0;
    const r0 = vv > 0 ? clamp(vw / vv) : 0;
    const ee = uu - 2 * uv + vv;
    const e0 = ee > 0 ? clamp((uu - uv - uw + vw) / ee) : 0;
    const d1 = away2(uw, vw, uu, uv, vv, s0, 0);
    const d2 = away2(uw, vw, uu, uv, vv, 0, r0);
    const d3 = away2(uw, vw, uu, uv, vv, 1 - e0, e0);
    if (d1 <= d2 && d1 <= d3) s = s0;
    else if (d2 <= d3) r = r0;
    else {
      s = 1 - e0;
      r = e0;
    }
  }
  const qx = ax + s * ux + r * vx;
  const qy = ay + s * uy + r * vy;
  const qz = az + s * uz + r * vz;
  const d2 = (px - qx) * (px - qx) + (py - qy) * (py - qy) + (pz - qz) * (pz - qz);
  if (d2 < out.distance2) {
    out.distance2 = d2;
    out.x = qx;
    out.y = qy;
    out.z = qz;
    out.triangle = t;
  }
}

/** Square distance to a + s·u + r·v, less the constant w·w. */
function away2(uw: number, vw: number, uu: number, uv: number, vv: number, s: number, r: number): number {
  return s * s * uu + 2 * s * r * uv + r * r * vv - 2 * s * uw - 2 * r * vw;
}

function clamp(v: number): number {
  return Math.min(1, Math.max(0, v));
}

function centres({ positions: p, triangles: t }: Mesh): Float64Array {
  const out = new Float64Array(t.length);
  for (let k = 0; k < t.length; k += 3) {
    for (let i = 0; i < 3; i++) out[k + i] = (p[3 * t[k] + i] + p[3 * t[k + 1] + i] + p[3 * t[k + 2] + i]) / 3;
  }
  return out;
}

/** Sets the node's box; gives the axis along which the triangles' centres spread most, −1 when they do not. */
function boundTriangles({ box, from, to, order, mesh }: TriangleTree, node: number, middle: Float64Array): number {
  const b = 6 * node;
  box.fill(Number.POSITIVE_INFINITY, b, b + 3);
  box.fill(Number.NEGATIVE_INFINITY, b + 3, b + 6);
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let k = from[node]; k < to[node]; k++) {
    const t = 3 * order[k];
    for (let i = 0; i < 3; i++) {
      for (let corner = 0; corner < 3; corner++) {
        const v = mesh.positions[3 * mesh.triangles[t + corner] + i];
        if (v < box[b + i]) box[b + i] = v;
        if (v > box[b + 3 + i]) box[b + 3 + i] = v;
      }
      const m = middle[t + i];
      if (m < low[i]) low[i] = m;
      if (m > high[i]) high[i] = m;
    }
  }
  const spread = [high[0] - low[0], high[1] - low[1], high[2] - low[2]];
  const axis = spread[0] >= spread[1] && spread[0] >= spread[2] ? 0 : spread[1] >= spread[2] ? 1 : 2;
  return spread[axis] > 0 ? axis : -1;
}

/** Rearranges order so that the element at `at` has all smaller ones before it (Hoare 1961, Find). */
function selectMiddle(
  order: Uint32Array,
  middle: Float64Array,
  axis: number,
  low: number,
  high: number,
  at: number,
): void {
  while (low < high) {
    const pivot = middle[3 * order[(low + high) >> 1] + axis];
    let i = low;
    let j = high;
    while (i <= j) {
      while (middle[3 * order[i] + axis] < pivot) i++;
      while (middle[3 * order[j] + axis] > pivot) j--;
      if (i > j) break;
      const swap = order[i];
      order[i++] = order[j];
      order[j--] = swap;
    }
    if (at <= j) high = j;
    else if (at >= i) low = i;
    else return;
  }
}
