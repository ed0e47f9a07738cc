import type { Mesh, Vec3 } from '@stonehand/model';

/** One rim of a hole: where the surface ends. */
export type HoleLoop = Readonly<{
  /** half-edges along the rim, each ending where the next begins; the missing surface is on their other side */
  halfEdges: readonly number[];
  /** false where the rim ends at a fold or an edge of several triangles instead of coming back */
  closed: boolean;
  /** in the mesh's numbers */
  length: number;
  /** middle of the rim's corners, with the mesh's offset */
  at: Vec3;
}>;

/**
 * The rims of all holes, walked round each vertex through the surface, so that two holes that meet in a vertex stay apart.
 * Edges with one triangle only; time linear in half-edges.
 * @param twins of halfEdgeTwins(mesh)
 */
export function holeLoops(mesh: Mesh, twins: Int32Array): readonly HoleLoop[] {
  const { triangles } = mesh;
  const rim = rimHalfEdges(mesh, twins);
  const done = new Set<number>();
  const loops: HoleLoop[] = [];
  // Chains first from where nothing leads to them, so that an open chain is not cut in two.
  const follows = new Map<number, number>();
  for (const h of rim) follows.set(h, nextAlongRim(triangles, twins, h));
  const led = new Set(follows.values());
  const starts = [...rim].filter((h) => !led.has(h));
  for (const start of [...starts, ...rim]) {
    if (done.has(start)) continue;
    const halfEdges: number[] = [];
    let h = start;
    while (rim.has(h) && !done.has(h)) {
      done.add(h);
      halfEdges.push(h);
      h = follows.get(h)!;
    }
    loops.push({ halfEdges, closed: h === start, ...placeOf(mesh, halfEdges) });
  }
  return loops;
}

/** Half-edges whose edge has no other triangle, in rising order. */
function rimHalfEdges({ positions, triangles }: Mesh, twins: Int32Array): ReadonlySet<number> {
  const single = new Map<number, number>(); // edge → half-edge, −1 when there are several
  const count = positions.length / 3;
  const atRim = new Uint8Array(count);
  for (let h = 0; h < twins.length; h++) {
    if (twins[h] >= 0) continue;
    const key = edgeKey(triangles, h, count);
    single.set(key, single.has(key) ? -1 : h);
    atRim[triangles[h]] = 1;
    atRim[triangles[next(h)]] = 1;
  }
  // An edge of three triangles leaves one without a twin; it is no rim.
  for (let h = 0; h < twins.length && single.size > 0; h++) {
    if (twins[h] < 0 || atRim[triangles[h]] === 0 || atRim[triangles[next(h)]] === 0) continue;
    single.delete(edgeKey(triangles, h, count));
  }
  return new Set([...single.values()].filter((h) => h >= 0).sort((a, b) => a - b));
}

function edgeKey(triangles: Uint32Array, h: number, count: number): number {
  const a = triangles[h];
  const b = triangles[next(h)];
  return a < b ? a * count + b : b * count + a;
}

/** Turns round the end of h through the surface to the next half-edge without a twin. */
function nextAlongRim(triangles: Uint32Array, twins: Int32Array, h: number): number {
  let g = next(h);
  for (let steps = 0; twins[g] >= 0 && steps < triangles.length; steps++) g = next(twins[g]);
  return g;
}

function next(h: number): number {
  return h % 3 === 2 ? h - 2 : h + 1;
}

function placeOf(
  { positions: p, triangles, originMm }: Mesh,
  halfEdges: readonly number[],
): { length: number; at: Vec3 } {
  const sum = [0, 0, 0];
  let length = 0;
  for (const h of halfEdges) {
    const a = 3 * triangles[h];
    const b = 3 * triangles[next(h)];
    for (let k = 0; k < 3; k++) sum[k] += p[a + k];
    length += Math.hypot(p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]);
  }
  const along = (k: number): number => sum[k] / halfEdges.length + originMm[k];
  return { length, at: [along(0), along(1), along(2)] };
}
