import type { Ballasted, Lightened } from '@stonehand/balance';
import type { MassReport, UnitsShown } from '@stonehand/model';
import { hanging } from './hanging.ts';
import {
  allowedText,
  flatten,
  isDoubtful,
  type LimitLine,
  limitChance,
  limitLines,
  limitValue,
  marginText,
  missingWords,
} from './limit-lines.ts';
import { type TextOptions, textTable } from './text-table.ts';
import { changedWords, countOf, durationText, durationValue, massText, minus, placeText } from './words.ts';

type Style = TextOptions & Readonly<{ units?: UnitsShown }>;

/** What weigh proposes for one assembly. */
export type ProposalText = Readonly<{ lightened?: Lightened; ballasted?: readonly Ballasted[] }>;

/** Mass and balance by assembly, limits below each; the parts of the first one by mass. */
export function renderWeigh(
  mass: readonly MassReport[],
  { width = 80, colour = false, units = 'metric' }: Style = {},
): string {
  const reports = flatten(mass);
  if (reports.length === 0) return 'no assembly to weigh\n';
  const more = reports.some(({ extraG = 0 }) => extraG > 0);
  const plain = (value: number): string => massText({ value, from: '' }, units);
  const table = textTable(
    [
      { title: 'assembly', wraps: true },
      { title: 'mass', right: true },
      { title: 'printed', right: true },
      { title: 'bought', right: true },
      ...(more ? [{ title: 'more', right: true }] : []),
      { title: 'centre x y z', right: true },
    ],
    reports.map((m) => [
      m.name,
      massText(m.massG, units),
      plain(m.printedG),
      plain(m.boughtG),
      ...(more ? [m.extraG === undefined ? '' : plain(m.extraG)] : []),
      placeText(m.centreMm, units),
    ]),
    { width, colour },
  );
  const out = [table, ...heaviestLines(mass, units, width)];
  for (const m of reports) {
    out.push(...limitTexts(m, units, width));
    const extras = Object.entries(m.byExtraG ?? {}).map(([kind, g]) => `${kind} ${plain(g)}`);
    if (extras.length > 0) out.push(...hanging('  ', `${m.name}, more: ${extras.join(', ')}`, width));
    if ((m.weighedG ?? 0) > 0)
      out.push(
        ...hanging('  ', `${m.name}: ${plain(m.weighedG!)} of ${plain(m.printedG)} printed stood on the scale`, width),
      );
    if (m.missing.length > 0) out.push(...hanging('  ', `${m.name}: ${missingWords(m.missing)}`, width));
  }
  return `${out.join('\n').trimEnd()}\n`;
}

const HEAVIEST = 8;

/** `heaviest parts: skull shell 121 g, 2 eye bezels…` of the assemblies that were asked for. */
function heaviestLines(mass: readonly MassReport[], units: UnitsShown, width: number): string[] {
  return mass.flatMap((report) => {
    const parts = Object.entries(report.byPartG).sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
    if (parts.length < 2) return [];
    const named = parts
      .slice(0, HEAVIEST)
      .map(([id, g]) => `${id.slice(id.lastIndexOf('/') + 1)} ${massText({ value: g, from: '' }, units)}`);
    const rest = parts.slice(HEAVIEST).reduce((sum, [, g]) => sum + g, 0);
    if (rest > 0)
      named.push(`${countOf(parts.length - HEAVIEST, 'other')} ${massText({ value: rest, from: '' }, units)}`);
    return [...hanging('  ', `${report.name}, printed: ${named.join(', ')}`, width), ''];
  });
}

function limitTexts(report: MassReport, units: UnitsShown, width: number): string[] {
  return limitLines(report).flatMap((line) => hanging('  ', limitSentence(report, line, units), width));
}

/** A sentence for every limit that is broken, or kept by less than a fair chance. */
export function renderLimits(
  mass: readonly MassReport[],
  { width = 80, units = 'metric' }: Pick<Style, 'width' | 'units'> = {},
): string {
  const lines = flatten(mass).flatMap((report) =>
    limitLines(report)
      .filter(isDoubtful)
      .flatMap((line) => hanging('', limitSentence(report, line, units), width)),
  );
  return lines.join('\n');
}

function limitSentence(report: MassReport, line: LimitLine, units: UnitsShown): string {
  const said = [allowedText(line, units), marginText(line, units), limitChance(line)].filter((text) => text !== '');
  return `${report.name}, ${line.what} ${limitValue(line, units)}: ${said.join(', ')}`;
}

/** What to print otherwise, what it saves and costs; then counterweights and moves. */
export function renderProposal(report: MassReport, { lightened, ballasted }: ProposalText, style: Style = {}): string {
  const out: string[] = [];
  if (lightened !== undefined) out.push(lightenText(report, lightened, style));
  if (ballasted !== undefined) out.push(ballastText(report, ballasted, style));
  return `${out.join('\n').trimEnd()}\n`;
}

