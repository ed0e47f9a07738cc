import type { Recipe, Vec3 } from '@stonehand/model';
import { poseCost, poseOf } from '@stonehand/orient';
import { type Bed, directionsOf, fitsLying } from './fits.ts';
import { distinct, type Ground, type Part } from './judge.ts';
import { planeFrame } from './plane.ts';
import { quickPose } from './quick-pose.ts';
import type { State } from './state.ts';

/** Ways up measured exactly for each piece, of those that fit. */
const MEASURED = 2;
const CELLS = 128;

export type FinalCost = Readonly<{ costMm3: number; supportMm3: number; ups: readonly Vec3[] }>;

/** Pieces are shared between states, so each is measured once. */
export type Measured = Map<Part, Readonly<{ up: Vec3; cost: number; supportMm3: number }>>;

/** A state's cost with the support of its pieces measured exactly (supportNeed), and the way up each is best in. */
export function finalCost(state: State, recipe: Recipe, ground: Ground, measured: Measured): FinalCost {
  let costMm3 = state.costMm3;
  let supportMm3 = 0;
  const ups = state.parts.map((part) => {
    let best = measured.get(part);
    if (best === undefined) {
      best = likelyUps(part, state, ground)
        .map((up) => {
          const pose = poseOf(part.mesh, rotationTo(up), recipe, { mostCells: CELLS });
          return { up, cost: poseCost(pose, part.volumeMm3, recipe), supportMm3: pose.supportMm3 };
        })
        .reduce((a, b) => (b.cost < a.cost ? b : a));
      measured.set(part, best);
    }
    costMm3 += best.cost - (part.pose?.costMm3 ?? 0);
    supportMm3 += best.supportMm3;
    return best.up;
  });
  return { costMm3, supportMm3, ups };
}

function likelyUps(part: Part, { planes }: State, { beds, brimMm, recipe }: Ground): Vec3[] {
  const directions = distinct([...planes.map(({ normal }) => normal), ...directionsOf(part.corners)]);
  const ups = directions
    .flatMap(([x, y, z]): Vec3[] => [
      [x, y, z],
      [-x, -y, -z],
    ])
    .map((up) => quickPose(part.patches, part.corners, part, up, recipe))
    .sort((a, b) => a.costMm3 - b.costMm3);
  const fitting: Vec3[] = part.pose === undefined ? [] : [part.pose.up];
  for (const { up } of ups) {
    if (fitting.length >= MEASURED) break;
    if (fitting.some((known) => known.every((v, d) => v === up[d]))) continue;
    if (beds.some((bed: Bed) => fitsLying(part.corners, bed, up, brimMm))) fitting.push(up);
  }
  return fitting;
}

/** Rows: the plane's axes, then up. */
export function rotationTo(up: Vec3): number[] {
  const [u, v] = planeFrame(up);
  return [...u, ...v, ...up];
}
