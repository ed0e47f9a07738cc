import { StonehandError } from '@stonehand/base';
import { halfEdgeTwins, massProperties } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { type ConvexHull, convexHull } from './convex-hull.ts';
import { farthestPoints } from './farthest-points.ts';
import { type PointBlocks, pointBlocks } from './point-blocks.ts';
import { seenFromOutside } from './seen-from-outside.ts';
import { type SurfaceSamples, surfaceSamples } from './surface-samples.ts';

/** A mesh with what every pose of it needs, computed once. Points are in the numbers of the mesh, without its origin. */
export type Subject = Readonly<{
  mesh: Mesh;
  hull: ConvexHull;
  /** the hull's corners, x, y, z */
  points: Float64Array;
  blocks: PointBlocks;
  /** those corners that are farthest in some of 120 directions, about the middle of the box: enough to compare shadows by */
  outermost: Float64Array;
  /** centre of mass of the solid; of the hull's box where the mesh encloses nothing */
  centre: Vec3;
  volumeMm3: number;
  twins: () => Int32Array;
  /** points of the surface, and which of them show */
  samples: () => SurfaceSamples;
  shows: () => Uint8Array;
  /** of the faces beyond the limit, the share that shows */
  shownShare: (rotation: readonly number[], fromVerticalDeg: number) => number;
}>;

/**
 * @param showSide unit vector out of the side that shows; without it what can be seen from outside
 * @throws StonehandError MESH_EMPTY when there is no triangle
 */
export function subjectOf(mesh: Mesh, showSide?: Vec3): Subject {
  if (mesh.triangles.length === 0) {
    throw new StonehandError('MESH_EMPTY', 'a way up was asked for a mesh without triangles', 'Leave this part out.');
  }
  const hull = convexHull(mesh.positions);
  const points = new Float64Array(3 * hull.vertices.length);
  hull.vertices.forEach((v, i) => {
    for (let k = 0; k < 3; k++) points[3 * i + k] = mesh.positions[3 * v + k];
  });
  const mass = massProperties(mesh);
  const { min, max } = mass.boxMm;
  const middle: Vec3 = [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2];
  const c = mass.volumeMm3 > 0 ? (mass.centreMm ?? middle) : middle;
  const o = mesh.originMm;
  let twins: Int32Array | undefined;
  let made: SurfaceSamples | undefined;
  let shown: Uint8Array | undefined;
  const samples = (): SurfaceSamples => {
    made ??= surfaceSamples(mesh, SAMPLES);
    return made;
  };
  const shows = (): Uint8Array => {
    shown ??= showSide === undefined ? seenFromOutside(samples()) : facing(samples(), showSide);
    return shown;
  };
  return {
    mesh,
    hull,
    points,
    blocks: pointBlocks(points),
    outermost: farthestPoints(points, 120).map((v, i) => v - (middle[i % 3] - o[i % 3])),
    centre: [c[0] - o[0], c[1] - o[1], c[2] - o[2]],
    volumeMm3: Math.abs(mass.volumeMm3),
    twins: () => {
      twins ??= halfEdgeTwins(mesh);
      return twins;
    },
    samples,
    shows,
    shownShare: (rotation, deg) => shareShown(samples(), shows(), rotation, Math.sin((deg * Math.PI) / 180)),
  };
}

/** Enough for measures within some per cent. */
const SAMPLES = 7000;
/** Faces that look within 60° of a side belong to it. */
const OF_SIDE = 0.5;

function facing({ count, nx, ny, nz }: SurfaceSamples, [x, y, z]: Vec3): Uint8Array {
  return Uint8Array.from({ length: count }, (_, i) => (nx[i] * x + ny[i] * y + nz[i] * z >= OF_SIDE ? 1 : 0));
}

function shareShown(
  { count, nx, ny, nz }: SurfaceSamples,
  shows: Uint8Array,
  r: readonly number[],
  limit: number,
): number {
  let all = 0;
  let shown = 0;
  for (let i = 0; i < count; i++) {
    const down = -(nx[i] * r[6] + ny[i] * r[7] + nz[i] * r[8]);
    if (down <= limit) continue;
    all += down;
    if (shows[i] === 1) shown += down;
  }
  return all === 0 ? 0 : shown / all;
}