function lightenText(
  report: MassReport,
  found: Lightened,
  { width = 80, colour = false, units = 'metric' }: Style,
): string {
  const { changes, before, after, holds, search } = found;
  const out: string[] = [];
  const proof =
    search.gap < 1e-6
      ? 'no choice of them costs less'
      : `at most ${Number((search.gap * 100).toPrecision(2))} % from the least cost`;
  const tried = `${countOf(search.choices, 'way')} of printing ${countOf(search.parts, 'part')} compared, ${proof}${search.ended === 'time' ? ' (stopped early)' : ''}`;
  if (changes.length === 0) {
    out.push(
      ...hanging(
        '',
        `${report.name}: nothing to print otherwise; ${holds ? 'all limits hold' : 'no allowed choice helps'}.`,
        width,
      ),
      ...hanging('  ', tried, width),
    );
    return out.join('\n');
  }
  const end = holds ? 'all limits hold' : 'not all limits can be kept; this passes them least';
  out.push(
    ...hanging(
      '',
      `${report.name}, printed lighter: ${savedText(before.massG.value - after.massG.value, units)}, ${hoursText(found.beforeS - found.afterS)}; ${end}.`,
      width,
    ),
    '',
  );
  out.push(
    textTable(
      [
        { title: 'part', wraps: true },
        { title: 'print it with', wraps: true },
        { title: 'saves', right: true },
        { title: 'printing', right: true },
        { title: 'stiffness', right: true },
      ],
      changes.map((change) => [
        change.copies === 1 ? change.name : `${change.name}, ${change.copies} copies`,
        changedWords(change.from, change.to),
        grams(change.savedG, units),
        signedHours(-change.savedS),
        `${Math.round(change.stiffness * 100)} %`,
      ]),
      { width, colour },
    ),
  );
  out.push(`  then ${massText(after.massG, units)}, centre ${placeText(after.centreMm, units)}`);
  out.push(...flatten([after]).flatMap((one) => limitTexts(one, units, width)));
  out.push(...hanging('  ', tried, width));
  out.push(
    ...hanging(
      '  ',
      'stiffness: a simple index against today, plastic in walls, floors and roofs and its share in the infill; not a strength',
      width,
    ),
    '',
  );
  if (found.curve.length > 1) out.push(curveText(found, { width, colour, units }));
  return out.join('\n');
}

function curveText({ curve }: Lightened, { width, colour, units = 'metric' }: Style): string {
  return textTable(
    [
      { title: 'mass', right: true },
      { title: 'printing', right: true },
      { title: 'mean stiffness', right: true },
      { title: '' },
    ],
    curve.map((point) => [
      massText({ value: point.massG, from: '' }, units),
      durationValue({ value: point.durationS, from: '' }),
      `${Math.round(point.stiffness * 100)} %`,
      point.chosen ? '< proposed' : '',
    ]),
    { ...(width === undefined ? {} : { width }), ...(colour === undefined ? {} : { colour }) },
  );
}

function ballastText(report: MassReport, ways: readonly Ballasted[], { width = 80, units = 'metric' }: Style): string {
  if (ways.length === 0)
    return `${report.name}: no counterweight is needed, or none helps where the assembly allows one.`;
  const out = [`${report.name}, balanced; least added mass first:`];
  for (const { addedG, weights, moves, after, holds } of ways) {
    const put = weights.map(({ place, atMm, massG, itemId, count }) => {
      const what = itemId === undefined ? massText({ value: massG, from: '' }, units) : `${count} × ${itemId}`;
      return `put ${what} ${place} (${placeText(atMm, units)})`;
    });
    const moved = moves.map(({ itemId, byMm }) => `move the ${itemId} by ${placeText(byMm, units)}`);
    const end = holds ? '' : '; the mass limit stays passed';
    const then = `${addedG === 0 ? 'nothing added' : `${massText({ value: addedG, from: '' }, units)} added`}, then ${massText(after.massG, units)}, centre ${placeText(after.centreMm, units)}${end}`;
    out.push(...hanging('  ', `${[...moved, ...put].join('; ')}: ${then}`, width));
  }
  return out.join('\n');
}

function savedText(savedG: number, units: UnitsShown): string {
  return savedG >= 0 ? `${grams(savedG, units)} less` : `${grams(-savedG, units)} more`;
}

function hoursText(savedS: number): string {
  const size = durationText({ value: Math.abs(savedS), from: '' });
  return Math.abs(savedS) < 60
    ? 'the same printing time'
    : savedS > 0
      ? `${size} less printing`
      : `${size} more printing`;
}

function grams(value: number, units: UnitsShown): string {
  return minus(massText({ value, from: '' }, units));
}

function signedHours(seconds: number): string {
  if (Math.abs(seconds) < 60) return 'same';
  const size = durationValue({ value: Math.abs(seconds), from: '' });
  return `${seconds < 0 ? '\u2212' : '+'}${size}`;
}
