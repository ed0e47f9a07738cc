import { massProperties } from '@stonehand/mesh';
import type { Mesh, Vec3 } from '@stonehand/model';
import { bodiesOf } from './bodies.ts';
import { type Bed, type Corners, cornersOf, directionsOf, fitsLying, type Grid, gridOf } from './fits.ts';
import { type Patches, patchesOf } from './patches.ts';
import type { Plane } from './plane.ts';
import { type PoseRecipe, type QuickPose, quickPose } from './quick-pose.ts';

/** A piece of a state: its mesh and all that the search asks of it. */
export type Part = Readonly<{
  mesh: Mesh;
  corners: Corners;
  patches: Patches;
  centre: Vec3;
  volumeMm3: number;
  bodies: number;
  /** cheapest way up that fits a bed; absent when none does */
  pose?: QuickPose;
  /** cheapest way up, were the bed large enough */
  freePose: QuickPose;
  /** pieces that a grid of cuts would make of it, an estimate that guides the search */
  grid: Grid;
}>;

export type Ground = Readonly<{ beds: readonly Bed[]; brimMm: number; recipe: PoseRecipe }>;

/**
 * Judges one piece: fits exactly for every way up tried, which are its cuts' normals, the axes, the long directions of its
 * hull and, when none of them fits but nearly does, directions in between.
 */
export function judge(mesh: Mesh, planes: readonly Plane[], { beds, brimMm, recipe }: Ground): Part {
  const corners = cornersOf(mesh);
  const patches = patchesOf(mesh);
  const mass = massProperties(mesh);
  const o = mesh.originMm;
  const c = mass.centreMm ?? [o[0], o[1], o[2]];
  const centre: Vec3 = [c[0] - o[0], c[1] - o[1], c[2] - o[2]];
  const volumeMm3 = mass.volumeMm3;
  const grid = gridOf(corners, beds, brimMm);
  const ups = distinct([...planes.map((plane) => plane.normal), ...directionsOf(corners)]);
  const ranked = rankedPoses(ups);
  const freePose = ranked[0];
  let pose = firstThatFits(ranked);
  if (pose === undefined && grid.share < NEARLY) pose = firstThatFits(rankedPoses(BETWEEN));
  return {
    mesh,
    corners,
    patches,
    centre,
    volumeMm3,
    bodies: bodiesOf(mesh).count,
    freePose,
    grid,
    ...(pose === undefined ? {} : { pose }),
  };

  function rankedPoses(directions: readonly Vec3[]): QuickPose[] {
    const poses = directions.flatMap(([x, y, z]) =>
      [[x, y, z] as const, [-x, -y, -z] as const].map((up) =>
        quickPose(patches, corners, { centre, volumeMm3 }, up, recipe),
      ),
    );
    return poses
      .map((p, i) => ({ p, i }))
      .sort((a, b) => a.p.costMm3 - b.p.costMm3 || a.i - b.i)
      .map(({ p }) => p);
  }

  function firstThatFits(poses: readonly QuickPose[]): QuickPose | undefined {
    return poses.find(({ up }) => beds.some((bed) => fitsLying(corners, bed, up, brimMm)));
  }
}

/** A grid's share of 1 is a box that just fits; a body without corners may still go in askew. */
const NEARLY = 1.5;

const d = Math.SQRT1_2;
const t = 1 / Math.sqrt(3);
/** Between the axes: towards the edges and the corners of a cube. */
export const BETWEEN: readonly Vec3[] = [
  [d, d, 0],
  [d, -d, 0],
  [d, 0, d],
  [d, 0, -d],
  [0, d, d],
  [0, d, -d],
  [t, t, t],
  [t, t, -t],
  [t, -t, t],
  [t, -t, -t],
];

/** Directions nearer than 5° to an earlier one add nothing. */
export function distinct(directions: readonly Vec3[]): Vec3[] {
  const kept: Vec3[] = [];
  for (const v of directions) {
    if (kept.every((k) => Math.abs(k[0] * v[0] + k[1] * v[1] + k[2] * v[2]) < COS_5)) kept.push(v);
  }
  return kept;
}
const COS_5 = Math.cos((5 * Math.PI) / 180);
