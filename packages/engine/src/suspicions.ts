import type { MeasureRow, Reading } from '@stonehand/model';
import { type NamedPart, namedParts, type PartList } from './intake-lists.ts';
import { nameMarks, wordsOf } from './intake-names.ts';
import { type CompareReadings, fileFacts, type ShapeFacts, shapeFacts } from './suspicions-shapes.ts';

export type SuspicionKind = 'unreadable' | 'unit' | 'duplicate' | 'mirrorPair' | 'revisions' | 'quantity' | 'missing';

/** Something that looks so and is for the owner to confirm; nothing is changed because of it. */
export type Suspicion = Readonly<{
  kind: SuspicionKind;
  /** as in the rows; revisions from older to newer */
  files: readonly string[];
  /** of a missing part: its name in the list */
  part?: string;
  reason: string;
  /** what to do if it is so */
  confirm: string;
}>;

export type SuspicionOptions = Readonly<{
  compare: CompareReadings;
  lists?: readonly PartList[];
  /** quantities that a workspace states, by file: what a name says of these is settled */
  quantities?: ReadonlyMap<string, number>;
}>;

/**
 * What the owner of a folder of meshes should be asked, in a stable order: files that cannot be read, units, copies of one shape,
 * mirror images, older and newer revisions, quantities in names, parts that a list names and no file is.
 * @param rows one a file, no file twice
 */
export async function suspicionsOf(
  rows: readonly MeasureRow[],
  { compare, lists = [], quantities }: SuspicionOptions,
): Promise<Suspicion[]> {
  const readings = rows.filter((row): row is Reading => !('error' in row));
  const shapes = await shapeFacts(readings, compare);
  return [
    ...unreadable(rows),
    ...units(readings, shapes),
    ...copies(shapes),
    ...mirrorPairs(shapes),
    ...revisions(shapes),
    ...quantitiesInNames(readings, quantities),
    ...missing(rows, lists),
  ];
}

function unreadable(rows: readonly MeasureRow[]): Suspicion[] {
  return rows.flatMap((row) =>
    'error' in row
      ? [
          {
            kind: 'unreadable' as const,
            files: [row.file],
            reason: `It cannot be read and is left out: ${row.error.message}`,
            confirm: row.error.remedy,
          },
        ]
      : [],
  );
}

// One question a file, with all that speaks for it. A unit that the owner stated is settled.
function units(readings: readonly Reading[], { enlarged }: ShapeFacts): Suspicion[] {
  return readings.flatMap((reading): Suspicion[] => {
    if (reading.unitFrom === 'stated') return [];
    const twin = enlarged.find(({ small }) => small === reading);
    const finding = reading.findings.find(({ code }) => code === 'likelyUnit' || code === 'oddSize');
    const named = fileFacts(reading.file).name.unit;
    const other = named !== undefined && named.unit !== shortUnit(reading.unit) ? named : undefined;
    if (twin === undefined && finding === undefined && other === undefined) return [];
    const reasons = [
      ...(twin === undefined
        ? []
        : [`Times ${twin.ratio} it is the same shape as ${twin.big.file}, so its numbers look like ${twin.says}.`]),
      ...(other === undefined ? [] : [`Its name says "${other.says}".`]),
      // The numbers alone say less than a twin.
      ...(finding === undefined || twin !== undefined ? [] : [finding.says]),
    ];
    const unit = twin?.unit ?? other?.unit;
    const confirm =
      unit === undefined
        ? (finding?.remedy ?? 'State the unit of this file.')
        : `Write unit: ${unit} at this part if it is so${twin === undefined ? '' : ', or keep only one of the two'}; until then it is taken as ${reading.unit}.`;
    return [
      { kind: 'unit', files: [reading.file, ...(twin ? [twin.big.file] : [])], reason: reasons.join(' '), confirm },
    ];
  });
}

function copies({ groups }: ShapeFacts): Suspicion[] {
  return groups.flatMap(({ members, exact }): Suspicion[] => {
    if (members.length < 2) return [];
    const formats = [...new Set(members.map(({ format }) => format))];
    const how = [
      ...(members.every(({ meshHash }) => meshHash === members[0]!.meshHash)
        ? ['triangle by triangle']
        : [exact ? 'however their triangles are ordered and turned' : 'within 0.03 mm, in other triangles']),
      ...(formats.length > 1 ? [`in the formats ${formats.join(', ')}`] : []),
    ];
    return [
      {
        kind: 'duplicate',
        files: members.map(({ file }) => file),
        reason: `They are one shape, ${how.join(', ')}.`,
        confirm: `Keep one part and give it the quantity that is needed, or keep all ${members.length} if each is meant to be printed.`,
      },
    ];
  });
}

