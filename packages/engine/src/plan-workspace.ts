import { hashValue, StonehandError } from '@stonehand/base';
import type { Assembly, HardwareItem, Instant, PartSummary, Plan, Reading, Workspace } from '@stonehand/model';
import { parseMoment } from '@stonehand/schedule';
import { assemblyMasses } from './assembly-masses.ts';
import { codeVersion, programVersion } from './code-version.ts';
import { consumables } from './consumables.ts';
import { correctedPieces } from './corrected-pieces.ts';
import { type Engine, errorOfFault } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { itemsApart } from './items-apart.ts';
import { jointHardware } from './joint-stock.ts';
import { basisOf, keptPlates } from './keep-plates.ts';
import { learnedFailures } from './learned-failures.ts';
import { makePlates } from './make-plates.ts';
import { makeQueue, type QueueOf, scheduleInput } from './make-queue.ts';
import { mixedLots } from './mixed-lots.ts';
import { outlinesOf } from './outline-task.ts';
import { partReadings, whyNotClosed } from './part-readings.ts';
import { copiesToPrint, type PartWork, partWorks } from './part-work.ts';
import { type PartOutcome, partOutcomes } from './pieces.ts';
import { plateChoices } from './plate-choices.ts';
import { withPrintedPoses } from './printed-poses.ts';
import { regroupPlates } from './regroup-plates.ts';
import { copiesUnderWay, underWay } from './under-way.ts';

export type PlanOptions = Readonly<{
  from: Instant;
  to?: Instant;
  seed?: number;
  /** budget of every search instead of each one's own default */
  rounds?: number;
  /** instead of the workspace's own */
  platesAim?: 'surest' | 'fewest';
  /** the plan before: its plates and runs stay where they are, as far as they can */
  earlier?: Plan;
  /** ask what other hours and printers would change, even when all is well */
  whatIf?: boolean;
}>;

/** The plan, and the sliced pieces with their meshes for whoever draws or writes them. */
export type PlanResult = Readonly<{ plan: Plan; pieces: readonly SlicedPiece[]; parts: readonly PartOutcome[] }>;

const PLAN_SCHEMA_VERSION = 1;

/**
 * The whole line: measure, pose, fit, cut, slice, estimate, pack, queue, buy, weigh. A part that cannot be read or printed is named among what waits,
 * and the rest goes on.
 */
