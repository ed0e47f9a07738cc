import type { Placed, Printer } from '@stonehand/model';
import { type Able, forPrinter, groupsOf, type SecondsFor } from './able-copies.ts';
import type { Bench } from './arrange.ts';
import { layoutOf, lossAt, setPlace } from './layout.ts';
import { plateOf, shapeOfItem } from './nest-item.ts';
import { draftOf, type PlateDraft } from './plate-draft.ts';

/** A plate that was accepted: its copies stay where they lie. */
export type KeptPlate = Readonly<{ printerId: string; placed: readonly Placed[] }>;

/**
 * Plates taken over as they are, less the copies that are no longer to print. One that its printer cannot take any more (a copy
 * may not go there, runs too long, or now overlaps another or the edge) is taken apart, with the reason.
 */
export function keptPlates(
  kept: readonly KeptPlate[],
  able: readonly Able[],
  printers: readonly Printer[],
  bench: Bench,
  seconds: SecondsFor,
): Readonly<{ plates: PlateDraft[]; rest: Able[]; notes: string[] }> {
  const byId = new Map(able.map((one) => [one.item.copyId, one]));
  const plates: PlateDraft[] = [];
  const notes: string[] = [];
  const on = new Set<string>();
  for (const { printerId, placed } of kept) {
    const here = placed.filter(({ copyId }) => byId.has(copyId) && !on.has(copyId));
    const printer = printers.find(({ id }) => id === printerId);
    if (here.length === 0 || printer === undefined) continue;
    const copies = here.map(({ copyId }) => byId.get(copyId)!);
    const why = whyNot(copies, here, printer, bench, seconds);
    if (why !== undefined) {
      notes.push(`the accepted plate with ${here[0]!.copyId} on ${printerId} is made anew: ${why}`);
      continue;
    }
    for (const { copyId } of here) on.add(copyId);
    const items = copies.map(({ item }) => item);
    const area = items.reduce((sum, item) => sum + shapeOfItem(bench.shapes, item).areaMm2, 0);
    plates.push(draftOf(here, area / plateOf(bench.shapes, printer).areaMm2, items, printer, seconds));
  }
  return { plates, rest: able.filter(({ item }) => !on.has(item.copyId)), notes };
}

function whyNot(
  copies: readonly Able[],
  placed: readonly Placed[],
  printer: Printer,
  bench: Bench,
  seconds: SecondsFor,
): string | undefined {
  const stranger = copies.find((one) => !one.seconds.has(printer.id));
  if (stranger !== undefined) return `${stranger.item.copyId} cannot be printed there`;
  if (groupsOf(copies).length > 1) return 'its copies no longer share material and recipe';
  const items = copies.map(({ item }) => item);
  if (seconds(items, printer) > printer.longestRunS) return 'it runs longer than the printer may';
  const layout = layoutOf({
    shapes: copies.map((one) => shapeOfItem(bench.shapes, forPrinter(one, printer, bench))),
    turnsDeg: placed.map(({ turnDeg }) => [turnDeg]),
    items: copies.map((_, i) => i),
    containers: [plateOf(bench.shapes, printer)],
    // Files keep thousandths of a millimetre.
    tolMm: 0.005,
    store: bench.store,
  });
  placed.forEach(({ xMm, yMm }, i) => {
    setPlace(layout, i, layout.variant[i]!, xMm, yMm, 0);
  });
  const bad = placed.findIndex(
    ({ xMm, yMm }, i) => lossAt(layout, i, layout.variant[i]!, xMm, yMm, 0, Number.POSITIVE_INFINITY) > 0,
  );
  return bad < 0 ? undefined : `${placed[bad]!.copyId} comes too near to another or to the edge`;
}
