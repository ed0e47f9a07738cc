import type { FitVerdict, Pose, Printer, Recipe, Ring, Vec3 } from '@stonehand/model';
import { fitHull, type HullFit } from './fit-hull.ts';
import { FIT_SLACK_MM } from './fit-rectangle.ts';

/** A pose with the hull of its shadow (shadowHull), and the shadow's true outer rings where they are known. */
export type PosedHull = Readonly<{ pose: Pose; hullXY: Float64Array; outline?: readonly Ring[] }>;

/**
 * Whether a part fits one printer, and how: in its first pose as it lies, in its first pose turned about z, in another
 * pose ("tipped"), or not, with what is missing where least is and the scale at which it would go in whole.
 * @param poses best first; the first is the one meant
 * @param printer usable is the plate less its margin; the recipe's brim is taken off that
 */
export function fitVerdict(partId: string, poses: readonly PosedHull[], printer: Printer, recipe: Recipe): FitVerdict {
  let withoutBrim = false;
  let best: { fit: HullFit; pose: Pose; scale: number } | undefined;
  for (const [index, { pose, hullXY, outline = [] }] of poses.entries()) {
    const fit = fitHull(hullXY, printer.usable, { brimMm: recipe.brimMm, keepOut: printer.keepOut, outline });
    const common = { partId, printerId: printer.id, poseId: pose.id };
    if (fit.fits && pose.heightMm <= printer.heightMm + FIT_SLACK_MM) {
      const turn = fit.turnDeg === 0 ? {} : { turnDeg: fit.turnDeg };
      if (index > 0) return { ...common, verdict: 'tipped', ...turn, why: pose.reason };
      return { ...common, verdict: fit.turnDeg === 0 ? 'asIs' : 'turned', ...turn };
    }
    withoutBrim ||=
      recipe.brimMm > 0 &&
      pose.heightMm <= printer.heightMm + FIT_SLACK_MM &&
      fitHull(hullXY, printer.usable, { keepOut: printer.keepOut, outline }).fits;
    // A keep-out area does not shrink with the part, so its scale is an upper bound only.
    const scale = Math.min(fit.scaleThatFits, printer.heightMm / pose.heightMm);
    if (best === undefined || scale > best.scale * (1 + 1e-9)) best = { fit, pose, scale };
  }
  if (best === undefined) return { partId, printerId: printer.id, verdict: 'no', why: 'no pose was given' };
  const high = Math.max(0, best.pose.heightMm - printer.heightMm);
  const overMm: Vec3 = [best.fit.overMm[0], best.fit.overMm[1], high];
  const common = {
    partId,
    printerId: printer.id,
    verdict: 'no',
    poseId: best.pose.id,
    turnDeg: best.fit.turnDeg,
    ...(withoutBrim && { fitsWithoutBrim: true }),
  } as const;
  if (best.scale >= 1) return { ...common, overMm, why: 'a kept-out area of the plate is in the way' };
  return { ...common, overMm, scaleThatFits: best.scale, why: whyNot(overMm) };
}

function whyNot(overMm: Vec3): string {
  const words = ['x', 'y', 'z'].flatMap((axis, k) =>
    overMm[k] > FIT_SLACK_MM ? [`${overMm[k] < 10 ? overMm[k].toFixed(1) : overMm[k].toFixed(0)} mm in ${axis}`] : [],
  );
  return words.length === 0
    ? 'the outline does not go into the shape of the plate'
    : `too large by ${words.join(', ')}`;
}
