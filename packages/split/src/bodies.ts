import type { Mesh } from '@stonehand/model';

/** Number of bodies that hang together by vertices, and for each triangle its body, numbered in the order of their first triangle. */
export function bodiesOf(mesh: Mesh): { count: number; bodyOfTriangle: Uint32Array } {
  const { triangles } = mesh;
  const parent = new Int32Array(mesh.positions.length / 3);
  for (let v = 0; v < parent.length; v++) parent[v] = v;
  for (let t = 0; t < triangles.length; t += 3) {
    join(parent, triangles[t], triangles[t + 1]);
    join(parent, triangles[t], triangles[t + 2]);
  }
  const number = new Map<number, number>();
  const bodyOfTriangle = new Uint32Array(triangles.length / 3);
  for (let t = 0; t < bodyOfTriangle.length; t++) {
    const root = rootOf(parent, triangles[3 * t]);
    if (!number.has(root)) number.set(root, number.size);
    bodyOfTriangle[t] = number.get(root) ?? 0;
  }
  return { count: number.size, bodyOfTriangle };
}

/** Each body as its own mesh. A cavity counts as a body of its own by this measure, so use it only where none is closed in. */
export function separateBodies(mesh: Mesh): Mesh[] {
  const { count, bodyOfTriangle } = bodiesOf(mesh);
  if (count <= 1) return [mesh];
  return Array.from({ length: count }, (_, body) => {
    const name = new Int32Array(mesh.positions.length / 3).fill(-1);
    const positions: number[] = [];
    const triangles: number[] = [];
    for (let i = 0; i < mesh.triangles.length; i++) {
      if (bodyOfTriangle[(i / 3) | 0] !== body) continue;
      const v = mesh.triangles[i];
      if (name[v] < 0) {
        name[v] = positions.length / 3;
        positions.push(mesh.positions[3 * v], mesh.positions[3 * v + 1], mesh.positions[3 * v + 2]);
      }
      triangles.push(name[v]);
    }
    return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: mesh.originMm };
  });
}

function rootOf(parent: Int32Array, v: number): number {
  let root = v;
  while (parent[root] !== root) root = parent[root];
  for (let w = v; parent[w] !== root; ) {
    const next = parent[w];
    parent[w] = root;
    w = next;
  }
  return root;
}

function join(parent: Int32Array, a: number, b: number): void {
  const ra = rootOf(parent, a);
  const rb = rootOf(parent, b);
  if (ra !== rb) parent[Math.max(ra, rb)] = Math.min(ra, rb);
}
