import type { Mesh, Vec3 } from '@stonehand/model';
import { boxOrder } from './box-order.ts';
import { visitBoxPairs } from './box-pairs.ts';
import { KERNEL_FROM_TRIANGLES, type KernelOption } from './kernel.ts';
import { visitMeetingPairsByKernel } from './meeting-pairs-kernel.ts';
import { APART, CROSSING, contactOf } from './triangle-contact.ts';
import { flatTriangles, surelyApart, trianglePlanes } from './triangle-planes.ts';

/** Pairs of triangles that meet elsewhere than along what they share. */
export type SelfIntersections = Readonly<{
  /** pairs that meet, touching ones and copies of a triangle among them */
  pairs: number;
  /**
   * pairs of which an edge passes through the inside of the other, or that overlap in one plane and face the same way: there
   * the surface goes through itself or material is counted twice
   */
  crossings: number;
  /** the first few pairs: two triangle numbers, and the middle of the box they have in common, in the mesh's numbers */
  examples: readonly Readonly<{ triangles: readonly [number, number]; crosses: boolean; at: Vec3 }>[];
  /** false when the budget ended before all pairs were compared; the counts are then a least number */
  complete: boolean;
}>;

export type SelfIntersectionOptions = Readonly<{
  /** how many places to give */
  examples?: number;
  /** how many pairs of overlapping boxes to compare before giving up; some 20 per triangle are usual */
  budgetPairs?: number;
  /** called for each pair that meets */
  onPair?: (s: number, t: number, crosses: boolean) => void;
}> &
  KernelOption;

/**
 * All pairs of triangles that have a point in common beyond the corners and edges they share, by exact predicates.
 * Triangles with two corners on one vertex are left out, and so are those without area: their neighbours carry the contact.
 */
export function selfIntersections(
  mesh: Mesh,
  { examples = 3, budgetPairs = 400_000_000, onPair, kernel }: SelfIntersectionOptions = {},
): SelfIntersections {
  const { triangles } = mesh;
  const p = new Float64Array(mesh.positions); // one kind of array, so that the loops below are compiled once
  const found: { triangles: readonly [number, number]; crosses: boolean; at: Vec3 }[] = [];
  let pairs = 0;
  let crossings = 0;
  const visit = (s: number, t: number): void => {
    const contact = contactOf(p, triangles, 3 * s, 3 * t);
    if (contact === APART) return;
    pairs++;
    if (contact === CROSSING) crossings++;
    onPair?.(s, t, contact === CROSSING);
    if (found.length < examples) {
      found.push({ triangles: [s, t], crosses: contact === CROSSING, at: middle(mesh, s, t) });
    }
  };
  const byKernel = kernel ?? triangles.length >= 3 * KERNEL_FROM_TRIANGLES;
  const complete =
    (byKernel ? visitMeetingPairsByKernel(p, triangles, budgetPairs, visit) : undefined) ??
    visitMeetingPairs(p, triangles, budgetPairs, visit);
  return { pairs, crossings, examples: found, complete };
}

/** The pairs that boxes and planes do not part, by plain loops. */
function visitMeetingPairs(
  p: Float64Array,
  triangles: Uint32Array,
  budgetPairs: number,
  visit: (s: number, t: number) => void,
): boolean {
  const planes = trianglePlanes(p, triangles);
  const sorted = boxOrder(p, triangles, flatTriangles(planes));
  const { order } = sorted;
  let left = budgetPairs;
  return visitBoxPairs(sorted, (i, j) => {
    const s = order[i];
    const t = order[j];
    if (--left < 0) return false;
    if (!surelyApart(p, triangles, planes, s, t) && !surelyApart(p, triangles, planes, t, s)) visit(s, t);
    return true;
  });
}

function middle({ positions, triangles, originMm }: Mesh, s: number, t: number): Vec3 {
  const along = (k: number): number => {
    const a = [0, 1, 2].map((i) => positions[3 * triangles[3 * s + i] + k]);
    const b = [0, 1, 2].map((i) => positions[3 * triangles[3 * t + i] + k]);
    const low = Math.max(Math.min(...a), Math.min(...b));
    return (low + Math.min(Math.max(...a), Math.max(...b))) / 2 + originMm[k];
  };
  return [along(0), along(1), along(2)];
}
