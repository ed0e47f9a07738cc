import type { Mesh, Vec3 } from '@stonehand/model';
import { type Corners, extentAlong } from './fits.ts';
import { type CutSection, sectionOf } from './section.ts';

export type ScoredCut = Readonly<{ normal: Vec3; offsetMm: number; score: number }>;

// Choices of this package, no source: where to look, and what makes a cut worse than a longer one.
const OFFSETS = 20;
const BUCKETS = 5;
const MARGIN_SHARE = 0.06;
/** a glued seam of less area than this holds little */
const LEAST_AREA_MM2 = 60;
const MORE_LOOPS = 0.12;
/** the section is looked at again this far to either side: a face or a rib nearly in the plane shows as a jump of area */
const BESIDE_MM = 1;
const JUMP_SHARE = 0.25;
const SLIVER_FACTOR = 1.6;

/**
 * Cuts across one direction: the best of each fifth of the length, the middle, and what an even division into `parts` would cut off.
 * Score: joint line in mm, made worse by what is listed above.
 */
export function cutsAlong(mesh: Mesh, corners: Corners, normal: Vec3, parts: number): ScoredCut[] {
  const [low, high] = extentAlong(corners, normal);
  const buckets: ScoredCut[][] = Array.from({ length: BUCKETS }, () => []);
  for (let i = 0; i < OFFSETS; i++) {
    const share = MARGIN_SHARE + ((1 - 2 * MARGIN_SHARE) * (i + 0.5)) / OFFSETS;
    const offsetMm = low + share * (high - low);
    const section = sectionOf(mesh, { normal, offsetMm });
    if (section === undefined) continue;
    buckets[Math.floor((i * BUCKETS) / OFFSETS)].push({ normal, offsetMm, score: lineScore(section) });
  }
  // Looking to the sides costs two more sections, so only the two best of a bucket are looked at again.
  const even = [...new Set([1 / 2, 1 / parts, 1 - 1 / parts])].filter((share) => share > 0 && share < 1);
  const evenly = even.map((share) => scoreCut(mesh, normal, low + share * (high - low)));
  const best = buckets.flatMap((cuts) =>
    cuts
      .sort(byScore)
      .slice(0, 2)
      .map((cut) => scoreCut(mesh, cut.normal, cut.offsetMm))
      .filter((cut) => cut !== undefined)
      .sort(byScore)
      .slice(0, 1),
  );
  return [...best, ...evenly.filter((cut) => cut !== undefined)];
}

/** undefined when the plane misses the part or its outline does not close. */
export function scoreCut(mesh: Mesh, normal: Vec3, offsetMm: number): ScoredCut | undefined {
  const section = sectionOf(mesh, { normal, offsetMm });
  if (section === undefined) return undefined;
  let score = lineScore(section);
  for (const side of [-1, 1]) {
    const beside = sectionOf(mesh, { normal, offsetMm: offsetMm + side * BESIDE_MM });
    const area = beside?.areaMm2 ?? 0;
    if (Math.abs(area - section.areaMm2) > JUMP_SHARE * section.areaMm2) score *= SLIVER_FACTOR;
  }
  return { normal, offsetMm, score };
}

function lineScore(section: CutSection): number {
  const score = section.lineMm * (1 + MORE_LOOPS * Math.max(0, section.rings.length - 2));
  return section.areaMm2 < LEAST_AREA_MM2 ? score * SLIVER_FACTOR : score;
}

const byScore = (a: ScoredCut, b: ScoredCut): number => a.score - b.score || a.offsetMm - b.offsetMm;