export async function planWorkspace(engine: Engine, stated: Workspace, options: PlanOptions): Promise<PlanResult> {
  const { printers, says } = learnedFailures(stated.printers, stated.ledger);
  const workspace = await itemsApart(engine, { ...withInstants(stated), printers });
  const { from, to, seed = workspace.seed, rounds, earlier } = options;
  const budget = { seed, ...(rounds === undefined ? {} : { rounds }) };
  const works = await partWorks(engine, workspace);
  const readings = await readingsOf(engine, works);
  const outcomes = closedOnly(await partOutcomes(engine, works, withPrintedPoses(workspace, works), budget), readings);
  const sliced = await correctedPieces(engine, workspace, outcomes);
  const now = underWay(workspace, sliced.pieces);
  const copies = sliced.pieces.flatMap((piece) =>
    copiesToPrint(piece.piece.id, piece.work.part.spec, workspace.ledger)
      .filter((copyId) => !now.copyIds.has(copyId))
      .map((copyId) => ({ copyId, piece })),
  );
  const hash = inputsHash(workspace, works, options);
  // Asked the same again, it keeps to the same: only news lets a plan follow the plan before it.
  const basis = earlier?.inputsHash === hash ? earlier.follows : earlier === undefined ? undefined : basisOf(earlier);
  const kept = keptPlates(workspace, copies, basis);
  const plates = await makePlates(engine, workspace, copies, budget, options.platesAim, kept);
  const byId = new Map(sliced.pieces.map((piece) => [piece.piece.id, piece]));
  const of: QueueOf = {
    workspace,
    pieces: byId,
    from,
    budget,
    now,
    ...(to === undefined ? {} : { to }),
    ...(basis === undefined ? {} : { basis }),
  };
  const bench = { engine, workspace, pieces: byId, seed };
  // What is planned stays as it is: only a plan from nothing takes plates apart again.
  const choices =
    basis === undefined
      ? await regroupPlates(bench, plates.plates, (given) => scheduleInput(given, of))
      : await plateChoices(bench, plates.plates);
  const queue = await makeQueue(engine, choices, { ...of, whatIf: options.whatIf === true });
  const waiting = [...unprintable(outcomes, sliced.faults, workspace), ...plates.unplaced, ...queue.waiting];
  const plan: Plan = {
    schemaVersion: PLAN_SCHEMA_VERSION,
    madeBy: `stonehand ${programVersion()}`,
    name: workspace.name,
    planFrom: from,
    ...(to === undefined ? {} : { planTo: to }),
    timeZone: workspace.timeZone,
    unitsShown: workspace.unitsShown,
    seed,
    inputsHash: hash,
    printers: workspace.printers,
    materials: workspace.materials,
    recipes: workspace.recipes,
    spools: workspace.spools,
    hardware: [...dated(mountedHardware(workspace), queue, from), ...jointHardware(outcomes)],
    parts: outcomes.map(summaryOfPart),
    readings,
    pieces: sliced.pieces.map(({ piece }) => piece),
    estimates: sliced.pieces.flatMap(({ estimates }) => estimates),
    plates: [...now.plates, ...queue.plates],
    runs: queue.runs,
    presence: queue.presence,
    todo: queue.todo,
    searches: [...outcomes.flatMap(({ searches }) => searches), ...plates.searches, queue.search],
    fits: outcomes.filter(({ part }) => part.spec.status === 'print').flatMap(({ fits }) => fits),
    buy: queue.buy,
    buyAll: queue.buyAll,
    shapes: await outlinesOf(engine, outcomes),
    mass: await assemblyMasses(engine, workspace, outcomes, sliced.pieces),
    ...(workspace.deadline === undefined ? {} : { deadline: workspace.deadline }),
    ...(queue.finish === undefined ? {} : { finish: queue.finish }),
    ...(queue.onTimeChance === undefined ? {} : { onTimeChance: queue.onTimeChance }),
    ...(queue.outlook === undefined ? {} : { outlook: queue.outlook }),
    consumables: consumables(workspace, sliced.pieces, readings),
    ...(workspace.currency === undefined ? {} : { currency: workspace.currency }),
    waiting,
    ...(basis === undefined ? {} : { follows: basis, moved: queue.moved }),
    assumed: [...workspace.assumed, ...says, ...plates.notes, ...now.doubts],
    cautions: [...queue.cautions, ...mixedLots(queue.plates, queue.runs, sliced.pieces, workspace.spools)],
  };
  return { plan, pieces: sliced.pieces, parts: outcomes };
}

/** A deadline may be written as local time. */
function withInstants(workspace: Workspace): Workspace {
  const { deadline, timeZone } = workspace;
  return deadline === undefined ? workspace : { ...workspace, deadline: parseMoment(deadline, { timeZone }) };
}

/** Parts to be printed whose mesh is not closed keep their fit and wait. */
function closedOnly(outcomes: readonly PartOutcome[], readings: readonly Reading[]): PartOutcome[] {
  const byPart = new Map(readings.map((reading) => [reading.partId, reading]));
  return outcomes.map((outcome) => {
    const { spec } = outcome.part;
    const reading = byPart.get(spec.id);
    const why = spec.status !== 'print' || reading === undefined ? undefined : whyNotClosed(reading);
    return why === undefined ? outcome : { ...outcome, pieces: [], why };
  });
}

