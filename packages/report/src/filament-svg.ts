import type { Buy, Plan } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { planNames } from './plan-names.ts';
import { fitText, svgDocument, svgLine, svgRect, svgText, textEms } from './svg.ts';
import { countOf, massText } from './words.ts';

/** Filament a kind: what this window needs and what all that remains needs, each with its whisker, against what is on the shelf. */
export function filamentSvg(plan: Plan, { widthPx = 1040 }: Readonly<{ widthPx?: number }> = {}): string {
  const names = planNames(plan);
  const narrow = widthPx < 600;
  const left = narrow ? 0 : 150;
  const right = narrow ? 6 : 330;
  const now = new Map(plan.buy.map((row) => [row.materialId, row]));
  const all = new Map(plan.buyAll.map((row) => [row.materialId, row]));
  const materials = plan.materials.filter((material) => now.has(material.id) || all.has(material.id));
  const rows = [...plan.buy, ...plan.buyAll];
  const most = Math.max(1, ...rows.map((row) => Math.max(row.needG.high ?? row.needG.value, row.shelfG)));
  const x = (massG: number): number => left + (massG / most) * (widthPx - left - right);
  const body: string[] = [];
  let y = 10;
  for (const material of materials) {
    const colour = categoryColour(names.materialIndex(material.id));
    const shelfG = (now.get(material.id) ?? all.get(material.id))!.shelfG;
    const shelf = `on the shelf ${massText({ value: shelfG, from: '' }, plan.unitsShown)}`;
    const name = names.materialName(material.id);
    if (narrow) {
      body.push(
        svgText(0, y + 4, name, { strong: true, size: 13 }),
        svgText(widthPx - 2, y + 4, shelf, { anchor: 'end', soft: true, size: 11 }),
      );
      y += 12;
    } else
      body.push(
        svgText(0, y + 18, fitText(name, left - 8, 12), { strong: true }),
        svgText(0, y + 33, shelf, { soft: true, size: 11 }),
      );
    const rowPx = narrow ? 33 : 24;
    // The shelf is a box behind both bars: what sticks out of it is missing.
    body.push(svgRect(left, y, x(shelfG) - left, 2 * rowPx - 3, 'var(--grid,#efebe1)'));
    body.push(svgLine(x(shelfG), y - 2, x(shelfG), y + 2 * rowPx - 1, 'var(--ink,#1d1c1a)', 1.6));
    body.push(needBar(now.get(material.id), 'this window', y + 3, x, colour, plan, { left, narrow, soft: false }));
    body.push(
      needBar(all.get(material.id), 'all that remains', y + 3 + rowPx, x, colour, plan, { left, narrow, soft: true }),
    );
    y += 2 * rowPx + (narrow ? 18 : 15);
  }
  return svgDocument(
    [0, 0, widthPx, y],
    'filament needed in this window and for all that remains, against the shelf',
    body.join(''),
  );
}

type BarLayout = Readonly<{ left: number; narrow: boolean; soft: boolean }>;
const BAR = 15;

function needBar(
  row: Buy | undefined,
  word: string,
  y: number,
  x: (massG: number) => number,
  colour: string,
  plan: Plan,
  { left, narrow, soft }: BarLayout,
): string {
  if (row === undefined) return svgText(left + 6, y + 12, `${word}: none`, { soft: true, size: 11 });
  const end = x(row.needG.value);
  const out = [svgRect(left, y, end - left, BAR, colour, ` fill-opacity="${soft ? '.28' : '.6'}" stroke="${colour}"`)];
  let after = end;
  if (row.needG.low !== undefined && row.needG.high !== undefined) {
    const ink = 'var(--ink,#1d1c1a)';
    const [low, high, m] = [x(row.needG.low), x(row.needG.high), y + BAR / 2];
    out.push(
      svgLine(low, m, high, m, ink),
      svgLine(low, m - 3, low, m + 3, ink),
      svgLine(high, m - 3, high, m + 3, ink),
    );
    after = high;
  }
  const words = `${word} ${massText(row.needG, plan.unitsShown)}${row.spools > 0 ? `; buy ${countOf(row.spools, 'spool')}` : ''}`;
  if (narrow) {
    out.push(svgText(left + 4, y + BAR + 11, words, { size: 11, halo: true }));
    return out.join('');
  }
  // Words that would cross the shelf's end line go behind it.
  const shelf = x(row.shelfG);
  const start = after + 8 < shelf + 4 && after + 8 + textEms(words) * 11 > shelf - 4 ? shelf + 8 : after + 8;
  out.push(svgText(start, y + 12, words, { size: 11 }));
  return out.join('');
}
