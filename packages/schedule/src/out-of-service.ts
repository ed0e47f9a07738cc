import type { Instant, Printer } from '@stonehand/model';
import { parseMoment, toEpochS } from './moment.ts';

/** Periods out of service as seconds from `from`. A bare date as the end of a period means the end of that day. */
export function outOfServiceS(printer: Printer, timeZone: string, from: Instant): (readonly [number, number])[] {
  const momentS = (text: string, asEnd: boolean): number => {
    const bareDate = /^\d{4}-\d{2}-\d{2}$/.test(text.trim());
    return (
      toEpochS(parseMoment(asEnd && bareDate ? `${text.trim()} 24:00` : text, { timeZone, reference: from })) -
      toEpochS(from)
    );
  };
  return (printer.outOfService ?? []).map((period) => [momentS(period.from, false), momentS(period.to, true)] as const);
}
