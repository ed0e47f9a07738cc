import { formatDuration, formatLength } from '@stonehand/base';
import type { Printer } from '@stonehand/model';
import type { Bench } from './arrange.ts';
import type { Job } from './assign.ts';
import { fitAlone } from './fit-alone.ts';
import { type NestItem, shapeOfItem } from './nest-item.ts';
import { mayPrint } from './pack-plate.ts';

/** A copy with the printers that can take it, the seconds it needs on each when alone, and the turns it may lie at there. */
export type Able = Job & Readonly<{ item: NestItem; turns: ReadonlyMap<string, readonly number[]> }>;

export type SecondsFor = (copies: readonly NestItem[], printer: Printer) => number;

/** Sorts copies, by name, into those that some printer can take and those that none can, with the reason. */
export function ableCopies(
  items: readonly NestItem[],
  printers: readonly Printer[],
  bench: Bench,
  seed: number,
  seconds: SecondsFor,
): Readonly<{ able: Able[]; unplaced: { copyId: string; reason: string }[] }> {
  const able: Able[] = [];
  const unplaced: { copyId: string; reason: string }[] = [];
  const fits = new Map<string, readonly number[] | undefined>();
  const sorted = [...items].sort((a, b) => (a.copyId < b.copyId ? -1 : a.copyId > b.copyId ? 1 : 0));
  for (const item of sorted) {
    const judged = judge(item, printers, bench, seed, seconds, fits);
    if (typeof judged === 'string') unplaced.push({ copyId: item.copyId, reason: judged });
    else able.push(judged);
  }
  return { able, unplaced };
}

/** Where a copy can be printed, or in words why nowhere. */
function judge(
  item: NestItem,
  printers: readonly Printer[],
  bench: Bench,
  seed: number,
  seconds: SecondsFor,
  fits: Map<string, readonly number[] | undefined>,
): Able | string {
  const reasons: string[] = [];
  const able = new Map<string, number>();
  const turns = new Map<string, readonly number[]>();
  for (const choice of item.choices) {
    const printer = printers.find((p) => p.id === choice.printerId);
    if (printer === undefined || (item.pinned !== undefined && item.pinned !== printer.id)) continue;
    if (!mayPrint(item, printer)) {
      reasons.push(`${formatLength(item.heightMm)} high, ${printer.id} prints ${formatLength(printer.heightMm)}`);
      continue;
    }
    const durationS = seconds([item], printer);
    if (durationS > printer.longestRunS) {
      reasons.push(
        `takes ${formatDuration(durationS)} on ${printer.id}, its longest run is ${formatDuration(printer.longestRunS)}`,
      );
      continue;
    }
    const shape = shapeOfItem(bench.shapes, item);
    const key = `${bedKey(printer)} ${shape.key} ${shape.wallMm} ${item.turnsDeg?.join(',') ?? ''}`;
    if (!fits.has(key)) fits.set(key, fitAlone(item, printer, bench, seed));
    const fit = fits.get(key);
    if (fit === undefined) reasons.push(`its outline with brim fits ${printer.id} at no turn that was tried`);
    else {
      able.set(printer.id, durationS);
      turns.set(printer.id, fit);
    }
  }
  if (able.size > 0) return { item, seconds: able, family: item.family, together: item.together, turns };
  if (reasons.length > 0) return reasons.join('; ');
  if (item.pinned !== undefined) return `kept for ${item.pinned}, which is not among the printers it can go to`;
  return 'no printer at hand is among those it can go to';
}

/** Equal for printers whose plates hold the same. */
export function bedKey(printer: Printer): string {
  return JSON.stringify([printer.usable, printer.keepOut, printer.heightMm]);
}

export function choiceOf(item: NestItem, printer: Printer): NestItem['choices'][number] {
  return item.choices.find((choice) => choice.printerId === printer.id)!;
}

/** Copies of one material and recipe, groups in the order of their names: only these share a plate. */
export function groupsOf(able: readonly Able[]): Able[][] {
  const groups = new Map<string, Able[]>();
  for (const one of able) {
    const key = JSON.stringify([one.item.materialId, one.item.recipeId]);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups].sort((a, b) => (a[0] < b[0] ? -1 : 1)).map(([, group]) => group);
}

/** Copies that go together are one unit, the others are one each; order of first appearance. */
export function unitsOf(group: readonly Able[]): (readonly Able[])[] {
  const units = new Map<string, Able[]>();
  for (const one of group) {
    const key = one.item.together === undefined ? `one ${one.item.copyId}` : `all ${one.item.together}`;
    units.set(key, [...(units.get(key) ?? []), one]);
  }
  return [...units.values()];
}

/** Whether two of these copies are to be kept apart. */
export function areKeptApart(copies: readonly Able[]): boolean {
  const words = copies.flatMap(({ item }) => (item.apart === undefined ? [] : [item.apart]));
  return new Set(words).size < words.length;
}

/** Room that a copy takes with half its gap around it: area + gap · perimeter of the hull, near enough for a first cut. */
export function gappedAreaMm2(bench: Bench, item: NestItem): number {
  const shape = shapeOfItem(bench.shapes, item);
  return shape.areaMm2 + 2 * shape.marginMm * Math.sqrt(Math.PI * shape.hullAreaMm2);
}

/** An item with the turns at which it fits a printer, when they are not the usual ones. */
export function forPrinter({ item, turns }: Able, printer: Printer, bench: Bench): NestItem {
  const fit = turns.get(printer.id)!;
  return fit === bench.turnsDeg || fit === item.turnsDeg ? item : { ...item, turnsDeg: fit };
}
