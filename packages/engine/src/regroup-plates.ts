import type { Plate } from '@stonehand/model';
import { type ScheduleInput, scheduleRuns } from '@stonehand/schedule';
import type { SlicedPiece } from './estimate-pieces.ts';
import { acceptedCopies } from './keep-plates.ts';
import { pieceIdOf } from './make-plates.ts';
import { otherPrinterTask } from './other-printer-task.ts';
import { type Bench, itemsOn, type PlateChoices, plateChoices, plateOf } from './plate-choices.ts';

/** A trial plans the window with a short search, a third of a second for the plates of sixty copies. */
const MOST_TRIALS = 8;
const TRIAL_ROUNDS = 12;
const TRIAL_EXACT_JOBS = 8;
const WORTH_MORE = 1.001;

/**
 * Looks for plates that get more into the window: a plate that waits is taken apart, or one of its copies is laid beside what
 * runs anyway, as far as packing finds room. A change stays when more comes off the printers (importance × grams). Without
 * a window all gets done and nothing is regrouped.
 */
export async function regroupPlates(
  bench: Bench,
  plates: readonly Plate[],
  inputFor: (choices: readonly PlateChoices[]) => ScheduleInput,
): Promise<PlateChoices[]> {
  let here = await plateChoices(bench, plates);
  if (inputFor(here).to === undefined) return here;
  let best = trial(here, bench, inputFor);
  let trials = 0;
  for (let found = true; found && trials < MOST_TRIALS; ) {
    found = false;
    for await (const change of changes(bench, here, best)) {
      if (trials++ >= MOST_TRIALS) break;
      const next = await changed(bench, here, change);
      const result = trial(next, bench, inputFor);
      if (result.worth <= best.worth * WORTH_MORE) continue;
      here = next;
      best = result;
      found = true;
      break;
    }
  }
  return here;
}

type Trial = Readonly<{ worth: number; runs: ReadonlySet<string>; noRoom: ReadonlySet<string> }>;
type Change = Readonly<{ without: readonly Plate[]; plates: readonly Plate[] }>;

function trial(
  choices: readonly PlateChoices[],
  { pieces }: Bench,
  inputFor: (choices: readonly PlateChoices[]) => ScheduleInput,
): Trial {
  const { runs, waiting } = scheduleRuns({ ...inputFor(choices), rounds: TRIAL_ROUNDS, exactJobs: TRIAL_EXACT_JOBS });
  const ran = new Set(runs.filter((run) => run.state === 'planned').map((run) => run.plateId));
  let worth = 0;
  for (const { plate } of choices) if (ran.has(plate.id)) worth += worthOf(plate, pieces);
  const noRoom = waiting.filter(({ cause }) => cause === 'room').map(({ plateId }) => plateId);
  return { worth, runs: ran, noRoom: new Set(noRoom) };
}

function worthOf(plate: Plate, pieces: ReadonlyMap<string, SlicedPiece>): number {
  return plate.placed.reduce((sum, { copyId }) => {
    const { work, estimates } = pieces.get(pieceIdOf(copyId))!;
    return sum + work.part.spec.importance * (estimates[0]?.massG.value ?? 0);
  }, 0);
}

async function changed(
  bench: Bench,
  here: readonly PlateChoices[],
  { without, plates }: Change,
): Promise<PlateChoices[]> {
  return [...here.filter(({ plate }) => !without.includes(plate)), ...(await plateChoices(bench, plates))];
}

/** Those that wait for room, the most worth first: in halves, then a copy beside what runs. */
async function* changes(bench: Bench, here: readonly PlateChoices[], { runs, noRoom }: Trial): AsyncGenerator<Change> {
  // What is accepted, or said to lie together or apart, is not for trying.
  const accepted = acceptedCopies(bench.workspace);
  const isFree = ({ placed }: Plate): boolean =>
    placed.every(({ copyId }) => {
      const { together, apart } = bench.pieces.get(pieceIdOf(copyId))!.work.part.spec;
      return !accepted.has(copyId) && together === undefined && apart === undefined;
    });
  const waiting = here.map(({ plate }) => plate).filter((plate) => noRoom.has(plate.id) && isFree(plate));
  waiting.sort((a, b) => worthOf(b, bench.pieces) - worthOf(a, bench.pieces) || (a.id < b.id ? -1 : 1));
  for (const plate of waiting) {
    if (plate.placed.length < 2) continue;
    const [first, second] = halves(plate);
    yield { without: [plate], plates: [first, second].map((placed) => plateOf(bench, placed, plate.printerId)) };
  }
  for (const plate of waiting) {
    for (const { plate: other } of here.filter((one) => runs.has(one.plate.id) && isFree(one.plate))) {
      if (other.recipeId !== plate.recipeId || other.materialIds.join() !== plate.materialIds.join()) continue;
      const moved = plate.placed[0]!;
      const printer = bench.workspace.printers.find(({ id }) => id === other.printerId)!;
      const items = itemsOn(bench, { placed: [...other.placed, moved] });
      if (items.some(({ choices }) => !choices.some(({ printerId }) => printerId === printer.id))) continue;
      const [outcome] = await bench.engine.map(otherPrinterTask, [{ items, printer, seed: bench.seed }], 'regrouping');
      if (!outcome!.ok || outcome!.value === null) continue;
      const { placed, usedShare } = outcome!.value;
      const rest = plate.placed.slice(1);
      yield {
        without: [plate, other],
        plates: [
          plateOf(bench, placed, printer.id, usedShare),
          ...(rest.length === 0 ? [] : [plateOf(bench, rest, plate.printerId)]),
        ],
      };
    }
  }
}

/** By kind where there are several, else by number; each copy keeps its place on the plate. */
function halves({ placed }: Plate): [Plate['placed'], Plate['placed']] {
  const kinds = [...new Set(placed.map(({ copyId }) => pieceIdOf(copyId)))];
  const cut = kinds.length > 1 ? new Set(kinds.slice(0, Math.ceil(kinds.length / 2))) : undefined;
  const first = placed.filter(({ copyId }, i) =>
    cut === undefined ? i < Math.ceil(placed.length / 2) : cut.has(pieceIdOf(copyId)),
  );
  return [first, placed.filter((one) => !first.includes(one))];
}
