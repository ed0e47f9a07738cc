import type { Pose, Recipe } from '@stonehand/model';

/** What a pose is judged by; all in mm³ of plastic, or what is as bad. */
export type PoseWeights = Readonly<{
  /** per mm³ of plastic in the support */
  support: number;
  /** per mm² of mark left by support: cutting off */
  scarMm: number;
  /** per mm² of mark where it shows, besides: sanding */
  shownScarMm: number;
  /** per mm of height */
  heightMm2: number;
  /** of the part's volume, when it leans 0° before tipping, falling to none at steadyDeg */
  tippingShare: number;
  /** below this a tall print is likely to be knocked over */
  steadyDeg: number;
  /** of the part's volume, when it holds on to the plate by nothing, falling to none at holdMm2PerMm of face for each mm of height */
  lettingGoShare: number;
  holdMm2PerMm: number;
  /** of the part's volume, for each 100 mm by which a flat face on the plate is longer than warpFromMm */
  warpShare: number;
  warpFromMm: number;
  /** of the part's volume, when layers lie square to the pull that the part must bear */
  loadShare: number;
  /** as modelled stays first while it costs at most this much more: whoever modelled it may have meant it */
  asModelledShare: number;
}>;

/** Own weights; common practice, no source, except as said. */
export const POSE_WEIGHTS: PoseWeights = {
  support: 1,
  scarMm: 0.35,
  shownScarMm: 0.35,
  // About 12 s of layer changes and short moves at 5 mm³/s.
  heightMm2: 60,
  // Half of such prints are lost, and a lost one costs its plastic and its hours, say four times the plastic.
  tippingShare: 2,
  steadyDeg: 15,
  // A foot of 100 mm² under 200 mm of height holds; less is what a brim is for.
  lettingGoShare: 0.2,
  holdMm2PerMm: 0.5,
  warpShare: 0.05,
  warpFromMm: 120,
  // Layers part at about half of what they bear along (common practice, no source): such a part is printed twice.
  loadShare: 1,
  asModelledShare: 0.005,
};

/** Support alone; the rest only decides between ways that need equally little. */
export const SUPPORT_ONLY: PoseWeights = {
  ...POSE_WEIGHTS,
  scarMm: 1e-5,
  shownScarMm: 0,
  heightMm2: 1e-4,
  tippingShare: 1e-5,
  lettingGoShare: 0,
  warpShare: 0,
  asModelledShare: 0,
};

export type CostFigures = Pick<
  Pose,
  'supportMm3' | 'scarMm2' | 'shownScarMm2' | 'heightMm' | 'tipDeg' | 'plateMm2' | 'sizeMm'
>;

/** What candidatePoses ranks by: mm³ of plastic, or what is as bad. */
export function poseCost(
  { supportMm3, scarMm2, shownScarMm2 = 0, heightMm, tipDeg, plateMm2 = 0, sizeMm }: CostFigures,
  partMm3: number,
  recipe: Pick<Recipe, 'supportShare'>,
  weights: PoseWeights = POSE_WEIGHTS,
): number {
  const w = weights;
  const flat = plateMm2 > 0.1 * sizeMm[0] * sizeMm[1];
  const longMm = flat ? Math.max(sizeMm[0], sizeMm[1]) : 0;
  return (
    w.support * recipe.supportShare * supportMm3 +
    w.scarMm * scarMm2 +
    w.shownScarMm * shownScarMm2 +
    w.heightMm2 * heightMm +
    partMm3 *
      (w.tippingShare * Math.max(0, 1 - tipDeg / w.steadyDeg) +
        w.lettingGoShare * Math.max(0, 1 - plateMm2 / (w.holdMm2PerMm * heightMm)) +
        w.warpShare * Math.max(0, (longMm - w.warpFromMm) / 100))
  );
}
