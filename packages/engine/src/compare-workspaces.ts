import { existsSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import type { BaseChange } from '@stonehand/inspect';
import type { Figure, MassReport, PartSpec, Plan, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import type { MeshRef } from './mesh-ref.ts';
import { copiesToPrint, type PartWork, partWorks } from './part-work.ts';
import { baseTask, revisionTask } from './revision-tasks.ts';

export type Revision = Readonly<{ workspace: Workspace; plan: Plan }>;

/** What became of one part from one revision of a workspace to the next. */
export type PartChange = Readonly<{
  partId: string;
  /** its name before, where it was renamed */
  was?: string;
  what: 'same' | 'changed' | 'renamed' | 'added' | 'removed';
  /** in words: how it differs beside its shape */
  how: readonly string[];
  /** between the surfaces, best aligned */
  distanceMm?: Readonly<{ mean: number; most: number }>;
  volumeMm3?: readonly [number, number];
  copies: number;
  /** copies that the ledger of the newer workspace has already */
  there: number;
  /** of all its copies, before and after */
  massG: readonly [number, number];
  durationS: readonly [number, number];
  bases: readonly Readonly<{ file: string; change: BaseChange; touches: boolean }>[];
  advice: 'nothing' | 'keep what is printed' | 'print' | 'print again' | 'rework, then print again' | 'drop';
}>;

export type WorkspaceComparison = Readonly<{
  parts: readonly PartChange[];
  /** what has to be printed because of the new revision */
  again: Readonly<{ massG: number; durationS: number; parts: number }>;
  assemblies: readonly Readonly<{ assemblyId: string; massG: readonly [Figure | undefined, Figure | undefined] }>[];
}>;

/** Part by part what a new revision of a workspace changes, what of it must be printed again, and what that does to the masses. */
export async function compareWorkspaces(engine: Engine, a: Revision, b: Revision): Promise<WorkspaceComparison> {
  const [before, after] = [await partWorks(engine, a.workspace), await partWorks(engine, b.workspace)];
  const pairs = await pairUp(engine, before, after);
  const parts: PartChange[] = [];
  for (const pair of pairs) parts.push(await changeOf(engine, a, b, pair));
  const printed = parts.filter(({ advice }) => /print$|print again$/.test(advice));
  return {
    parts,
    again: {
      massG: printed.reduce((sum, { massG }) => sum + massG[1], 0),
      durationS: printed.reduce((sum, { durationS }) => sum + durationS[1], 0),
      parts: printed.length,
    },
    assemblies: assemblyMasses(a.plan, b.plan),
  };
}

type Pair = Readonly<{ old?: PartWork; now?: PartWork }>;

/** By id; then what is left over by its shape: a part that was renamed. */
async function pairUp(engine: Engine, before: readonly PartWork[], after: readonly PartWork[]): Promise<Pair[]> {
  const oldById = new Map(before.map((work) => [work.spec.id, work]));
  const newIds = new Set(after.map((work) => work.spec.id));
  const gone = new Set(before.filter((work) => !newIds.has(work.spec.id)));
  const pairs: Pair[] = [];
  for (const now of after) {
    const old = oldById.get(now.spec.id) ?? (await sameShapeAmong(engine, [...gone], now));
    if (old !== undefined) gone.delete(old);
    pairs.push(old === undefined ? { now } : { old, now });
  }
  return [...pairs, ...[...gone].map((old): Pair => ({ old }))];
}

async function sameShapeAmong(
  engine: Engine,
  gone: readonly PartWork[],
  { ref }: PartWork,
): Promise<PartWork | undefined> {
  const readable = gone.filter((work) => work.ref !== undefined);
  if (ref === undefined || readable.length === 0) return undefined;
  const outcomes = await engine.map(
    revisionTask,
    readable.map((work) => ({ a: work.ref!, b: ref })),
    'renamed parts',
  );
  return readable.find((_, i) => {
    const outcome = outcomes[i]!;
    return outcome.ok && outcome.value.same && !outcome.value.mirrored && Math.abs(outcome.value.scale - 1) < 1e-6;
  });
}

async function changeOf(engine: Engine, a: Revision, b: Revision, { old, now }: Pair): Promise<PartChange> {
  const spec = (now ?? old)!.spec;
  const cost = {
    massG: [costOf(a.plan, old?.spec).massG, costOf(b.plan, now?.spec).massG],
    durationS: [costOf(a.plan, old?.spec).durationS, costOf(b.plan, now?.spec).durationS],
  } as const;
  const there = now === undefined ? 0 : thereAlready(b.workspace, now.spec, old?.spec.id);
  const base = { partId: spec.id, copies: spec.quantity, there, ...cost };
  if (now === undefined) return { ...base, what: 'removed', how: [], bases: [], advice: 'drop' };
  if (old === undefined) return { ...base, what: 'added', how: [], bases: [], advice: 'print' };
  const shape =
    old.ref === undefined || now.ref === undefined
      ? undefined
      : await engine.one(revisionTask, { a: old.ref, b: now.ref }, 'comparing');
  const alike = shape === undefined || (shape.same && !shape.mirrored && Math.abs(shape.scale - 1) < 1e-6);
  const how = settingsChanged(old.spec, now.spec);
  const bases = await basesOf(engine, a.workspace, b.workspace, now);
  const touched = bases.some(({ touches }) => touches);
  const renamed = old.spec.id !== now.spec.id;
  return {
    ...base,
    ...(renamed ? { was: old.spec.id } : {}),
    what: alike ? (renamed ? 'renamed' : 'same') : 'changed',
    how: alike || shape === undefined || !shape.mirrored ? how : ['mirrored', ...how],
    ...(alike ? {} : { distanceMm: { mean: shape!.distance.meanMm, most: shape!.distance.maxMm } }),
    ...(alike || shape?.volumeMm3 === undefined ? {} : { volumeMm3: shape.volumeMm3 }),
    bases,
    // A recipe or material that changed does not make what is printed wrong; a shape does.
    advice: touched
      ? 'rework, then print again'
      : !alike
        ? 'print again'
        : there > 0
          ? 'keep what is printed'
          : 'nothing',
  };
}

function settingsChanged(old: PartSpec, now: PartSpec): string[] {
  const how: string[] = [];
  const differ = (what: string, from: string | number, to: string | number): void => {
    if (from !== to) how.push(`${what} ${from} → ${to}`);
  };
  differ('quantity', old.quantity, now.quantity);
  differ('material', old.materialId, now.materialId);
  differ('recipe', old.recipeId, now.recipeId);
  return how;
}

/** The ledger may know a renamed part by its old name. */
function thereAlready(workspace: Workspace, spec: PartSpec, was: string = spec.id): number {
  if (spec.status !== 'print') return spec.quantity;
  const missing = [spec.id, was].map((id) => copiesToPrint(id, { ...spec, id }, workspace.ledger).length);
  return spec.quantity + spec.spares - Math.min(...missing);
}

function costOf(plan: Plan, spec: PartSpec | undefined): { massG: number; durationS: number } {
  const part = plan.parts.find(({ id }) => id === spec?.id);
  let massG = 0;
  let durationS = 0;
  for (const pieceId of part?.pieceIds ?? []) {
    const estimate = plan.estimates.find((one) => one.pieceId === pieceId);
    massG += (estimate?.massG.value ?? 0) * (spec?.quantity ?? 0);
    durationS += (estimate?.durationS.value ?? 0) * (spec?.quantity ?? 0);
  }
  return { massG, durationS };
}

/** Base files that lie in both workspaces and differ there: does the change touch what the rework kept? */
async function basesOf(engine: Engine, a: Workspace, b: Workspace, now: PartWork): Promise<PartChange['bases']> {
  if (now.ref === undefined) return [];
  const found: PartChange['bases'][number][] = [];
  for (const { file } of now.spec.basedOn) {
    const [oldBase, newBase] = await Promise.all([a, b].map((workspace) => baseRef(engine, workspace, now.spec, file)));
    if (oldBase === undefined || newBase === undefined || oldBase.contentHash === newBase.contentHash) continue;
    const change = await engine.one(baseTask, { oldBase, newBase, rework: now.ref }, 'bases');
    found.push({ file, change, touches: change.keptChangedShare > 0 });
  }
  return found;
}

/** Beside the part's mesh, or from the workspace's root. */
async function baseRef(
  engine: Engine,
  workspace: Workspace,
  spec: PartSpec,
  file: string,
): Promise<MeshRef | undefined> {
  const places = [resolve(workspace.root, dirname(spec.meshFile), file), resolve(workspace.root, file)];
  const path = places.find((place) => existsSync(place));
  if (path === undefined) return undefined;
  return { name: file, path, contentHash: await engine.content.hashOf(path, file), scale: spec.scale, unit: spec.unit };
}

function assemblyMasses(a: Plan, b: Plan): WorkspaceComparison['assemblies'] {
  const [before, after] = [flat(a.mass), flat(b.mass)];
  return [...new Set([...after.keys(), ...before.keys()])].map((assemblyId) => ({
    assemblyId,
    massG: [before.get(assemblyId)?.massG, after.get(assemblyId)?.massG] as const,
  }));
}

function flat(reports: readonly MassReport[]): Map<string, MassReport> {
  return new Map(
    reports.flatMap(function all(report): [string, MassReport][] {
      return [[report.assemblyId, report], ...report.children.flatMap(all)];
    }),
  );
}
