import { formatLength } from '@stonehand/base';
import type { FitVerdict, Plan, UnitsShown, Vec3 } from '@stonehand/model';
import { num } from './svg.ts';
import { sizeText } from './words.ts';

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
}>;

/** The plan's verdicts as rows: parts that fit nowhere first, then those to split, tip, turn; ties in the plan's order. */
export function fitRows(plan: FitFacts): FitRow[] {
  const byPart = new Map<string, FitVerdict[]>();
  for (const fit of plan.fits) {
    const row = byPart.get(fit.partId);
    if (row === undefined) byPart.set(fit.partId, [fit]);
    else row.push(fit);
  }
  const reading = new Map(plan.readings.map((r) => [r.file, r]));
  const rows = [...byPart].map(([partId, verdicts], at) => {
    const part = plan.parts.find((p) => p.id === partId);
    const box = part === undefined ? undefined : reading.get(part.meshFile)?.boxMm;
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
      return fit.turnDeg === undefined ? 'turned' : `turned ${num(fit.turnDeg, 0)}°`;
    case 'tipped':
      return 'tipped';
    case 'split':
      return fit.pieces === undefined ? 'split' : `${fit.pieces} pieces`;
    case 'no':
      return 'does not fit';
  }
}

/** By how much it does not fit: `short by 29 mm in x`. Empty when it fits. */
export function overText(overMm: Vec3 | undefined, units: UnitsShown): string {
  if (overMm === undefined) return '';
  const over = (['x', 'y', 'z'] as const).flatMap((axis, i) =>
    overMm[i]! > 0.05
      ? [`${units === 'US' ? formatLength(overMm[i]!, units) : `${sizeText([overMm[i]!])} mm`} in ${axis}`]
      : [],
  );
  return over.length === 0 ? '' : `short by ${over.join(', ')}`;
}

function whyText(plan: FitFacts, verdicts: readonly FitVerdict[]): string {
  const said: string[] = [];
  for (const fit of verdicts) {
    const over = overText(fit.overMm, plan.unitsShown);
    const printer = plan.printers.find((p) => p.id === fit.printerId)?.name ?? fit.printerId;
    const scale =
      fit.scaleThatFits !== undefined && fit.scaleThatFits < 1
        ? `; whole at ${(Math.floor(fit.scaleThatFits * 1000) / 1000).toFixed(3)} scale (bores shrink too)`
        : '';
    const why = [fit.refused ?? '', over, fit.why ?? ''].filter((text) => text !== '').join(', ');
    if (why !== '' || scale !== '') said.push(`${printer}: ${why}${why === '' ? scale.slice(2) : scale}`);
  }
  // The same reason for several printers is said once.
  const merged = new Map<string, string[]>();
  for (const line of said) {
    const [printer, why] = [line.slice(0, line.indexOf(': ')), line.slice(line.indexOf(': ') + 2)];
    merged.set(why, [...(merged.get(why) ?? []), printer]);
  }
  return [...merged].map(([why, printers]) => `${printers.join(', ')}: ${why}`).join('. ');
}
