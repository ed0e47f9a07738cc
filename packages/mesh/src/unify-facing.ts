import type { Mesh } from '@stonehand/model';
import { bodiesOf, isCollapsed } from './bodies.ts';
import { pairEdges } from './half-edges.ts';
import { insideOutBodies, nestingOf } from './nesting.ts';
import { turnInsideOut } from './transform-mesh.ts';

export type Turned = Readonly<{ mesh: Mesh; turned: number }>;

/**
 * Turns triangles so that neighbours face the same way. From each patch the side with less area is turned, so that most of the
 * surface stays as it was. Where a surface has one side only (a Möbius strip) some edges stay as they are.
 */
export function unifyFacing(mesh: Mesh): Turned {
  const pairing = pairEdges(mesh);
  if (pairing.misorientedEdges === 0) return { mesh, turned: 0 };
  const across = linksWithTurn(mesh, pairing.twins);
  const { triangles } = mesh;
  const count = triangles.length / 3;
  const side = new Int8Array(count); // 0 not reached, 1 as the patch's first triangle, −1 the other way
  const turn = new Uint8Array(count);
  let turned = 0;
  for (let first = 0; first < count; first++) {
    if (side[first] !== 0 || isCollapsed(triangles, 3 * first)) continue;
    const patch = flood(first, side, pairing.twins, across);
    let balance = 0;
    for (const t of patch) balance += side[t] * areaOf(mesh, t);
    for (const t of patch) {
      if (side[t] * balance > 0 || (balance === 0 && side[t] > 0)) continue;
      turn[t] = 1;
      turned++;
    }
  }
  return turned === 0 ? { mesh, turned } : { mesh: withTurned(mesh, turn), turned };
}

/** Turns whole closed bodies that face inwards in the open; all of them together when the mesh is inside out as a whole. */
export function turnBodies(mesh: Mesh): Turned {
  const { twins } = pairEdges(mesh);
  const bodies = bodiesOf(mesh, twins);
  const nesting = nestingOf(mesh, bodies);
  const wrong = insideOutBodies(bodies, nesting);
  if (wrong.length === 0) return { mesh, turned: 0 };
  const outermost = nesting.holder.filter((holder) => holder < 0).length;
  if (wrong.length === outermost && bodies.closed.every((closed) => closed === 1)) {
    return { mesh: turnInsideOut(mesh), turned: bodies.count };
  }
  const turn = new Uint8Array(mesh.triangles.length / 3);
  for (const b of wrong) for (let i = bodies.start[b]; i < bodies.start[b + 1]; i++) turn[bodies.list[i]] = 1;
  return { mesh: withTurned(mesh, turn), turned: wrong.length };
}

/** Half-edges without a twin whose edge has one other such half-edge, running the same way. */
function linksWithTurn({ positions, triangles }: Mesh, twins: Int32Array): ReadonlyMap<number, number> {
  const count = positions.length / 3;
  const single = new Map<number, number[]>();
  for (let h = 0; h < twins.length; h++) {
    if (twins[h] >= 0) continue;
    const a = triangles[h];
    const b = triangles[h % 3 === 2 ? h - 2 : h + 1];
    const key = Math.min(a, b) * count + Math.max(a, b);
    single.set(key, [...(single.get(key) ?? []), h]);
  }
  const links = new Map<number, number>();
  for (const list of single.values()) {
    if (list.length !== 2) continue;
    links.set(list[0], list[1]);
    links.set(list[1], list[0]);
  }
  return links;
}

function flood(
  first: number,
  side: Int8Array,
  twins: Int32Array,
  across: ReadonlyMap<number, number>,
): readonly number[] {
  const patch = [first];
  side[first] = 1;
  for (let i = 0; i < patch.length; i++) {
    const t = patch[i];
    for (let h = 3 * t; h < 3 * t + 3; h++) {
      const straight = twins[h] >= 0;
      const g = straight ? twins[h] : across.get(h);
      if (g === undefined) continue;
      const u = (g - (g % 3)) / 3;
      if (side[u] !== 0) continue;
      side[u] = straight ? side[t] : -side[t];
      patch.push(u);
    }
  }
  return patch;
}

function areaOf({ positions: p, triangles }: Mesh, t: number): number {
  const a = 3 * triangles[3 * t];
  const b = 3 * triangles[3 * t + 1];
  const c = 3 * triangles[3 * t + 2];
  const u = [0, 1, 2].map((k) => p[b + k] - p[a + k]);
  const v = [0, 1, 2].map((k) => p[c + k] - p[a + k]);
  return Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
}

function withTurned(mesh: Mesh, turn: Uint8Array): Mesh {
  const triangles = mesh.triangles.slice();
  for (let t = 0; t < turn.length; t++) {
    if (turn[t] === 0) continue;
    triangles[3 * t + 1] = mesh.triangles[3 * t + 2];
    triangles[3 * t + 2] = mesh.triangles[3 * t + 1];
  }
  return { ...mesh, triangles };
}
