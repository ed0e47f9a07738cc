import { type ClipPaths, type ClipperModule, type ClipperOptions, loadClipper } from './clipper-module.ts';
import { type RingReader, readHandles, ringReader, toClipper, UNITS_PER_MM } from './clipper-rings.ts';
import { mitreShift } from './mitre-offset.ts';
import { CrossingGrid, covers, nested } from './ring-checks.ts';
import { NO_RINGS, type Rings, ringCount, ringsAreaMm2 } from './rings.ts';

export type OffsetOptions = Readonly<{
  /** mitre keeps corners; round is for outlines that keep a distance */
  join?: 'mitre' | 'round';
  /** corners whose mitre would reach farther than this times the offset are bevelled */
  mitreLimit?: number;
}>;

/** Operations on areas bounded by rings. Results are clean: outer rings counter-clockwise, holes clockwise, no crossings. */
export interface Polygons {
  /** grown (delta > 0) or shrunk region; the rings must be clean */
  offset(rings: Rings, deltaMm: number, options?: OffsetOptions): Rings;
  /** the mitre offset in typed arrays where its checks hold, undefined where a clipper would be needed */
  shiftChecked(rings: Rings, deltaMm: number): Rings | undefined;
  /** the same without checks, for depths short of one that has been checked */
  shift(rings: Rings, deltaMm: number): Rings | undefined;
  /** the mitre offset by the clipper, where it is known that it will be needed */
  clippedOffset(rings: Rings, deltaMm: number): Rings;
  /** everything that any ring winds about (non-zero), whatever its direction: cleans up loops of any kind */
  union(...parts: readonly Rings[]): Rings;
  intersect(a: Rings, b: Rings): Rings;
  subtract(a: Rings, b: Rings): Rings;
  /** constrained Delaunay triangles, one ring of three points each */
  triangulate(rings: Rings): Rings;
  /** is inner wholly inside outer? no is possible where they touch */
  covers(outer: Rings, inner: Rings): boolean;
  /** are the rings free of crossings and rightly nested? */
  clean(rings: Rings): boolean;
  /** how often an offset was done in typed arrays and how often by the clipper */
  readonly counts: { readonly fast: number; readonly clipped: number };
  /** gives the clipper's memory back */
  free(): void;
}

const MITRE_LIMIT = 2;
/** Chord error of round corners. */
const ARC_MM = 0.01;
/** Rings that stay converted, so that a layer crosses the border to the clipper once; older ones are freed. */
const HELD = 64;

export async function loadPolygons(options: ClipperOptions = {}): Promise<Polygons> {
  const clipper = await loadClipper(options);
  return polygonsOver(clipper, options.readHandles === true ? readHandles : ringReader(clipper));
}

function polygonsOver(clipper: ClipperModule, read: RingReader): Polygons {
  const grid = new CrossingGrid();
  const held = new Map<Rings, ClipPaths>();
  const counts = { fast: 0, clipped: 0 };
  const empty = new clipper.Paths64();

  const inside = (rings: Rings): ClipPaths => {
    if (ringCount(rings) === 0) return empty;
    const known = held.get(rings);
    if (known !== undefined) {
      // To the young end, so that converting the other operand cannot push this one out.
      held.delete(rings);
      held.set(rings, known);
      return known;
    }
    const paths = toClipper(clipper, rings);
    hold(rings, paths);
    return paths;
  };
  const hold = (rings: Rings, paths: ClipPaths): void => {
    held.set(rings, paths);
    if (held.size <= HELD) return;
    const [oldest, oldPaths] = held.entries().next().value as [Rings, ClipPaths];
    held.delete(oldest);
    oldPaths.delete();
  };
  const outside = (paths: ClipPaths): Rings => {
    const rings = read(paths);
    if (ringCount(rings) === 0) paths.delete();
    else hold(rings, paths);
    return rings;
  };
  const operate = (type: unknown, a: Rings, b: Rings): Rings => {
    const left = inside(a);
    const right = inside(b);
    return outside(clipper.BooleanOp64(type, clipper.FillRule.NonZero, left, right));
  };
  const union = (...parts: readonly Rings[]): Rings => {
    const filled = parts.filter((part) => ringCount(part) > 0);
    if (filled.length === 0) return NO_RINGS;
    if (filled.length === 1) return outside(clipper.UnionSelf64(inside(filled[0]), clipper.FillRule.NonZero));
    return filled.reduce((all, part) => operate(clipper.ClipType.Union, all, part));
  };
  const clean = (rings: Rings): boolean => !grid.selfCrossing(rings) && nested(rings);

  const shift = (rings: Rings, deltaMm: number, limit = MITRE_LIMIT): Rings | undefined =>
    mitreShift(rings, deltaMm, limit);
  const shiftChecked = (rings: Rings, deltaMm: number, limit = MITRE_LIMIT): Rings | undefined => {
    const shifted = shift(rings, deltaMm, limit);
    // A hole that has passed its outer ring mostly shows in the area already.
    return shifted !== undefined && ringsAreaMm2(shifted) > 0 && clean(shifted) ? shifted : undefined;
  };

  const inflated = (rings: Rings, deltaMm: number, join: 'mitre' | 'round', mitreLimit: number): Rings => {
    counts.clipped++;
    const joinType = join === 'mitre' ? clipper.JoinType.Miter : clipper.JoinType.Round;
    const delta = deltaMm * UNITS_PER_MM;
    const arc = ARC_MM * UNITS_PER_MM;
    return outside(clipper.InflatePaths64(inside(rings), delta, joinType, clipper.EndType.Polygon, mitreLimit, arc));
  };

  return {
    counts,
    clippedOffset: (rings, deltaMm) => inflated(rings, deltaMm, 'mitre', MITRE_LIMIT),
    shift,
    shiftChecked,
    union,
    clean,
    covers: (outer, inner) => covers(outer, inner, grid),
    offset(rings, deltaMm, { join = 'mitre', mitreLimit = MITRE_LIMIT } = {}) {
      if (ringCount(rings) === 0 || deltaMm === 0) return rings;
      if (join === 'mitre') {
        const shifted = shiftChecked(rings, deltaMm, mitreLimit);
        if (shifted !== undefined) {
          counts.fast++;
          return shifted;
        }
      }
      return inflated(rings, deltaMm, join, mitreLimit);
    },
    intersect(a, b) {
      if (ringCount(a) === 0 || ringCount(b) === 0) return NO_RINGS;
      return operate(clipper.ClipType.Intersection, a, b);
    },
    subtract(a, b) {
      if (ringCount(a) === 0 || ringCount(b) === 0) return a;
      return operate(clipper.ClipType.Difference, a, b);
    },
    triangulate(rings) {
      if (ringCount(rings) === 0) return NO_RINGS;
      const { solution } = clipper.Triangulate64(inside(rings), true);
      const triangles = read(solution);
      solution.delete();
      return triangles;
    },
    free() {
      for (const paths of held.values()) paths.delete();
      held.clear();
    },
  };
}
