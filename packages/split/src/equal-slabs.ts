import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { cutInTwo } from './cut-in-two.ts';
import { pieceName } from './cut-mesh.ts';
import { AXES, type Bed, extentAlong } from './fits.ts';
import { type Ground, judge, type Part } from './judge.ts';
import type { Plane } from './plane.ts';
import type { PoseRecipe } from './quick-pose.ts';

/** Tried in turn before a number is taken from the lengths. */
const FEW = 6;

/**
 * The plain rule, for comparison: the longest side of the box in equal slabs, as few as fit; where no few do, as many as the
 * longest side of a bed asks for, and each slab that does not fit is treated in the same way.
 * @returns undefined when it comes to more than `most` pieces or a cut cannot be capped
 */
export function slabPlanes(
  mesh: Mesh,
  beds: readonly Bed[],
  { recipe, brimMm = 0, most = 64 }: Readonly<{ recipe: PoseRecipe; brimMm?: number; most?: number }>,
): Plane[] | undefined {
  const ground: Ground = { beds, brimMm, recipe };
  return longestInSlabs(judge(mesh, [], ground), ground, most);
}

export function longestInSlabs(whole: Part, ground: Ground, most: number): Plane[] | undefined {
  let parts: Part[] = [whole];
  const planes: Plane[] = [];
  for (;;) {
    const at = parts.findIndex(({ pose }) => pose === undefined);
    if (at < 0) return planes;
    const slabs = slabsOf(parts[at], ground);
    if (slabs === undefined || parts.length + slabs.parts.length > most) return undefined;
    slabs.offsetsMm.forEach((offsetMm, i) => {
      const name = parts.length + i > 1 ? { on: pieceName(at + i) } : {};
      planes.push({ normal: slabs.normal, offsetMm, ...name });
    });
    parts = [...parts.slice(0, at), ...slabs.parts, ...parts.slice(at + 1)];
  }
}

type CutSlabs = Readonly<{ normal: Plane['normal']; offsetsMm: readonly number[]; parts: readonly Part[] }>;

function slabsOf(part: Part, ground: Ground): CutSlabs | undefined {
  const spans = AXES.map((axis) => extentAlong(part.corners, axis));
  const lengths = spans.map(([low, high]) => high - low);
  const axis = lengths.indexOf(Math.max(...lengths));
  const cutInto = (count: number): CutSlabs | undefined => {
    const from = spans[axis][0] + part.mesh.originMm[axis];
    const offsetsMm = Array.from({ length: count - 1 }, (_, i) => from + (lengths[axis] * (i + 1)) / count);
    const parts = cutAt(part.mesh, AXES[axis], offsetsMm, ground);
    return parts === undefined ? undefined : { normal: AXES[axis], offsetsMm, parts };
  };
  for (let count = 2; count <= FEW; count++) {
    const slabs = cutInto(count);
    if (slabs?.parts.every(({ pose }) => pose !== undefined)) return slabs;
  }
  return cutInto(Math.max(2, Math.ceil(lengths[axis] / longestSideMm(ground.beds))));
}

function cutAt(mesh: Mesh, normal: Plane['normal'], offsetsMm: readonly number[], ground: Ground): Part[] | undefined {
  const planes = offsetsMm.map((offsetMm): Plane => ({ normal, offsetMm }));
  const parts: Part[] = [];
  let rest = mesh;
  try {
    for (const plane of planes) {
      const { below, above } = cutInTwo(rest, plane);
      if (below === undefined || above === undefined) return undefined;
      parts.push(judge(below, planes, ground));
      rest = above;
    }
  } catch (error) {
    if (error instanceof StonehandError && error.code === 'GEOMETRY_FAILED') return undefined;
    throw error;
  }
  return [...parts, judge(rest, planes, ground)];
}

function longestSideMm(beds: readonly Bed[]): number {
  return Math.max(
    ...beds.flatMap(({ usable, heightMm }) => {
      const xs = usable.map((p) => p[0]);
      const ys = usable.map((p) => p[1]);
      return [Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys), heightMm];
    }),
  );
}

/** Cuts square to the axes into boxes none of which is larger than a bed's: crude, but sure to fit. */
export function gridPlanes(whole: Part): Plane[] {
  const { originMm: o } = whole.mesh;
  return AXES.flatMap((normal, d) => {
    const [low, high] = extentAlong(whole.corners, normal);
    const count = whole.grid.counts[d];
    return Array.from({ length: count - 1 }, (_, i) => ({
      normal,
      offsetMm: low + o[d] + ((high - low) * (i + 1)) / count,
    }));
  });
}
