import type { Plan, Run } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { escapeXml } from './escape.ts';
import { type PlanNames, planNames } from './plan-names.ts';
import { fitText, num, svgDocument, svgLine, svgRect, svgText, textEms } from './svg.ts';
import { timelineExtent, timelineLabel } from './timeline-extent.ts';
import { uprightTimeline } from './timeline-upright.ts';
import { durationText, hourText, localTime, momentText } from './words.ts';

const LEAST_LEFT = 74;
const MOST_LEFT = 190;
const RIGHT = 16;
const TOP = 40;
const LANE = 46;
const BAR = 28;
const LEAST_WIDTH = 1040;
const LEAST_PX_PER_HOUR = 9; // below this an hour's bar holds no letter

/** upright: time runs down and printers stand side by side, for a narrow screen */
export type TimelineOptions = Readonly<{ upright?: boolean }>;

/**
 * Runs over time, a lane a printer: light bands where the person is present, dark ones for nights, a whisker for the time in
 * which a run may end (its duration's interval), triangles where the person is needed, lines for the deadline and the window's end.
 */
export function timelineSvg(plan: Plan, { upright = false }: TimelineOptions = {}): string {
  return upright ? uprightTimeline(plan) : levelTimeline(plan);
}

function levelTimeline(plan: Plan): string {
  const names = planNames(plan);
  const { fromMs, toMs } = timelineExtent(plan);
  const hours = (toMs - fromMs) / 3.6e6;
  const left = labelWidth(plan, names);
  const width = Math.max(LEAST_WIDTH, left + RIGHT + hours * LEAST_PX_PER_HOUR);
  const x = (ms: number): number => left + ((ms - fromMs) / (toMs - fromMs)) * (width - left - RIGHT);
  const at = (instant: string): number => x(Date.parse(instant));
  const used = new Set(plan.runs.map((run) => run.printerId));
  const printers = plan.printers.filter((printer) => used.has(printer.id));
  const bottom = TOP + LANE * Math.max(1, printers.length);
  const body = [bands(plan, at, fromMs, toMs, bottom, left), hourLines(plan, x, fromMs, toMs, bottom, width, left)];
  printers.forEach((printer, lane) => {
    const y = TOP + LANE * lane + (LANE - BAR) / 2;
    body.push(
      svgText(left - 10, y + BAR / 2 + 4, fitText(names.printerName(printer.id), left - 14, 12) || '…', {
        anchor: 'end',
        strong: true,
      }),
    );
    const runs = plan.runs
      .filter((run) => run.printerId === printer.id)
      .sort((a, b) => Date.parse(a.start) - Date.parse(b.start));
    runs.forEach((run, i) => {
      const next = runs[i + 1];
      body.push(bar(plan, names, run, y, at, next === undefined ? width - RIGHT : at(next.attendFrom)));
    });
  });
  body.push(upright(plan.planTo, 'window ends', plan, at, bottom, fromMs, toMs, 'var(--soft,#595650)'));
  body.push(upright(plan.deadline, 'deadline', plan, at, bottom, fromMs, toMs, 'var(--accent,#3a3f9f)'));
  for (const todo of plan.todo) {
    body.push(
      `<path d="M${num(at(todo.from))},${num(bottom + 5)}l5,9h-10z" fill="var(--accent,#3a3f9f)"><title>${escapeXml(`${momentText(todo.from, plan)} ${todo.says}`)}</title></path>`,
    );
  }
  body.push(legend(plan, bottom + 48, left));
  return svgDocument(
    [0, 0, width, bottom + 60],
    timelineLabel(plan),
    body.join(''),
    ` style="min-width:${num(width * 0.85, 0)}px"`,
  );
}

/** Room for the longest name of a printer in the lanes; strong letters are wider than the estimate. */
function labelWidth(plan: Plan, names: PlanNames): number {
  const longest = Math.max(0, ...plan.runs.map((run) => textEms(names.printerName(run.printerId)) * 12 * 1.12));
  return Math.min(MOST_LEFT, Math.max(LEAST_LEFT, longest + 18));
}

function bands(
  plan: Plan,
  at: (instant: string) => number,
  fromMs: number,
  toMs: number,
  bottom: number,
  left: number,
): string {
  const out: string[] = [];
  const right = at(new Date(toMs).toISOString());
  for (const span of plan.presence) {
    if (Date.parse(span.to) <= fromMs || Date.parse(span.from) >= toMs || span.kind === 'away') continue;
    const x0 = Math.max(left, at(span.from));
    const x1 = Math.min(right, at(span.to));
    out.push(
      svgRect(
        x0,
        TOP - 4,
        x1 - x0,
        bottom - TOP + 4,
        span.kind === 'present' ? 'var(--band,#f6efda)' : 'var(--night,#d9d7e6)',
      ),
    );
    const word = span.kind === 'present' ? 'present' : 'asleep at home';
    const shown = fitText(word, x1 - x0 - 6, 10);
    if (shown === word || shown.length > 5) out.push(svgText(x0 + 4, TOP + 6, shown, { soft: true, size: 10 }));
  }
  return out.join('');
}

