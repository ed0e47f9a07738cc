import type { FitWish, FitWord, HardwareSize, Vec3 } from '@stonehand/model';
import type { Bore } from './find-bores.ts';

/** How drawn sizes become printed ones. shrinkBy: who makes up for shrinkage; only what nobody makes up for is counted. */
export type Printing = Readonly<{
  shrinkShare: number;
  shrinkBy?: 'model' | 'slicing' | 'nobody';
  /** diameters, as the owner measured them on this printer */
  allowance?: Readonly<{ holeMm: number; outsideMm: number }>;
}>;

export type FitJudgement = Readonly<{
  /** across flats, as drawn: what a pin really meets */
  drawnMm: number;
  printedMm: number;
  itemMm: number;
  /** a side, as printed; negative: it must be pressed in */
  gapMm: number;
  wantedMm: readonly [number, number];
  /** the word for the gap as it comes out */
  is: FitWord | 'too tight';
  fits: boolean;
  /** add this to the diameter (or width across flats) as drawn to be in the middle of what is wanted; 0 where it fits */
  changeMm: number;
  /** what the printed size was taken from */
  from: string;
}>;

/**
 * Gaps a side as printed, mm. Trade tables state them as designed, for holes that come out small (check values C5 and B4: press 0.0–0.1, snug 0.1–0.2,
 * sliding 0.2–0.3, loose from 0.4, holes 0.1–0.3 small on the diameter): a tenth a side less is what is left after printing. Common practice.
 */
const WANTED: Readonly<Record<Exclude<FitWord, 'clearance'>, readonly [number, number]>> = {
  press: [-0.1, 0],
  snug: [0, 0.1],
  sliding: [0.1, 0.25],
  loose: [0.25, 0.6],
};

/** What printers do to diameters when their owner has not measured it: the middle of the published ranges (check values B4). */
export const TYPICAL_ALLOWANCE: Readonly<{ holeMm: number; outsideMm: number }> = { holeMm: 0.2, outsideMm: 0.1 };

/** Whether a bought item sits in a bore (or goes over a boss) as tightly as wanted, as the printer makes it. Shrinkage and allowance count once each. */
export function judgeFit(feature: Bore, size: HardwareSize, wish: FitWish, printing: Printing): FitJudgement {
  const inBore = wish.on === 'bore';
  const drawnMm = inBore ? feature.flatsMm : feature.cornersMm;
  const allowance = printing.allowance ?? TYPICAL_ALLOWANCE;
  const left = printing.shrinkBy === 'nobody' ? 1 - printing.shrinkShare : 1;
  const printedMm = drawnMm * left + (inBore ? -allowance.holeMm : allowance.outsideMm);
  const itemMm = inBore ? size.outsideMm : size.insideMm!;
  const gapMm = inBore ? (printedMm - itemMm) / 2 : (itemMm - printedMm) / 2;
  const wantedMm = wantedGap(wish, size);
  const fits = gapMm >= wantedMm[0] - ROUNDING_MM && gapMm <= wantedMm[1] + ROUNDING_MM;
  const middle = (wantedMm[0] + wantedMm[1]) / 2;
  const missing = (2 * (middle - gapMm)) / left;
  return {
    drawnMm,
    printedMm,
    itemMm,
    gapMm,
    wantedMm,
    is: wordFor(gapMm),
    fits,
    changeMm: fits ? 0 : inBore ? missing : -missing,
    from: fromWords(printing, inBore),
  };
}

/** A verdict does not hang on the last digit of a mesh file. */
const ROUNDING_MM = 0.005;

function wantedGap({ fit }: FitWish, size: HardwareSize): readonly [number, number] {
  if (typeof fit !== 'string') return fit.gapMm;
  if (fit !== 'clearance') return WANTED[fit];
  const [least, most] = size.clearanceMm!;
  return [(least - size.outsideMm) / 2, (most - size.outsideMm) / 2];
}

function wordFor(gapMm: number): FitJudgement['is'] {
  if (gapMm < WANTED.press[0] - ROUNDING_MM) return 'too tight';
  const words = ['press', 'snug', 'sliding'] as const;
  return words.find((word) => gapMm <= WANTED[word][1]) ?? 'loose';
}

function fromWords({ shrinkShare, shrinkBy, allowance }: Printing, inBore: boolean): string {
  const shrink =
    shrinkShare === 0
      ? ''
      : shrinkBy === 'nobody'
        ? `, ${(100 * shrinkShare).toFixed(1)} % shrinkage that nobody makes up for`
        : `, shrinkage made up for by the ${shrinkBy === 'model' ? 'model' : 'slicing program'}`;
  const by = allowance ?? TYPICAL_ALLOWANCE;
  const change = inBore ? `holes ${by.holeMm} mm small` : `outsides ${by.outsideMm} mm large`;
  return `${change} on the diameter (${allowance === undefined ? 'typical, not measured on this printer' : 'as stated for the printer'})${shrink}`;
}

/** Features further off in size than this share are not meant. */
const LIKE_ENOUGH = 0.2;
const NEAR_MM = 8;

/** The bore or boss that a wish means: of the right outline and about the right size; near its place where one is stated, else the one nearest in size. */
export function featureFor(bores: readonly Bore[], size: HardwareSize, wish: FitWish): Bore | undefined {
  const wantedMm = wish.on === 'boss' ? size.insideMm! : (size.clearanceMm?.[0] ?? size.outsideMm);
  const offBy = (bore: Bore): number => Math.abs((wish.on === 'boss' ? bore.cornersMm : bore.flatsMm) - wantedMm);
  const fitting = bores.filter(
    (bore) =>
      bore.kind === wish.on &&
      (size.shape === 'hexagon' ? bore.outline === 'hexagon' : bore.outline === 'round') &&
      offBy(bore) <= Math.max(0.6, LIKE_ENOUGH * wantedMm),
  );
  const at = wish.atMm;
  const near = at === undefined ? fitting : fitting.filter((bore) => distance(bore, at) <= NEAR_MM + bore.depthMm / 2);
  return near.sort((a, b) => offBy(a) - offBy(b) || a.triangles - b.triangles)[0];
}

function distance({ atMm }: Bore, at: Vec3): number {
  return Math.hypot(atMm[0] - at[0], atMm[1] - at[1], atMm[2] - at[2]);
}
