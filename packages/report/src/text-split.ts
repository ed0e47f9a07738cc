import { formatLength } from '@stonehand/base';
import type { Joint, UnitsShown, Vec3 } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { hanging } from './hanging.ts';
import { bold, type TextOptions, textTable } from './text-table.ts';
import { countOf, listWords } from './words.ts';

export type SplitText = Readonly<{
  file: string;
  planes: readonly Readonly<{ normal: Vec3; offsetMm: number }>[];
  /** fewest pieces that could do, proven */
  bound: number;
  pieces: readonly Readonly<{ id: string }>[];
  joints: readonly Joint[];
  files: readonly string[];
}>;

const JOINT_WORDS: Readonly<Record<Joint['kind'], string>> = {
  dowel: 'dowel',
  key: 'key',
  flange: 'flange',
  tab: 'tab',
  butt: 'butt',
  pushFit: 'push fit',
  glue: 'glued',
  weld: 'welded',
  turning: 'turning fit',
  sliding: 'sliding fit',
};

/** Where a part is cut, into how many pieces and how many are needed at least, with what joints, and what was written. */
export function renderSplit(
  split: SplitText,
  { width = 80, colour = false, units = 'metric' }: TextOptions & { readonly units?: UnitsShown } = {},
): string {
  const name = plainLine(split.file);
  const out = [colour ? bold(name) : name];
  if (split.planes.length === 0) return `${out[0]}: no cut is needed\n`;
  const best = split.pieces.length <= split.bound ? 'fewer cannot do' : `at least ${split.bound} are needed`;
  out.push(
    `${countOf(split.pieces.length, 'piece')} (${best}): ${listWords(split.pieces.map((piece) => piece.id))}`,
    '',
  );
  out.push(
    textTable(
      [{ title: 'cut' }, { title: 'across' }, { title: 'at', right: true }],
      split.planes.map((plane, i) => [String(i + 1), acrossWords(plane.normal), formatLength(plane.offsetMm, units)]),
      { width, colour },
    ),
  );
  if (split.joints.length > 0) {
    const rows = split.joints.map((joint) => [
      joint.id,
      JOINT_WORDS[joint.kind],
      joint.between.join(' and '),
      `at ${joint.atMm.map((v) => v.toFixed(0)).join(' ')}`,
      sizesOf(joint, units),
    ]);
    out.push(
      textTable(
        [
          { title: 'joint' },
          { title: 'kind' },
          { title: 'between', wraps: true },
          { title: 'place mm' },
          { title: 'size', wraps: true },
        ],
        rows,
        { width, colour },
      ),
    );
  }
  if (split.files.length > 0) out.push(...hanging('wrote ', split.files.join(', '), width));
  return `${out.join('\n').trimEnd()}\n`;
}

/** `x` for a plane square to an axis, the normal's numbers for a slanting one. */
function acrossWords(normal: Vec3): string {
  const axis = (['x', 'y', 'z'] as const).find((_, i) => Math.abs(Math.abs(normal[i]!) - 1) < 1e-9);
  return axis ?? normal.map((v) => v.toFixed(2)).join(' ');
}

function sizesOf(joint: Joint, units: UnitsShown): string {
  const said: string[] = [];
  if (joint.diameterMm !== undefined) said.push(`${formatLength(joint.diameterMm, units)} across`);
  if (joint.lengthMm !== undefined) said.push(`${formatLength(joint.lengthMm, units)} long`);
  if (joint.gapPerSideMm !== undefined)
    said.push(
      `${units === 'US' ? formatLength(joint.gapPerSideMm, units) : `${Number(joint.gapPerSideMm.toFixed(2))} mm`} gap a side`,
    );
  return said.join(', ');
}
