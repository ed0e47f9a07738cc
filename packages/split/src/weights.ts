/**
 * What a division costs, in mm³ of plastic or what is as bad, the measure in which package orient weighs ways up.
 * Choices of this package, common practice, no source.
 */
export const SPLIT_WEIGHTS = {
  /** one piece more: a start, a seam to glue, fill and sand, a joint that may be out of true; about 30 g and an hour */
  piece: 30_000,
  /** per mm of seam that is seen, that lies on the side to show, and that is hidden */
  seenMm: 12,
  shownMm: 40,
  hiddenMm: 2,
  /** a cut through a bore, boss or pocket */
  feature: 20_000,
  /** a seam of less area than this holds little; a face or rib nearly in the plane leaves slivers: such a seam counts more */
  leastAreaMm2: 60,
  poorSeam: 1.8,
  /** a cut in a plane of symmetry: its halves mirror each other and print side by side */
  mirrorSeam: 0.5,
  /** and is worth as much as half a piece: one set-up and one way up for both */
  mirror: 15_000,
  /** a piece of less than this share of the mean is a scrap; one of nothing costs as much as two pieces */
  scrapShare: 0.25,
  scrap: 60_000,
  /** a piece more than equal slabs would make must save this share of the part's volume in support, beside its own weight and seam */
  beyondSlabsShare: 0.05,
  /** a piece that falls apart into bodies, each */
  looseBody: 60_000,
} as const;
