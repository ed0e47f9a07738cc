import type { Plan } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { escapeXml } from './escape.ts';
import type { PlanNames } from './plan-names.ts';
import { type Progress, progressOf } from './progress.ts';
import { num, svgDocument, svgRect, svgText } from './svg.ts';
import { countOf, listWords } from './words.ts';

/** How far the whole thing is, assembly by assembly, and what keeps each from being put together. */
export function progressSection(plan: Plan, names: PlanNames): string {
  const rows = progressOf(plan, names);
  if (rows.length === 0) return '<p class="soft">No part is in the plan.</p>';
  const sum = (pick: (row: Progress) => number): number => rows.reduce((total, row) => total + pick(row), 0);
  const all = sum((row) => row.there + row.planned + row.waits);
  const lead = `Of ${countOf(all, 'copy', 'copies')} ${sum((row) => row.there)} are there, ${sum((row) => row.planned)} are planned in this window, ${sum((row) => row.waits)} wait.`;
  const items = rows.map((row) => {
    const waits =
      row.waits === 0
        ? row.planned === 0
          ? 'complete'
          : 'complete after this window'
        : `waits for ${listWords(row.waitsFor)}`;
    return `<li><span class="name">${escapeXml(row.assemblyId)}</span>${barSvg(row)}<span class="small soft">${escapeXml(waits)}</span></li>`;
  });
  return `<p>${escapeXml(lead)}</p><ul class="progress">${items.join('\n')}</ul>`;
}

/** Shares side by side; the numbers stand in or beside them, so that nothing hangs on colour. */
function barSvg({ assemblyId, there, planned, waits }: Progress): string {
  const width = 320;
  const all = Math.max(1, there + planned + waits);
  const parts = [
    { n: there, says: 'there', fill: categoryColour(2), opacity: 0.75 },
    { n: planned, says: 'planned', fill: categoryColour(0), opacity: 0.55 },
    { n: waits, says: 'wait', fill: 'var(--line,#d9d4c8)', opacity: 1 },
  ];
  let x = 0;
  const body = parts.map(({ n, says, fill, opacity }) => {
    const w = (n / all) * width;
    const text = w > 64 ? `${n} ${says}` : w > 16 ? String(n) : '';
    const drawn = `${svgRect(x, 0, w, 20, fill, ` fill-opacity="${num(opacity, 2)}"`)}${text === '' ? '' : svgText(x + 6, 14.5, text, { size: 12 })}`;
    x += w;
    return drawn;
  });
  return svgDocument(
    [0, 0, width, 20],
    `${assemblyId}: ${parts.map(({ n, says }) => `${n} ${says}`).join(', ')}`,
    body.join(''),
  );
}
