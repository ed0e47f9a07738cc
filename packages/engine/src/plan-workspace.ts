import { hashValue, StonehandError } from '@stonehand/base';
import type { Assembly, HardwareItem, Instant, PartSummary, Plan, Reading, Workspace } from '@stonehand/model';
import { parseMoment } from '@stonehand/schedule';
import { assemblyMasses } from './assembly-masses.ts';
import { codeVersion, programVersion } from './code-version.ts';
import { correctedPieces } from './corrected-pieces.ts';
import { type Engine, errorOfFault } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { itemsApart } from './items-apart.ts';
import { learnedFailures } from './learned-failures.ts';
import { makePlates } from './make-plates.ts';
import { makeQueue } from './make-queue.ts';
import { mixedLots } from './mixed-lots.ts';
import { outlinesOf } from './outline-task.ts';
import { partReadings, whyNotClosed } from './part-readings.ts';
import { copiesToPrint, type PartWork, partWorks } from './part-work.ts';
import { type PartOutcome, partOutcomes } from './pieces.ts';

export type PlanOptions = Readonly<{
  from: Instant;
  to?: Instant;
  seed?: number;
  /** budget of every search instead of each one's own default */
  rounds?: number;
  /** instead of the workspace's own */
  platesAim?: 'surest' | 'fewest';
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
  const { from, to, seed = workspace.seed, rounds } = options;
  const budget = { seed, ...(rounds === undefined ? {} : { rounds }) };
  const works = await partWorks(engine, workspace);
  const readings = await readingsOf(engine, works);
  const outcomes = closedOnly(await partOutcomes(engine, works, workspace, budget), readings);
  const sliced = await correctedPieces(engine, workspace, outcomes);
  const copies = sliced.pieces.flatMap((piece) =>
    copiesToPrint(piece.piece.id, piece.work.part.spec, workspace.ledger).map((copyId) => ({ copyId, piece })),
  );
  const plates = await makePlates(engine, workspace, copies, budget, options.platesAim);
  const queue = await makeQueue(engine, workspace, plates.plates, sliced.pieces, {
    from,
    budget,
    ...(to === undefined ? {} : { to }),
  });
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
    inputsHash: inputsHash(workspace, works, options),
    printers: workspace.printers,
    materials: workspace.materials,
    recipes: workspace.recipes,
    spools: workspace.spools,
    hardware: mountedHardware(workspace),
    parts: outcomes.map(summaryOfPart),
    readings,
    pieces: sliced.pieces.map(({ piece }) => piece),
    estimates: sliced.pieces.flatMap(({ estimates }) => estimates),
    plates: plates.plates,
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
    waiting,
    assumed: [...workspace.assumed, ...says, ...plates.notes],
    cautions: [...queue.cautions, ...mixedLots(plates.plates, queue.runs, sliced.pieces, workspace.spools)],
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
  for (const { part, pieces, why } of outcomes) {
    const reason = why ?? pieces.map((piece) => faults.get(piece.id)).find((fault) => fault !== undefined);
    if (reason === undefined) continue;
    const ids =
      pieces.length > 0 ? pieces.filter((piece) => faults.has(piece.id)).map((piece) => piece.id) : [part.spec.id];
    for (const id of ids)
      for (const copyId of copiesToPrint(id, part.spec, workspace.ledger)) waiting.push({ copyId, reason });
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

function inputsHash(workspace: Workspace, works: readonly PartWork[], options: PlanOptions): string {
  const { root: _, ...said } = workspace;
  return hashValue({ code: codeVersion(), said, options, meshes: works.map((work) => work.ref?.contentHash ?? null) });
}
