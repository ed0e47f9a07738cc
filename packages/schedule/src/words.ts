import { DateTime } from 'luxon';

/** "18:22", or "Sat 03:40" when it is not the day of `besideS`, or "6 Jun 03:40" a week away and more. */
export function clockText(epochS: number, besideS: number, timeZone: string): string {
  const moment = DateTime.fromSeconds(epochS, { zone: timeZone }).setLocale('en-GB');
  const beside = DateTime.fromSeconds(besideS, { zone: timeZone });
  const days = Math.round(moment.startOf('day').diff(beside.startOf('day'), 'days').days);
  if (days === 0) return moment.toFormat('HH:mm');
  return moment.toFormat(Math.abs(days) < 7 ? 'ccc HH:mm' : 'd LLL HH:mm');
}
