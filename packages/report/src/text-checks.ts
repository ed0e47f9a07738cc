import type { Contact, FitJudgement, JointCheck, Pull, StackUp, Sweep } from '@stonehand/inspect';
import type { FitWish } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { type TextOptions, textTable, wrapText } from './text-table.ts';
import { minus } from './words.ts';

/** One bought item in one part, as it is said; without `found` the part has no such bore. */
export type FitLine = Readonly<{
  partId: string;
  wish: FitWish;
  itemName: string;
  printerId: string;
  sizeFrom: string;
  found?: Readonly<{ judgement: FitJudgement; shallow?: string }>;
}>;

export type ChecksText = Readonly<{
  fits: readonly FitLine[];
  joints: readonly Readonly<{ check: JointCheck; contact?: Contact; sweep?: Sweep; why?: string }>[];
  overlaps: readonly Readonly<{ between: readonly [string, string]; contact: Contact }>[];
  stacks: readonly StackUp[];
  pulls: readonly Readonly<{ assemblyId: string; pull: Pull }>[];
}>;

/** What goes together and what does not: bought items in their bores, joints, stacks, magnets. Empty without any of them. */
export function renderChecks({ fits, joints, overlaps, stacks, pulls }: ChecksText, options: TextOptions = {}): string {
  const { width = 80 } = options;
  const blocks = [
    fitTable(fits, options),
    lines(fits.flatMap(fitRemedy), width),
    lines(
      joints.flatMap(({ check }) => check.findings.map(({ says }) => says)),
      width,
    ),
    lines(joints.flatMap(sweepLine), width),
    lines(overlapLines(overlaps), width),
    stackTable(stacks, options),
    lines(stacks.flatMap(spacerLine), width),
    lines(
      pulls.map(
        ({ assemblyId, pull }) =>
          `${assemblyId}: ${pull.itemId} lies ${pull.distanceMm.toFixed(0)} mm from a ${pull.magnetId}, which will pull it`,
      ),
      width,
    ),
  ];
  return blocks.filter((block) => block !== '').join('\n\n');
}

function fitTable(fits: readonly FitLine[], options: TextOptions): string {
  if (fits.length === 0) return '';
  const rows = fits.map(({ partId, wish, itemName, found }) => {
    const wanted = typeof wish.fit === 'string' ? wish.fit : `${mm(wish.fit.gapMm[0])} to ${mm(wish.fit.gapMm[1])}`;
    if (found === undefined) return [partId, itemName, '', '', '', wanted, 'no such bore found'];
    const { drawnMm, printedMm, gapMm, fits: good, is } = found.judgement;
    return [
      partId,
      itemName,
      mm(drawnMm),
      mm(printedMm),
      mm(gapMm),
      wanted,
      `${good ? 'fits' : `no: ${is === 'too tight' ? is : `comes out ${is}`}`}${found.shallow === undefined ? '' : '; too shallow'}`,
    ];
  });
  return textTable(
    [
      { title: 'part', wraps: true },
      { title: 'bought item', wraps: true },
      { title: 'drawn', right: true },
      { title: 'printed', right: true },
      { title: 'gap a side', right: true },
      { title: 'wanted' },
      { title: 'verdict' },
    ],
    rows,
    options,
  ).trimEnd();
}

function fitRemedy({ partId, itemName, found, sizeFrom }: FitLine): string[] {
  if (found === undefined) return [];
  const { judgement, shallow } = found;
  const out: string[] = [];
  if (!judgement.fits) {
    const more = judgement.changeMm > 0 ? 'larger' : 'smaller';
    out.push(
      `${partId}: draw it ${Math.abs(judgement.changeMm).toFixed(2)} mm ${more} across for the ${itemName} (${sizeFrom}; ${judgement.from})`,
    );
  }
  if (shallow !== undefined) out.push(`${partId}: the pocket for the ${itemName} is ${shallow}`);
  return out;
}

function sweepLine({ check, sweep, why }: ChecksText['joints'][number]): string[] {
  if (why !== undefined) return [`joint ${check.jointId}: not measured as solids: ${why}`];
  if (sweep === undefined) return [];
  const at = (value: number): string => minus(value.toFixed(1));
  if (sweep.firstContactAt === undefined)
    return [`joint ${check.jointId}: moves freely, ${mm(sweep.leastMm)} mm at the closest, at ${at(sweep.leastAt)}`];
  return [
    `joint ${check.jointId}: touches from ${at(sweep.firstContactAt)} on, ${(sweep.overlapMm3 / 1000).toFixed(2)} cm³ of overlap at ${at(sweep.overlapAt ?? sweep.leastAt)}`,
  ];
}

/** The largest; a list of all of them would bury what matters. */
const MOST_OVERLAPS = 8;

function overlapLines(overlaps: ChecksText['overlaps']): string[] {
  const more = overlaps.length - MOST_OVERLAPS;
  return [
    ...overlaps.slice(0, MOST_OVERLAPS).map(overlapLine),
    ...(more > 0 ? [`${more} more pairs overlap by less; --json lists them`] : []),
  ];
}

function overlapLine({ between, contact }: ChecksText['overlaps'][number]): string {
  const where = (contact.overlapAtMm ?? []).map((x) => minus(x.toFixed(0))).join(', ');
  return `${between.join(' and ')} fill the same ${(contact.overlapMm3 / 1000).toFixed(2)} cm³ around ${where}, and no joint says so`;
}

function stackTable(stacks: readonly StackUp[], options: TextOptions): string {
  if (stacks.length === 0) return '';
  const rows = stacks.map(({ stackId, gapMm, worstMm, likelyMm, wantedMm, fits }) => [
    stackId,
    mm(gapMm),
    `${mm(worstMm[0])} to ${mm(worstMm[1])}`,
    `${mm(likelyMm[0])} to ${mm(likelyMm[1])}`,
    `${mm(wantedMm[0])} to ${mm(wantedMm[1])}`,
    fits === 'always' ? 'fits' : fits === 'mostly' ? 'fits unless several errors meet' : 'no',
  ]);
  return textTable(
    [
      { title: 'stack', wraps: true },
      { title: 'free', right: true },
      { title: 'worst case' },
      { title: 'likely' },
      { title: 'wanted' },
      { title: 'verdict', wraps: true },
    ],
    rows,
    options,
  ).trimEnd();
}

function spacerLine({ stackId, spacers, fits }: StackUp): string[] {
  if (spacers === undefined || (spacers.count === 0 && fits !== 'no')) return [];
  const range = `${mm(spacers.worstMm[0])} to ${mm(spacers.worstMm[1])}`;
  return [`${stackId}: with ${spacers.count} spacers ${mm(spacers.gapMm)} stay free (${range} at worst)`];
}

function lines(texts: readonly string[], width: number): string {
  return texts.flatMap((text) => wrapText(plainLine(`- ${text}`), width)).join('\n');
}

function mm(value: number): string {
  return minus(value.toFixed(2));
}
