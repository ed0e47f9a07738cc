import { formatLength } from '@stonehand/base';
import type { Joint, JointKind, UnitsShown, Vec3 } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { hanging } from './hanging.ts';
import { bold, type TextOptions, textTable } from './text-table.ts';
import { countOf, listWords, sizeText } from './words.ts';

export type SplitText = Readonly<{
  file: string;
  planes: readonly Readonly<{ normal: Vec3; offsetMm: number; on?: string }>[];
  /** fewest pieces that could do, proven */
  bound: number;
  /** what equal slabs of the longest side would make */
  slabs?: number;
  /** the cuts are the accepted ones, not a search's */
  accepted: boolean;
  symmetric: boolean;
  crossed: number;
  supportG?: number;
  pieces: readonly Readonly<{ id: string; sizeMm: Vec3; solidG: number; printers: readonly string[]; key?: boolean }>[];
  joints: readonly Joint[];
  glueMm3: number;
  refused?: string;
  /** bare names of pieces, in the order in which they go together */
  together: readonly Readonly<{ lower: readonly string[]; upper: readonly string[] }>[];
  pins: readonly Readonly<{ diameterMm: number; lengthMm: number; count: number; stock: string }>[];
  files: readonly string[];
}>;

type SplitTextOptions = TextOptions & { readonly units?: UnitsShown };

const JOINT_WORDS: Readonly<Record<JointKind, string>> = {
  dowel: 'dowels',
  key: 'printed keys',
  flange: 'flanges',
  tab: 'tabs',
  butt: 'plain faces, glued',
  pushFit: 'push fit',
  glue: 'glued',
  weld: 'welded',
  turning: 'turning fit',
  sliding: 'sliding fit',
};

/** Where a part is cut and why so, its pieces, joints, the order in which they go together, what to cut for them, and what was written. */
export function renderSplit(split: SplitText, options: SplitTextOptions = {}): string {
  const { width = 80, colour = false, units = 'metric' } = options;
  const name = plainLine(split.file);
  const title = colour ? bold(name) : name;
  if (split.planes.length === 0) return `${title}: no cut is needed\n`;
  const out = [title, ...hanging('', `${howMany(split)}. ${remarks(split).join('. ')}`.trim(), width), ''];
  out.push(
    textTable(
      [{ title: 'cut' }, { title: 'across' }, { title: 'at', right: true }, { title: 'through' }],
      split.planes.map(({ normal, offsetMm, on }, i) => [
        String(i + 1),
        acrossWords(normal),
        formatLength(offsetMm, units),
        on === undefined ? 'the whole' : `what is ${on} by then`,
      ]),
      { width, colour },
    ),
    textTable(
      [
        { title: 'piece' },
        { title: 'size', right: true },
        { title: 'solid', right: true },
        { title: 'fits', wraps: true },
      ],
      split.pieces.map(({ id, sizeMm, solidG, printers, key }) => [
        key === true ? `${id} (key)` : id,
        sizeText(sizeMm, units),
        `${solidG.toFixed(0)} g`,
        printers.length === 0 ? 'no printer' : printers.join(', '),
      ]),
      { width, colour },
    ),
    ...jointTable(split, { width, colour, units }),
    ...closing(split, width, units),
  );
  return `${out.join('\n').trimEnd()}\n`;
}

function howMany({ pieces, bound, accepted, slabs }: SplitText): string {
  const count = pieces.filter(({ key }) => key !== true).length;
  if (accepted) return `${countOf(count, 'piece')}, cut as accepted`;
  const least = count <= bound ? 'fewer cannot do' : `at least ${bound} ${bound === 1 ? 'is' : 'are'} needed`;
  const plain = slabs === undefined ? '' : `; equal slabs would make ${slabs}`;
  return `${countOf(count, 'piece')} (${least}${plain})`;
}

function remarks({ symmetric, crossed, supportG, refused, accepted }: SplitText): string[] {
  const said: string[] = [];
  if (supportG !== undefined) said.push(`About ${supportG.toFixed(0)} g of support under all of them`);
  if (symmetric) said.push('The part is its own mirror image');
  if (crossed > 0) said.push(`${countOf(crossed, 'bore or boss', 'bores or bosses')} cut through`);
  if (refused !== undefined) said.push(`No joints: ${plainLine(refused)}`);
  if (accepted) said.push('--anew searches again');
  return said;
}

/** `x` for a plane square to an axis, the normal's numbers for a slanting one. */
function acrossWords(normal: Vec3): string {
  const axis = (['x', 'y', 'z'] as const).find((_, i) => Math.abs(Math.abs(normal[i]!) - 1) < 1e-9);
  return axis ?? normal.map((v) => v.toFixed(2)).join(' ');
}

/** One row for every two pieces that touch. */
function jointTable({ joints }: SplitText, { width, colour, units }: Required<SplitTextOptions>): string[] {
  if (joints.length === 0) return [];
  const pairs = [...new Set(joints.map(({ between }) => between.join(' ')))];
  const rows = pairs.map((pair) => {
    const mine = joints.filter(({ between }) => between.join(' ') === pair);
    const { kind, between } = mine[0]!;
    return [
      between.map(bareName).join(' and '),
      kind === 'butt' ? JOINT_WORDS[kind] : `${mine.length} ${JOINT_WORDS[kind]}`,
      sizesOf(mine[0]!, units),
    ];
  });
  return [textTable([{ title: 'joint' }, { title: 'kind' }, { title: 'size', wraps: true }], rows, { width, colour })];
}

const bareName = (piece: string): string => piece.slice(piece.lastIndexOf('/') + 1);

function sizesOf(
  { kind, diameterMm, lengthMm, gapPerSideMm, glueGapMm, leastWallMm }: Joint,
  units: UnitsShown,
): string {
  const fine = (mm: number): string => fineText(mm, units);
  const said: string[] = [];
  if (diameterMm !== undefined && lengthMm !== undefined) {
    const what = kind === 'flange' ? 'pin ' : '';
    said.push(`${what}${fine(diameterMm)} ${kind === 'key' ? 'square' : 'across'}, ${fine(lengthMm)} long`);
  }
  if (gapPerSideMm !== undefined) said.push(`${fine(gapPerSideMm)} free a side`);
  if (leastWallMm !== undefined) said.push(`${fine(leastWallMm)} of wall kept`);
  if (glueGapMm !== undefined && glueGapMm > 0) said.push(`${fine(glueGapMm)} a side for glue`);
  return said.join(', ');
}

/** Gaps and pins: two decimals, none that say nothing. */
function fineText(mm: number, units: UnitsShown): string {
  return units === 'US' ? formatLength(mm, units) : `${Number(mm.toFixed(2))} mm`;
}

function closing({ together, pins, glueMm3, files }: SplitText, width: number, units: UnitsShown): string[] {
  const out: string[] = [];
  if (together.length > 0) {
    const steps = together.map(({ lower, upper }) => `${lower.join('-')} to ${upper.join('-')}`);
    out.push(...hanging('together: ', steps.join(', then '), width));
  }
  const cut = pins.map(
    ({ count, lengthMm, diameterMm, stock }) => `${count} × ${fineText(lengthMm, units)} of ${diameterMm} mm ${stock}`,
  );
  if (glueMm3 > 0) cut.push(`glue, ${(glueMm3 / 1000).toFixed(1)} cm³`);
  if (cut.length > 0) out.push(...hanging('to have ready: ', listWords(cut), width));
  if (files.length > 0) out.push(...hanging('wrote ', files.join(', '), width));
  return out;
}
