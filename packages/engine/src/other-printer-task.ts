import type { Placed, Printer } from '@stonehand/model';
import { type NestItem, packPlate } from '@stonehand/nest';
import type { Task } from './engine.ts';
import { CLEARANCE_MM } from './plate-task.ts';

export type OtherPrinterInput = Readonly<{ items: readonly NestItem[]; printer: Printer; seed: number }>;
export type OtherPrinterOutcome = Readonly<{ placed: readonly Placed[]; usedShare: number }> | null;

/** A plate that a queue might use is not worth the search that a plate of its own gets. */
const ROUNDS = 40;

/** The same copies on one printer's plate, or null where the search does not get all of them on. */
export const otherPrinterTask: Task<OtherPrinterInput, OtherPrinterOutcome> = {
  name: 'other-printer',
  keyed: ({ items, printer, seed }) => ({
    items,
    seed,
    printer: [printer.id, printer.usable, printer.keepOut, printer.heightMm],
  }),
  async run({ items, printer, seed }) {
    const { placed, left, usedShare } = packPlate(items, printer, { clearanceMm: CLEARANCE_MM, rounds: ROUNDS, seed });
    return left.length > 0 ? null : { placed, usedShare };
  },
};
