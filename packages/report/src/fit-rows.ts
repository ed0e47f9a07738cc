import { formatLength } from '@stonehand/base';
import type { FitVerdict, Plan, Pose, SupportCause, UnitsShown, Vec3 } from '@stonehand/model';
import { readingOfPart } from './part-findings.ts';
import { shortPrinterName } from './plan-names.ts';
import { num } from './svg.ts';
import { listWords, minus } from './words.ts';

/** What the rows are made of; a whole plan is one of these. */
export type FitFacts = Pick<Plan, 'fits' | 'readings' | 'parts' | 'printers' | 'unitsShown'>;

const ORDER = ['asIs', 'turned', 'tipped', 'split', 'no'] as const;

/** One part against every printer, for a table; worst first. */
export type FitRow = Readonly<{
  partId: string;
  name: string;
  sizeMm?: Vec3;
  verdicts: readonly FitVerdict[];
  why: string;
  /** support of the best way up, grams of plastic */
  supportG?: number;
  smallestBedMm?: Vec3;
  causes?: readonly SupportCause[];
  /** whole, but leaning, on printers that no ordinary way fits */
  leaning?: readonly Readonly<{ printerId: string; pose: Pose }>[];
}>;

/** The plan's verdicts as rows: parts that fit nowhere first, then those to split, tip, turn; ties in the plan's order. */
export function fitRows(plan: FitFacts): FitRow[] {
  const byPart = new Map<string, FitVerdict[]>();
  for (const fit of plan.fits) {
    const row = byPart.get(fit.partId);
    if (row === undefined) byPart.set(fit.partId, [fit]);
    else row.push(fit);
  }
  const rows = [...byPart].map(([partId, verdicts], at) => {
    const part = plan.parts.find((p) => p.id === partId);
    const box = part === undefined ? undefined : readingOfPart(plan.readings, part)?.boxMm;
    const sizeMm =
      box === undefined
        ? undefined
        : ([box.max[0] - box.min[0], box.max[1] - box.min[1], box.max[2] - box.min[2]] as const);
    return {
      at,
      row: {
        partId,
        name: part?.name ?? partId,
        ...(sizeMm === undefined ? {} : { sizeMm }),
        verdicts,
        why: whyText(plan, verdicts),
      },
    };
  });
  rows.sort((a, b) => trouble(b.row.verdicts) - trouble(a.row.verdicts) || a.at - b.at);
  return rows.map(({ row }) => row);
}

/** The easiest verdict counts first, then the sum over printers. */
function trouble(verdicts: readonly FitVerdict[]): number {
  const ranks = verdicts.map((v) => (v.refused === undefined ? ORDER.indexOf(v.verdict) : ORDER.length));
  return Math.min(...ranks) * 100 + ranks.reduce((sum, r) => sum + r, 0);
}

/** A verdict in a word or two: `as is`, `turned 45°`, `tipped`, `2 pieces`, `does not fit`, `refused` (by material, temperature or layer height). */
export function verdictText(fit: FitVerdict): string {
  if (fit.refused !== undefined) return 'refused';
  switch (fit.verdict) {
    case 'asIs':
      return 'as is';
    case 'turned':
      return fit.turnDeg === undefined ? 'turned' : `turned ${minus(num(fit.turnDeg, 0))}°`;
    case 'tipped':
      return 'tipped';
    case 'split':
      return fit.pieces === undefined ? 'split' : `${fit.pieces} pieces`;
    case 'no':
      return 'does not fit';
  }
}

/** By how much it does not fit: `short by 80 mm in x and y, 75 mm in z`. Empty when it fits. */
export function overText(overMm: Vec3 | undefined, units: UnitsShown): string {
  if (overMm === undefined) return '';
  const axesOf = new Map<string, string[]>();
  (['x', 'y', 'z'] as const).forEach((axis, i) => {
    if (!(overMm[i]! > 0)) return;
    const much =
      units === 'US' ? formatLength(overMm[i]!, units) : overMm[i]! < 0.05 ? HAIR : `${shortBy(overMm[i]!)} mm`;
    axesOf.set(much, [...(axesOf.get(much) ?? []), axis]);
  });
  const over = [...axesOf].map(([much, axes]) => `${much} in ${listWords(axes)}`);
  return over.length === 0 ? '' : `short by ${over.join(', ')}`;
}

/** Tenths only where they count, never rounded to less than is missing. */
function shortBy(mm: number): string {
  return num(mm < 10 ? Math.ceil(mm * 10 - 1e-6) / 10 : Math.ceil(mm - 1e-6));
}

const HAIR = 'less than 0.1 mm';
/** Said once a row. */
const BORES = ' (bores shrink too)';
/** A part scaled further down than this is another part. */
const LEAST_SCALE = 0.8;

/** One sentence for each reason, the printers it holds for in front of it. */
function whyText(plan: FitFacts, verdicts: readonly FitVerdict[]): string {
  const printersOf = new Map<string, string[]>();
  for (const fit of verdicts) {
    const why = whyOf(plan, fit);
    if (why === '') continue;
    const printer = shortPrinterName(plan.printers.find((p) => p.id === fit.printerId) ?? { id: fit.printerId });
    printersOf.set(why, [...(printersOf.get(why) ?? []), printer]);
  }
  const all = [...printersOf].map(([why, printers]) => `${printers.join(', ')}: ${why}`).join('. ');
  const [before, ...after] = all.split(BORES);
  return after.length === 0 ? all : `${before}${BORES}${after.join('')}`;
}

function whyOf(plan: FitFacts, fit: FitVerdict): string {
  // Where it cannot be printed at all its size does not matter.
  if (fit.refused !== undefined) return fit.refused;
  const over = overText(fit.overMm, plan.unitsShown);
  const scale =
    fit.scaleThatFits !== undefined && fit.scaleThatFits < 1 && fit.scaleThatFits >= LEAST_SCALE
      ? `whole at ${(Math.floor(fit.scaleThatFits * 1000) / 1000).toFixed(3)} scale${BORES}`
      : '';
  const pose =
    fit.verdict !== 'tipped' || fit.poseId === undefined
      ? undefined
      : plan.parts.find((part) => part.id === fit.partId)?.poses.find((one) => one.id === fit.poseId);
  // The verdict's own words about size repeat what is short.
  const own = over !== '' && /^too large by /.test(fit.why ?? '') ? '' : (fit.why ?? '');
  const why = [over, pose === undefined ? own : [lieText(pose), ...poseFacts(pose)].join(', ')];
  const brim = fit.fitsWithoutBrim === true ? 'fits without its brim' : '';
  return [why.filter((text) => text !== '').join(', '), brim, scale].filter((text) => text !== '').join('; ');
}

/** Which way up, in a word or two: `rim down`. */
export function lieText(pose: Pose): string {
  return pose.reason.replace(/: (?:no support|support under )[\s\S]*$/, '');
}

/** What lying so costs: `163 cm³ of support columns`, `tips beyond 3°, use a brim`. */
export function poseFacts(pose: Pose): string[] {
  return [supportWords(pose), `tips beyond ${num(pose.tipDeg, 0)}°${pose.tipDeg < STEADY_DEG ? ', use a brim' : ''}`];
}

function supportWords({ supportMm3 }: Pose): string {
  const cm3 = supportMm3 / 1000;
  return cm3 < 0.05 ? 'no support' : `${num(cm3, cm3 < 10 ? 1 : 0)} cm³ of support columns`;
}

/** Leaning less than this is unsteady: common practice, no source. */
const STEADY_DEG = 10;
