import type { Mesh } from '@stonehand/model';
import { halfEdgeTwins } from './half-edges.ts';

/**
 * The same surface with vertices of their own for parts of it that touch in a point or an edge only, and without collapsed triangles:
 * where every edge is shared by as many triangles each way, no edge has more than two then. Formats that ask for that by number
 * (3MF core 4.1) take it; a mesh that already is so comes back as the same object.
 */
export function separateFans(mesh: Mesh): Mesh {
  const { positions, triangles } = mesh;
  const twins = halfEdgeTwins(mesh);
  const fanOf = cornerFans(triangles, twins);
  const place = new Map<number, number>();
  const taken = new Uint8Array(positions.length / 3);
  const more: number[] = [];
  const out: number[] = [];
  let changed = false;
  for (let h = 0; h < triangles.length; h++) {
    const first = h - (h % 3);
    // A collapsed triangle's half-edges point at themselves or at each other.
    if (twins[first] === first || twins[first + 1] === first + 1 || twins[first + 2] === first + 2) {
      changed = true;
      continue;
    }
    const fan = fanOf[h];
    let vertex = place.get(fan);
    if (vertex === undefined) {
      const given = triangles[h];
      vertex = taken[given] === 0 ? given : positions.length / 3 + more.length;
      if (taken[given] !== 0) {
        more.push(given);
        changed = true;
      }
      taken[given] = 1;
      place.set(fan, vertex);
    }
    out.push(vertex);
  }
  if (!changed) return mesh;
  const count = positions.length + 3 * more.length;
  const grown = positions instanceof Float32Array ? new Float32Array(count) : new Float64Array(count);
  grown.set(positions);
  for (const [i, given] of more.entries()) {
    grown.set(positions.subarray(3 * given, 3 * given + 3), positions.length + 3 * i);
  }
  return { ...mesh, positions: grown, triangles: Uint32Array.from(out) };
}

/** By half-edge, a name of the fan of triangles round its first vertex that it is in: corners joined across paired edges. */
function cornerFans(triangles: Uint32Array, twins: Int32Array): Int32Array {
  const root = Int32Array.from(triangles.keys());
  const find = (h: number): number => {
    let at = h;
    while (root[at] !== at) {
      root[at] = root[root[at]];
      at = root[at];
    }
    return at;
  };
  for (let h = 0; h < twins.length; h++) {
    const twin = twins[h];
    if (twin <= h) continue;
    root[find(next(twin))] = find(h);
    root[find(twin)] = find(next(h));
  }
  return Int32Array.from(root, (_, h) => find(h));
}

function next(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}
