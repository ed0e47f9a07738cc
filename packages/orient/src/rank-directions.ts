import type { Mesh, Recipe } from '@stonehand/model';
import { normalBins, roughNeed } from './normal-bins.ts';
import { LIMIT_SLACK } from './overhang-area.ts';
import { lowestAlong, pointBlocks } from './point-blocks.ts';

/** One entry a direction. */
export type DirectionFigures = Readonly<{
  /** faces beyond the limit, with those on the plate; within 0.1 % of the whole area */
  overhangMm2: Float64Array;
  /** exact */
  heightMm: Float64Array;
  /** columns from all these faces to the plate: more than is needed wherever the part lies below itself */
  boundMm3: Float64Array;
}>;

/**
 * Quick figures of many ways up, good for ranking only: faces are gathered by where they look, heights come from blocks of
 * points.
 * @param downs unit vectors that are to point at the plate, x, y, z, in mesh coordinates
 */
export function rankDirections(
  mesh: Mesh,
  downs: ArrayLike<number>,
  { overhangFromVerticalDeg }: Pick<Recipe, 'overhangFromVerticalDeg'>,
): DirectionFigures {
  const bins = normalBins(mesh);
  const blocks = pointBlocks(mesh.positions);
  const limit = Math.sin((overhangFromVerticalDeg * Math.PI) / 180) + LIMIT_SLACK;
  const count = downs.length / 3;
  const overhangMm2 = new Float64Array(count);
  const heightMm = new Float64Array(count);
  const boundMm3 = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const x = downs[3 * i];
    const y = downs[3 * i + 1];
    const z = downs[3 * i + 2];
    const lowest = lowestAlong(blocks, -x, -y, -z);
    const need = roughNeed(bins, x, y, z, lowest, limit);
    overhangMm2[i] = need.areaMm2;
    boundMm3[i] = need.volumeMm3;
    heightMm[i] = -lowestAlong(blocks, x, y, z) - lowest;
  }
  return { overhangMm2, heightMm, boundMm3 };
}