function mirrorPairs({ mirrors }: ShapeFacts): Suspicion[] {
  return mirrors.map(({ a, b, maxMm }) => ({
    kind: 'mirrorPair',
    files: [a.file, b.file],
    reason: `Each is the mirror image of the other${maxMm > 0.001 ? `, within ${maxMm.toFixed(3)} mm` : ''}.`,
    confirm: 'Nothing to do if both are wanted, left and right; one mesh with "mirror: y" would give the other too.',
  }));
}

function revisions({ revised }: ShapeFacts): Suspicion[] {
  return revised.map(({ order, ordered, maxMm }) => {
    const newest = order[order.length - 1]!;
    const older = order.slice(0, -1).map(({ file }) => file);
    const marks = [...new Set(order.flatMap(({ file }) => fileFacts(file).allMarks))];
    const says =
      marks.length === 0
        ? 'Their names are the same'
        : `Their names differ in marks of a revision (${marks.join(', ')})`;
    return {
      kind: 'revisions',
      files: order.map(({ file }) => file),
      reason: `${says} and their shapes are alike but not the same: ${volumeChange(order[0]!, newest)}surfaces up to ${maxMm.toPrecision(2)} mm apart.`,
      confirm: ordered
        ? `Keep ${newest.file}, the newer one by its name, and take out ${older.join(' and ')}, unless an older one is wanted.`
        : 'The names do not say which is newer: keep the one that is wanted and take out the other.',
    };
  });
}

function volumeChange(from: Reading, to: Reading): string {
  if (from.volumeMm3 === undefined || to.volumeMm3 === undefined) return '';
  const percent = 100 * (to.volumeMm3 / from.volumeMm3 - 1);
  return `volume ${percent < 0 ? '−' : '+'}${Math.abs(percent).toFixed(1)} %, `;
}

function quantitiesInNames(readings: readonly Reading[], quantities: SuspicionOptions['quantities']): Suspicion[] {
  return readings.flatMap(({ file }): Suspicion[] => {
    const { quantity } = fileFacts(file).name;
    if (quantity === undefined || quantities?.get(file) === quantity.count) return [];
    const stated = quantities?.get(file);
    return [
      {
        kind: 'quantity',
        files: [file],
        reason: `Its name says "${quantity.says}"${stated === undefined ? '' : `, the workspace ${stated}`}.`,
        confirm: `Write quantity: ${quantity.count} at this part if it is meant.`,
      },
    ];
  });
}

function missing(rows: readonly MeasureRow[], lists: readonly PartList[]): Suspicion[] {
  // An item of a file is there under its own name and under that of its file.
  const there = rows.flatMap(({ file }) => [fileFacts(file), fileFacts(file.replace(/ > .*$/, ''))]);
  const found: Suspicion[] = [];
  const told = new Set<string>();
  for (const part of lists.flatMap(namedParts)) {
    const stem = nameMarks(part.exact ? part.name.replace(/\.[^.]*$/, '') : part.name).stem;
    if (stem === '' || told.has(stem) || there.some(({ name, base }) => isNamed(part, stem, name.stem, base))) continue;
    told.add(stem);
    found.push({
      kind: 'missing',
      files: [part.file],
      part: part.name,
      reason: `Line ${part.line} names "${part.name}", and no mesh file is called so.`,
      confirm: 'Fetch the file if it is needed.',
    });
  }
  return found;
}

// All words of the listed name in the file's name are enough: "hinge hubs" is left-hinge-hub.stl. A doubt here is not worth a question.
function isNamed({ name, exact }: NamedPart, stem: string, fileStem: string, base: string): boolean {
  if (exact && name.toLowerCase() === base.toLowerCase()) return true;
  const has = new Set(wordsOf(fileStem).map(singular));
  const squeezed = (text: string): string => wordsOf(text).map(singular).join('');
  return wordsOf(stem).every((word) => has.has(singular(word))) || squeezed(stem) === squeezed(fileStem);
}

function singular(word: string): string {
  return word.length > 3 ? word.replace(/s$/, '') : word;
}

function shortUnit(unit: string): string {
  const short: Readonly<Record<string, string>> = {
    millimeter: 'mm',
    centimeter: 'cm',
    inch: 'in',
    meter: 'm',
    foot: 'ft',
  };
  return short[unit] ?? unit;
}