async function readingsOf(engine: Engine, works: readonly PartWork[]): Promise<Reading[]> {
  const readable = works.filter((work) => work.ref !== undefined);
  const outcomes = await partReadings(engine, readable);
  const faults = outcomes.flatMap((outcome) => (outcome.ok ? [] : [outcome.fault]));
  // Nothing readable at all is not a plan.
  if (readable.length > 0 && faults.length === readable.length) throw errorOfFault(faults[0]!);
  if (works.length === 0)
    throw new StonehandError(
      'USAGE',
      'there is no part to plan',
      'List parts in an assembly.yaml, or name a folder that holds mesh files.',
    );
  return outcomes.flatMap((outcome) => (outcome.ok ? [outcome.value] : []));
}

function unprintable(
  outcomes: readonly PartOutcome[],
  faults: ReadonlyMap<string, string>,
  workspace: Workspace,
): Plan['waiting'] {
  const waiting: { copyId: string; reason: string }[] = [];
  const onPrinter = copiesUnderWay(workspace.ledger);
  for (const { part, pieces, why } of outcomes) {
    const reason = why ?? pieces.map((piece) => faults.get(piece.id)).find((fault) => fault !== undefined);
    if (reason === undefined) continue;
    const ids =
      pieces.length > 0 ? pieces.filter((piece) => faults.has(piece.id)).map((piece) => piece.id) : [part.spec.id];
    for (const id of ids)
      for (const copyId of copiesToPrint(id, part.spec, workspace.ledger))
        if (!onPrinter.has(copyId)) waiting.push({ copyId, reason });
  }
  return waiting;
}

/** What a table of parts needs to know of one. */
export function summaryOfPart({ part: { spec }, poses, pieces }: PartOutcome): PartSummary {
  const { id, name, assemblyId, meshFile, quantity, materialId, recipeId, status, putIn, finishing } = spec;
  return {
    id,
    name,
    assemblyId,
    meshFile,
    quantity,
    materialId,
    recipeId,
    status,
    pieceIds: pieces.map((piece) => piece.id),
    poses,
    ...(putIn === undefined ? {} : { putIn }),
    ...(finishing.length === 0 ? {} : { finishing }),
  };
}

function mountedHardware(workspace: Workspace): Plan['hardware'] {
  const totals = new Map<string, number>();
  const count = (assembly: Assembly): void => {
    for (const { itemId, quantity } of assembly.hardware) totals.set(itemId, (totals.get(itemId) ?? 0) + quantity);
    for (const child of assembly.children) count(child.assembly);
  };
  workspace.assemblies.forEach(count);
  const items = new Map<string, HardwareItem>(workspace.hardware.map((item) => [item.id, item]));
  return [...totals].flatMap(([id, quantity]) => {
    const item = items.get(id);
    return item === undefined ? [] : [{ item, quantity }];
  });
}

const DAY_MS = 86_400_000;

/** Bought items are wanted when the last run ends and putting together begins. */
function dated(hardware: Plan['hardware'], { outlook }: Pick<Plan, 'outlook'>, from: Instant): Plan['hardware'] {
  const wanted = outlook?.forecasts.find(({ printing }) => printing === 'asStated')?.finish;
  return hardware.map((row) => {
    const { leadDays } = row.item;
    if (wanted === undefined || leadDays === undefined) return row;
    const at = Date.parse(wanted) - leadDays * DAY_MS;
    const orderBy = new Date(at).toISOString().slice(0, 10);
    return { ...row, orderBy, ...(at < Date.parse(from) ? { late: true } : {}) };
  });
}

function inputsHash(workspace: Workspace, works: readonly PartWork[], options: PlanOptions): string {
  const { root: _, ...said } = workspace;
  const { earlier: __, whatIf: ___, ...asked } = options;
  return hashValue({
    code: codeVersion(),
    said,
    options: asked,
    meshes: works.map((work) => work.ref?.contentHash ?? null),
  });
}
