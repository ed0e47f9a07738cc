import type { Figure, UnitsShown } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { type TextOptions, textTable, wrapText } from './text-table.ts';
import { countOf, durationText, massText, massValue } from './words.ts';

/** What became of one part; package engine works it out. */
export type RevisionRow = Readonly<{
  partId: string;
  was?: string;
  what: 'same' | 'changed' | 'renamed' | 'added' | 'removed';
  how: readonly string[];
  distanceMm?: Readonly<{ mean: number; most: number }>;
  copies: number;
  there: number;
  massG: readonly [number, number];
  durationS: readonly [number, number];
  bases: readonly Readonly<{ file: string; change: Readonly<{ mostMm: number }>; touches: boolean }>[];
  advice: string;
}>;

export type RevisionText = Readonly<{
  parts: readonly RevisionRow[];
  again: Readonly<{ massG: number; durationS: number; parts: number }>;
  assemblies: readonly Readonly<{ assemblyId: string; massG: readonly [Figure | undefined, Figure | undefined] }>[];
}>;

/** Two revisions of a workspace: what must be printed again and what it costs first, then part by part, then the masses. */
export function renderRevision(
  { parts, again, assemblies }: RevisionText,
  options: TextOptions & { readonly units?: UnitsShown } = {},
): string {
  const { width = 80, units = 'metric' } = options;
  const grams = (value: number): string => massText({ value, from: '' }, units);
  const same = parts.filter(({ what, how, bases }) => what === 'same' && how.length === 0 && bases.length === 0);
  const rows = parts.filter((part) => !same.includes(part));
  const lead =
    again.parts === 0
      ? 'Nothing needs to be printed because of the new revision.'
      : `${countOf(again.parts, 'part')} to print because of the new revision: ${grams(again.massG)}, ${durationText({ value: again.durationS, from: '' })} on one printer after the other.`;
  const table =
    rows.length === 0
      ? ''
      : textTable(
          [
            { title: 'part', wraps: true },
            { title: 'what', wraps: true },
            { title: 'before', right: true },
            { title: 'after', right: true },
            { title: 'there', right: true },
            { title: 'so', wraps: true },
          ],
          rows.map((part) => [
            part.was === undefined ? part.partId : `${part.partId} (was ${part.was})`,
            whatText(part),
            part.what === 'added' ? '' : grams(part.massG[0]),
            part.what === 'removed' ? '' : grams(part.massG[1]),
            part.there === 0 ? '' : `${part.there} of ${part.copies}`,
            part.advice,
          ]),
          options,
        ).trimEnd();
  const bases = parts.flatMap(baseLines).flatMap((line) => wrapText(plainLine(line), width));
  const masses = assemblies
    .filter(({ massG: [from, to] }) => from?.value !== to?.value)
    .map(({ assemblyId, massG: [from, to] }) => `${assemblyId}: ${massOr(from, units)} → ${massOr(to, units)}`);
  return [
    ...wrapText(plainLine(lead), width),
    ...(table === '' ? [] : ['', table]),
    ...(bases.length === 0 ? [] : ['', ...bases]),
    ...(same.length === 0 ? [] : ['', `${countOf(same.length, 'part')} unchanged`]),
    ...(masses.length === 0 ? [] : ['', 'mass, estimated', ...masses.map((line) => `  ${plainLine(line)}`)]),
    '',
  ].join('\n');
}

function whatText({ what, how, distanceMm }: RevisionRow): string {
  const moved =
    distanceMm === undefined ? '' : `, up to ${distanceMm.most.toFixed(2)} mm (mean ${distanceMm.mean.toFixed(2)})`;
  return [`${what}${moved}`, ...how].join('; ');
}

function baseLines({ partId, bases }: RevisionRow): string[] {
  return bases.map(({ file, change, touches }) =>
    touches
      ? `- ${partId}: its base ${file} changed by up to ${change.mostMm.toFixed(2)} mm where it was kept: rework it first`
      : `- ${partId}: its base ${file} changed, but not where it was kept`,
  );
}

function massOr(figure: Figure | undefined, units: UnitsShown): string {
  return figure === undefined ? 'none' : massValue(figure, units);
}
