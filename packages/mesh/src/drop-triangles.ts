import type { Mesh } from '@stonehand/model';
import { isCollapsed } from './bodies.ts';

export type Dropped = Readonly<{ mesh: Mesh; dropped: number }>;

/** Without the triangles that have two corners on one vertex; what lies beside them then meets directly. */
export function dropCollapsed(mesh: Mesh): Dropped {
  return without(mesh, (t) => isCollapsed(mesh.triangles, 3 * t));
}

/**
 * Without copies: of triangles with the same three corners one stays where the surface needs it, none where each of its
 * edges has two or more other triangles already or none at all: then it is a wall inside a body, or a sheet.
 */
export function dropCopies(mesh: Mesh): Dropped {
  const groups = copies(mesh);
  if (groups.length === 0) return { mesh, dropped: 0 };
  const others = trianglesPerEdge(mesh, groups);
  const gone = new Set<number>();
  for (const group of groups) {
    const free = [0, 1, 2].map((k) => others.get(edgeKey(mesh, 3 * group[0] + k))! - group.length);
    const kept = free.every((count) => count % 2 === 0) ? -1 : majority(mesh, group);
    for (const t of group) if (t !== kept) gone.add(t);
  }
  return without(mesh, (t) => gone.has(t));
}

function without(mesh: Mesh, isGone: (t: number) => boolean): Dropped {
  const { triangles } = mesh;
  const kept = new Uint32Array(triangles.length);
  let n = 0;
  for (let h = 0; h < triangles.length; h += 3) {
    if (isGone(h / 3)) continue;
    kept[n] = triangles[h];
    kept[n + 1] = triangles[h + 1];
    kept[n + 2] = triangles[h + 2];
    n += 3;
  }
  if (n === triangles.length) return { mesh, dropped: 0 };
  return { mesh: { ...mesh, triangles: kept.slice(0, n) }, dropped: (triangles.length - n) / 3 };
}

/** Triangles with the same corners, in groups of two and more, in the order of their first ones. */
function copies({ positions, triangles }: Mesh): readonly (readonly number[])[] {
  const count = positions.length / 3;
  const byTwoCorners = new Map<number, number[]>();
  const groups: number[][] = [];
  for (let h = 0; h < triangles.length; h += 3) {
    if (isCollapsed(triangles, h)) continue;
    const [low, mid] = sortedCorners(triangles, h);
    const key = low * count + mid;
    const list = byTwoCorners.get(key);
    if (list === undefined) byTwoCorners.set(key, [h / 3]);
    else list.push(h / 3);
  }
  for (const list of byTwoCorners.values()) {
    if (list.length < 2) continue;
    const byThird = new Map<number, number[]>();
    for (const t of list) {
      const third = sortedCorners(triangles, 3 * t)[2];
      byThird.set(third, [...(byThird.get(third) ?? []), t]);
    }
    for (const group of byThird.values()) if (group.length > 1) groups.push(group);
  }
  return groups.sort((a, b) => a[0] - b[0]);
}

function sortedCorners(triangles: Uint32Array, h: number): readonly [number, number, number] {
  const a = triangles[h];
  const b = triangles[h + 1];
  const c = triangles[h + 2];
  const low = Math.min(a, b, c);
  const high = Math.max(a, b, c);
  return [low, a + b + c - low - high, high];
}

function trianglesPerEdge(mesh: Mesh, groups: readonly (readonly number[])[]): ReadonlyMap<number, number> {
  const counts = new Map<number, number>();
  for (const [first] of groups) for (let k = 0; k < 3; k++) counts.set(edgeKey(mesh, 3 * first + k), 0);
  for (let h = 0; h < mesh.triangles.length; h++) {
    if (isCollapsed(mesh.triangles, h - (h % 3))) continue;
    const key = edgeKey(mesh, h);
    const count = counts.get(key);
    if (count !== undefined) counts.set(key, count + 1);
  }
  return counts;
}

function edgeKey({ positions, triangles }: Mesh, h: number): number {
  const a = triangles[h];
  const b = triangles[h % 3 === 2 ? h - 2 : h + 1];
  return Math.min(a, b) * (positions.length / 3) + Math.max(a, b);
}

/** The first triangle of the facing that most of the group have; of a tie, the first. */
function majority({ triangles }: Mesh, group: readonly number[]): number {
  const isEven = (t: number): boolean => {
    const [low, mid] = sortedCorners(triangles, 3 * t);
    const at = triangles.indexOf(low, 3 * t);
    return triangles[at % 3 === 2 ? at - 2 : at + 1] === mid;
  };
  const even = group.filter(isEven);
  const odd = group.filter((t) => !isEven(t));
  if (even.length === odd.length) return group[0];
  return even.length > odd.length ? even[0] : odd[0];
}
