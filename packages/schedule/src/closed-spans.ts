import type { Hours, Instant, Printer } from '@stonehand/model';
import { outOfServiceS } from './out-of-service.ts';
import { type PresenceSpan, presenceSpans } from './presence.ts';

type Span = readonly [from: number, to: number];

/**
 * When a printer neither runs nor is worked at, in seconds from `from`, sorted and apart: out of service; while the person is as
 * the printer may not be left alone (asleep at home and away are told apart); loud ones in the quiet hours.
 */
export function closedSpans(printer: Printer, hours: Hours, from: Instant, presence: readonly PresenceSpan[]): Span[] {
  const startS = presence[0]?.fromS ?? 0;
  const { unattended, aloneWhile, loud } = printer;
  const spans: Span[] = outOfServiceS(printer, hours.timeZone, from);
  if (unattended && aloneWhile !== undefined)
    for (const { fromS, toS, kind } of presence)
      if (kind !== 'present' && !aloneWhile.includes(kind)) spans.push([fromS - startS, toS - startS]);
  if (loud === true && hours.quiet !== undefined) spans.push(...quietSpans(hours, from, presence));
  return joined(spans);
}

function quietSpans(hours: Hours, from: Instant, presence: readonly PresenceSpan[]): Span[] {
  const day = hours.quiet!.map((span) => ({ ...span, kind: 'asleep' as const }));
  const weekly: Hours['weekly'] = { mon: day, tue: day, wed: day, thu: day, fri: day, sat: day, sun: day };
  const to = new Date(1000 * presence.at(-1)!.toS).toISOString();
  const startS = presence[0]!.fromS;
  return presenceSpans({ ...hours, otherwise: 'present', weekly, exceptions: {} }, from, to)
    .filter(({ kind }) => kind === 'asleep')
    .map(({ fromS, toS }) => [fromS - startS, toS - startS] as const);
}

function joined(spans: readonly Span[]): Span[] {
  const sorted = [...spans].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const out: Span[] = [];
  for (const [from, to] of sorted) {
    const last = out.at(-1);
    if (last !== undefined && from <= last[1]) out[out.length - 1] = [last[0], Math.max(last[1], to)];
    else out.push([from, to]);
  }
  return out;
}
