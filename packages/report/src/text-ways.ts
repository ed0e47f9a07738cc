import type { Pose, SupportCause } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { lieText } from './fit-rows.ts';
import { hanging } from './hanging.ts';
import { type TextOptions, textTable } from './text-table.ts';

export type WaysText = Readonly<{
  name: string;
  /** best first */
  poses: readonly Pose[];
  causes?: readonly SupportCause[];
  gramsPerMm3: number;
}>;

/** The ways up of one part with their figures, best first, why each is in the list, and what needs most of the support. */
export function renderWays(
  { name, poses, causes = [], gramsPerMm3 }: WaysText,
  { width = 80, colour = false }: TextOptions = {},
): string {
  const out = [plainLine(`${name}, ${poses.length === 1 ? 'one way up' : `${poses.length} ways up, best first`}:`)];
  const columns = [
    { title: '' },
    { title: 'lies', wraps: true },
    { title: 'height mm', right: true },
    { title: 'support cm³', right: true },
    { title: 'g', right: true },
    { title: 'marks mm²', right: true },
    { title: 'overhang mm²', right: true },
    { title: 'tips beyond', right: true },
  ];
  const cells = poses.map((pose, i) => [
    String(i + 1),
    lieText(pose).replace(/^as modelled, /, 'as modelled: '),
    pose.heightMm.toFixed(1),
    (pose.supportMm3 / 1000).toFixed(pose.supportMm3 < 9950 ? 1 : 0),
    grams(pose.supportMm3 * gramsPerMm3),
    pose.scarMm2.toFixed(0),
    pose.overhangMm2.toFixed(0),
    `${pose.tipDeg.toFixed(0)}°`,
  ]);
  out.push(textTable(columns, cells, { width, colour }).trimEnd());
  poses.forEach((pose, i) => {
    const beaten = poses.findIndex(({ id }) => id === pose.beatenBy);
    const said = [pose.why ?? '', beaten < 0 ? '' : `no better in anything than ${beaten + 1}`].filter((t) => t !== '');
    if (said.length > 0) out.push(...hanging('  ', `${i + 1}: ${said.join('; ')}`, width));
  });
  for (const line of causeLines(causes)) out.push(...hanging('  ', line, width));
  return `${out.join('\n')}\n`;
}

/** `a ceiling of 66 × 12 mm, 42 mm up, causes 92 % of the support; without it this way needs next to none`. */
export function causeLines(causes: readonly SupportCause[]): string[] {
  const [first, ...rest] = causes;
  if (first === undefined) return [];
  const all = `${shapeOf(first)}, ${heightOf(first)}, causes ${percent(first.share)} ${first.share > 0.995 ? 'its support' : 'of its support'}`;
  const line =
    first.share >= 0.9 ? `${all}; without it this way needs ${first.share >= 0.99 ? 'none' : 'next to none'}` : all;
  return [line, ...rest.map((cause) => `then ${shapeOf(cause)}, ${heightOf(cause)}: ${percent(cause.share)}`)];
}

function shapeOf({ level, sizeMm: [long, wide] }: SupportCause): string {
  return `a ${level ? 'ceiling' : 'slope'} of ${long.toFixed(0)} × ${wide.toFixed(0)} mm`;
}

function heightOf({ atHeightMm }: SupportCause): string {
  return `${atHeightMm.toFixed(atHeightMm < 10 ? 1 : 0)} mm up`;
}

function percent(share: number): string {
  return share > 0.995 ? 'all' : `${(100 * share).toFixed(0)} %`;
}

export function grams(massG: number): string {
  return massG < 0.05 ? '0' : massG < 9.95 ? massG.toFixed(1) : massG.toFixed(0);
}
