import type { Plate, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { acceptedCopies, draftOf } from './keep-plates.ts';
import { figuredPlate, nestItem, pieceIdOf } from './make-plates.ts';
import { otherPrinterTask } from './other-printer-task.ts';

/** A plate, and the same copies as they would lie on other printers. */
export type PlateChoices = Readonly<{ plate: Plate; others: readonly Plate[] }>;
/** What plates are made of. */
export type Bench = Readonly<{
  engine: Engine;
  workspace: Workspace;
  pieces: ReadonlyMap<string, SlicedPiece>;
  seed: number;
}>;

/** Asks for every plate on which other printers its copies would lie together. */
export async function plateChoices(bench: Bench, plates: readonly Plate[]): Promise<PlateChoices[]> {
  const accepted = acceptedCopies(bench.workspace);
  const isAccepted = ({ placed }: Plate): boolean => placed.some(({ copyId }) => accepted.has(copyId));
  const asked = plates.flatMap((plate) =>
    bench.workspace.printers
      .filter((printer) => printer.id !== plate.printerId && !isAccepted(plate) && allMay(bench, plate, printer.id))
      .map((printer) => ({ plate, printer })),
  );
  const outcomes = await bench.engine.map(
    otherPrinterTask,
    asked.map(({ plate, printer }) => ({ items: itemsOn(bench, plate), printer, seed: bench.seed })),
    'other printers',
  );
  return plates.map((plate) => ({
    plate,
    others: asked.flatMap(({ plate: of, printer }, i): Plate[] => {
      const outcome = outcomes[i]!;
      if (of !== plate || !outcome.ok || outcome.value === null) return [];
      const { placed, usedShare } = outcome.value;
      return [plateOf(bench, placed, printer.id, usedShare)];
    }),
  }));
}

/** A plate of these places, with its figures. */
export function plateOf(
  { workspace, pieces }: Bench,
  placed: Plate['placed'],
  printerId: string,
  usedShare?: number,
): Plate {
  const printer = workspace.printers.find(({ id }) => id === printerId)!;
  const on = placed.map(({ copyId }) => pieces.get(pieceIdOf(copyId))!);
  const draft = draftOf(on, placed, printer);
  return figuredPlate({ ...draft, ...(usedShare === undefined ? {} : { usedShare }) }, pieces, workspace);
}

export function itemsOn({ pieces }: Bench, plate: Pick<Plate, 'placed'>): ReturnType<typeof nestItem>[] {
  return plate.placed.map(({ copyId }) => nestItem({ copyId, piece: pieces.get(pieceIdOf(copyId))! }));
}

function allMay({ pieces }: Bench, plate: Plate, printerId: string): boolean {
  return plate.placed.every(({ copyId }) =>
    pieces.get(pieceIdOf(copyId))!.estimates.some((estimate) => estimate.printerId === printerId),
  );
}
