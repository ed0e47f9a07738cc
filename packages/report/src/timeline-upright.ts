import type { Plan, Run } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { escapeXml } from './escape.ts';
import { type PlanNames, planNames } from './plan-names.ts';
import { fitText, num, svgDocument, svgLine, svgRect, svgText } from './svg.ts';
import { timelineExtent, timelineLabel } from './timeline-extent.ts';
import { durationText, hourText, localTime, momentText } from './words.ts';

const WIDTH = 368;
const LEFT = 46;
const TOP = 30;
const PX_PER_HOUR = 13;

/** The timeline for a narrow screen: time runs down, a column a printer, the same bands and whiskers. */
export function uprightTimeline(plan: Plan): string {
  const names = planNames(plan);
  const { fromMs, toMs } = timelineExtent(plan);
  const height = ((toMs - fromMs) / 3.6e6) * PX_PER_HOUR;
  const y = (ms: number): number => TOP + ((ms - fromMs) / (toMs - fromMs)) * height;
  const at = (instant: string): number => y(Math.min(toMs, Math.max(fromMs, Date.parse(instant))));
  const used = new Set(plan.runs.map((run) => run.printerId));
  const printers = plan.printers.filter((printer) => used.has(printer.id));
  const column = (WIDTH - LEFT - 4) / Math.max(1, printers.length);
  const body: string[] = [];
  for (const span of plan.presence) {
    if (span.kind === 'away' || Date.parse(span.to) <= fromMs || Date.parse(span.from) >= toMs) continue;
    body.push(
      svgRect(
        LEFT,
        at(span.from),
        WIDTH - LEFT,
        at(span.to) - at(span.from),
        span.kind === 'present' ? 'var(--band,#f6efda)' : 'var(--night,#d9d7e6)',
      ),
    );
  }
  body.push(marks(plan, y, fromMs, toMs));
  printers.forEach((printer, i) => {
    const x = LEFT + column * i + 4;
    body.push(svgText(x, 18, fitText(names.printerName(printer.id), column - 8, 12), { strong: true }));
    for (const run of plan.runs)
      if (run.printerId === printer.id) body.push(runBox(plan, names, run, x, column - 12, at));
  });
  for (const todo of plan.todo)
    body.push(
      `<path d="M${LEFT - 8},${num(at(todo.from) - 4)}v8l7,-4z" fill="var(--accent,#3a3f9f)"><title>${escapeXml(`${momentText(todo.from, plan)} ${todo.says}`)}</title></path>`,
    );
  if (plan.deadline !== undefined && Date.parse(plan.deadline) <= toMs) {
    body.push(
      svgLine(LEFT, at(plan.deadline), WIDTH, at(plan.deadline), 'var(--accent,#3a3f9f)', 1.6),
      svgText(WIDTH - 4, at(plan.deadline) - 4, `deadline ${hourText(plan.deadline, plan)}`, {
        anchor: 'end',
        size: 11,
        halo: true,
      }),
    );
  }
  body.push(
    svgText(LEFT, TOP + height + 18, 'light: present; dark: asleep at home; line: the end may', {
      soft: true,
      size: 11,
    }),
  );
  body.push(
    svgText(LEFT, TOP + height + 32, 'fall in this time (80 %); triangle: you are needed', { soft: true, size: 11 }),
  );
  return svgDocument([0, 0, WIDTH, TOP + height + 40], timelineLabel(plan), body.join(''));
}

function marks(plan: Plan, y: (ms: number) => number, fromMs: number, toMs: number): string {
  const out: string[] = [];
  let day = localTime(new Date(fromMs).toISOString(), plan).startOf('day');
  for (; day.toMillis() < toMs; day = day.plus({ days: 1 })) {
    for (let h = 0; h < 24; h += 3) {
      const mark = day.set({ hour: h });
      const ms = mark.toMillis();
      if (mark.hour !== h || ms < fromMs || ms > toMs) continue;
      out.push(
        svgLine(LEFT, y(ms), WIDTH, y(ms), h === 0 ? 'var(--soft,#595650)' : 'var(--line,#d9d4c8)', h === 0 ? 1 : 0.6),
      );
      out.push(
        svgText(LEFT - 12, y(ms) + 4, h === 0 ? day.toFormat('ccc d') : String(h), {
          anchor: 'end',
          soft: h !== 0,
          strong: h === 0,
          size: h === 0 ? 11 : 10,
        }),
      );
    }
  }
  return out.join('');
}

function runBox(
  plan: Plan,
  names: PlanNames,
  run: Run,
  x: number,
  width: number,
  at: (instant: string) => number,
): string {
  const plate = names.plate(run.plateId);
  const name = plate?.name ?? run.plateId;
  const colour = categoryColour(plate?.materialIds[0] === undefined ? 0 : names.materialIndex(plate.materialIds[0]));
  const y0 = at(run.start);
  const h = Math.max(3, at(run.end) - y0);
  const out = [
    `<g><title>${escapeXml(`${name}, ${momentText(run.start, plan)} to ${momentText(run.end, plan)}`)}</title>`,
    svgRect(x, y0, width, h, 'var(--card,#fff)', ` stroke="${colour}" stroke-width="1.5" rx="2"`),
    svgRect(x, y0, width, Math.min(4, h), colour),
  ];
  const duration = plate?.durationS;
  if (duration?.low !== undefined && duration.high !== undefined && run.state !== 'done') {
    const end = (s: number): number => at(new Date(Date.parse(run.start) + s * 1000).toISOString());
    const wx = x + width - 6;
    const ink = 'var(--ink,#1d1c1a)';
    out.push(
      svgLine(wx, end(duration.low), wx, end(duration.high), ink),
      svgLine(wx - 4, end(duration.high), wx + 4, end(duration.high), ink),
      svgLine(wx - 3, end(duration.low), wx + 3, end(duration.low), ink),
    );
  }
  const lines = wrap(name, width - 10, 11, Math.floor((h - 6) / 13));
  lines.forEach((line, i) => {
    out.push(svgText(x + 4, y0 + 15 + 13 * i, line, { size: 11 }));
  });
  if (duration !== undefined && lines.length > 0 && h > 13 * lines.length + 20)
    out.push(
      svgText(x + 4, y0 + 16 + 13 * lines.length, fitText(durationText(duration), width - 18, 10), {
        size: 10,
        soft: true,
      }),
    );
  out.push('</g>');
  return out.join('');
}

/** Words on at most `most` lines; what is left over ends in an ellipsis. */
function wrap(text: string, width: number, size: number, most: number): string[] {
  const lines: string[] = [];
  let rest = text.split(' ');
  while (rest.length > 0 && lines.length < most) {
    let n = rest.length;
    if (lines.length === most - 1) {
      lines.push(fitText(rest.join(' '), width, size));
      break;
    }
    while (n > 1 && fitText(rest.slice(0, n).join(' '), width, size) !== rest.slice(0, n).join(' ')) n--;
    lines.push(fitText(rest.slice(0, n).join(' '), width, size));
    rest = rest.slice(n);
  }
  return lines.filter((line) => line !== '');
}
