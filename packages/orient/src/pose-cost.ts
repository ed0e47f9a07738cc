import type { Pose, Recipe } from '@stonehand/model';

/** What a pose costs, in mm³ of plastic or what is as bad. Own weights; common practice, no source, except as said. */
export const POSE_WEIGHTS = {
  /** per mm² of mark left by support: cutting off and sanding */
  scarMm: 0.5,
  /** per mm of height: about 12 s of layer changes and short moves at 5 mm³/s */
  heightMm2: 60,
  /**
   * Of the part's volume, when it leans 0° before tipping, falling to none at steadyDeg: half of such prints are lost, and a
   * lost one costs its plastic and its hours, say four times the plastic.
   */
  tippingShare: 2,
  /** below this a tall print is likely to be knocked over */
  steadyDeg: 15,
  /** as modelled stays first while it costs at most this much more: whoever modelled it may have meant it */
  asModelledShare: 0.05,
} as const;

/** What candidatePoses ranks by: mm³ of plastic, or what is as bad. */
export function poseCost(pose: Pose, partMm3: number, recipe: Recipe): number {
  const w = POSE_WEIGHTS;
  return (
    recipe.supportShare * pose.supportMm3 +
    w.scarMm * pose.scarMm2 +
    w.heightMm2 * pose.heightMm +
    w.tippingShare * partMm3 * Math.max(0, 1 - pose.tipDeg / w.steadyDeg)
  );
}