function hourLines(
  plan: Plan,
  x: (ms: number) => number,
  fromMs: number,
  toMs: number,
  bottom: number,
  width: number,
  left: number,
): string {
  const out: string[] = [];
  const pxPerHour = (x(toMs) - x(fromMs)) / ((toMs - fromMs) / 3.6e6);
  const everyHours = [1, 2, 3, 6, 12, 24].find((h) => h * pxPerHour >= 42) ?? 24;
  let day = localTime(new Date(fromMs).toISOString(), plan).startOf('day');
  for (; day.toMillis() < toMs; day = day.plus({ days: 1 })) {
    if (day.toMillis() > fromMs)
      out.push(svgLine(x(day.toMillis()), 6, x(day.toMillis()), bottom, 'var(--soft,#595650)', 0.8));
    const from = Math.max(x(day.toMillis()), left);
    const to = Math.min(x(day.plus({ days: 1 }).toMillis()), width - RIGHT);
    const text = [day.toFormat('cccc d LLLL'), day.toFormat('ccc d LLL'), day.toFormat('ccc')].find(
      (t) => textEms(t) * 12 <= to - from - 8,
    );
    if (text !== undefined) out.push(svgText(from + 5, 15, text, { strong: true }));
    // By the clock on the wall, so that the marks stay right on days of 23 and 25 hours.
    for (let h = 0; h < 24; h += everyHours) {
      const mark = day.set({ hour: h });
      const ms = mark.toMillis();
      if (mark.hour !== h || ms < fromMs || ms > toMs) continue;
      if (h > 0) out.push(svgLine(x(ms), TOP - 8, x(ms), bottom, 'var(--line,#d9d4c8)', 0.7));
      if (x(ms) < width - RIGHT - 6 && x(ms) > left + 2)
        out.push(svgText(x(ms), TOP - 10, String(h), { soft: true, size: 10, anchor: 'middle' }));
    }
  }
  return out.join('');
}

function bar(
  plan: Plan,
  names: PlanNames,
  run: Run,
  y: number,
  at: (instant: string) => number,
  roomTo: number,
): string {
  const plate = names.plate(run.plateId);
  const name = plate?.name ?? run.plateId;
  const material = plate?.materialIds[0];
  const colour = categoryColour(material === undefined ? 0 : names.materialIndex(material));
  const x0 = at(run.start);
  const x1 = Math.max(at(run.end), x0 + 3);
  const middle = y + BAR / 2;
  const duration = plate?.durationS;
  const says = `${name} on ${names.printerName(run.printerId)}, ${momentText(run.start, plan)} to ${momentText(run.end, plan)}${duration === undefined ? '' : `, ${durationText(duration)}`}${run.unattended ? ', partly unattended' : ''}`;
  const parts = [`<g><title>${escapeXml(says)}</title>`];
  parts.push(
    svgRect(
      x0,
      y,
      x1 - x0,
      BAR,
      'var(--card,#fff)',
      ` stroke="${colour}" stroke-width="1.5" rx="2"${run.state === 'failed' ? ' stroke-dasharray="4 3"' : ''}`,
    ),
  );
  parts.push(svgRect(x0, y, Math.min(5, x1 - x0), BAR, colour));
  if (duration?.low !== undefined && duration.high !== undefined && run.state !== 'done') {
    const low = at(new Date(Date.parse(run.start) + duration.low * 1000).toISOString());
    const high = at(new Date(Date.parse(run.start) + duration.high * 1000).toISOString());
    const wy = y + BAR - 5;
    parts.push(
      svgLine(Math.max(low, x0 + 5), wy, high, wy, 'var(--ink,#1d1c1a)', 1),
      svgLine(high, wy - 4, high, wy + 4, 'var(--ink,#1d1c1a)', 1),
    );
    if (low > x0 + 5) parts.push(svgLine(low, wy - 3, low, wy + 3, 'var(--ink,#1d1c1a)', 1));
  }
  const inside = fitText(name, x1 - x0 - 14, 11);
  const whole = inside === name || textEms(name) * 11 > roomTo - x1 - 6;
  if (whole && inside !== '') parts.push(svgText(x0 + 9, middle, inside, { size: 11 }));
  else if (!whole) parts.push(svgText(x1 + 5, middle, name, { size: 11, halo: true }));
  parts.push('</g>');
  return parts.join('');
}

function upright(
  instant: string | undefined,
  word: string,
  plan: Plan,
  at: (instant: string) => number,
  bottom: number,
  fromMs: number,
  toMs: number,
  stroke: string,
): string {
  if (instant === undefined || Date.parse(instant) < fromMs || Date.parse(instant) > toMs) return '';
  const x = at(instant);
  return (
    svgLine(x, TOP - 8, x, bottom + 28, stroke, 1.6) +
    svgText(x - 4, bottom + 28, `${word} ${hourText(instant, plan)}`, { anchor: 'end', size: 10, halo: true })
  );
}

function legend(plan: Plan, y: number, left: number): string {
  const items: [string, string][] = [
    ['present', svgRect(0, -9, 16, 11, 'var(--band,#f6efda)', ' stroke="var(--line,#d9d4c8)"')],
    ['asleep at home', svgRect(0, -9, 16, 11, 'var(--night,#d9d7e6)')],
    [
      'the run may end in this time (80 %)',
      `${svgLine(0, -4, 16, -4, 'var(--ink,#1d1c1a)', 1)}${svgLine(16, -8, 16, 0, 'var(--ink,#1d1c1a)', 1)}${svgLine(3, -7, 3, -1, 'var(--ink,#1d1c1a)', 1)}`,
    ],
    ['the person is needed', '<path d="M8,-9l5,9h-10z" fill="var(--accent,#3a3f9f)"/>'],
  ];
  let x = left;
  const out: string[] = [];
  for (const [word, mark] of items) {
    if (word === 'the person is needed' && plan.todo.length === 0) continue;
    out.push(
      `<g transform="translate(${num(x)},${num(y)})">${mark}</g>`,
      svgText(x + 22, y, word, { soft: true, size: 11 }),
    );
    x += 40 + textEms(word) * 11;
  }
  return out.join('');
}
