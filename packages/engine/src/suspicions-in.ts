import { resolve } from 'node:path';
import type { MeasureRow, PartSpec, Reading, Settled, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { partListsIn } from './intake-lists.ts';
import { type LikenessInput, likenessTask } from './likeness-task.ts';
import { measureTask } from './measure-task.ts';
import type { MeshRef } from './mesh-ref.ts';
import { allParts } from './part-work.ts';
import { type Suspicion, suspicionsOf } from './suspicions.ts';
import { likelyPairs } from './suspicions-shapes.ts';

/** What is still to be asked, and how much of it the workspace says is settled. */
export type Questions = Readonly<{ open: readonly Suspicion[]; settled: number }>;

/**
 * The suspicions about the meshes of a folder, its README and its lists of parts. Comparisons come from the cache where they were
 * made before, and run on the pool where several are to be made. What a file asks to be built is looked at thing by thing.
 * @param rows `file` relative to `root`, forward slashes, no file twice
 */
export async function suspicionsIn(engine: Engine, root: string, rows: readonly MeasureRow[]): Promise<Suspicion[]> {
  return ask(engine, root, rows.flatMap(itemRows), {});
}

/** The same for the meshes that the parts of a workspace use, as they are in their files; what it says is settled is not asked. */
export async function suspicionsAbout(engine: Engine, workspace: Workspace): Promise<Questions> {
  const parts = [...allParts(workspace.assemblies)].filter(({ meshFile }) => meshFile !== '');
  const quantities = new Map<string, number>();
  for (const part of parts) quantities.set(labelOf(part), (quantities.get(labelOf(part)) ?? 0) + part.quantity);
  const distinct = [...new Map(parts.map((part) => [labelOf(part), part])).values()];
  const readings = await readingsInFiles(engine, workspace.root, distinct);
  const written = workspace.reportsFolder ?? 'reports';
  const all = await ask(engine, workspace.root, readings, { quantities, written });
  const open = all.filter((suspicion) => !(workspace.settled ?? []).some((answer) => settles(answer, suspicion)));
  return { open, settled: all.length - open.length };
}

/** An item of a file is named after both. */
function labelOf({ meshFile, item }: PartSpec): string {
  return item === undefined ? meshFile : `${meshFile} > ${item}`;
}

function settles({ what, files, part }: Settled, suspicion: Suspicion): boolean {
  return (
    what === suspicion.kind &&
    (part === undefined || part === suspicion.part) &&
    files.length === suspicion.files.length &&
    [...files].sort().join('\n') === [...suspicion.files].sort().join('\n')
  );
}

async function readingsInFiles(engine: Engine, root: string, parts: readonly PartSpec[]): Promise<Reading[]> {
  const refs: MeshRef[] = [];
  for (const part of parts) {
    const { meshFile, item } = part;
    const path = resolve(root, meshFile);
    // What is not there has been complained of.
    const contentHash = await engine.content.hashOf(path, meshFile).catch(() => undefined);
    if (contentHash === undefined) continue;
    const stated = part.unitFrom === 'stated' ? { unit: part.unit } : {};
    refs.push({ name: labelOf(part), path, contentHash, scale: 1, ...stated, ...(item === undefined ? {} : { item }) });
  }
  const outcomes = await engine.map(
    measureTask,
    refs.map((mesh) => ({ mesh, sectionsMm: [] })),
    'measuring',
  );
  return outcomes.flatMap((outcome, i) => {
    const { name, item } = refs[i]!;
    return outcome.ok ? [{ ...outcome.value, file: name, ...(item === undefined ? {} : { item }) }] : [];
  });
}

function itemRows(row: MeasureRow): readonly MeasureRow[] {
  if ('error' in row || row.items === undefined) return [row];
  return row.items.flatMap(({ item, reading }) =>
    reading === undefined || 'error' in reading ? [] : [{ ...reading, file: `${row.file} > ${item}`, item }],
  );
}

async function ask(
  engine: Engine,
  root: string,
  rows: readonly MeasureRow[],
  { quantities, written }: Readonly<{ quantities?: ReadonlyMap<string, number>; written?: string }>,
): Promise<Suspicion[]> {
  const refOf = async ({ file: label, item, unit, unitFrom }: Reading): Promise<MeshRef> => {
    const file = item === undefined ? label : label.slice(0, -` > ${item}`.length);
    const path = resolve(root, file);
    const contentHash = await engine.content.hashOf(path, file);
    const stated = unitFrom === 'stated' ? { unit } : {};
    return { name: label, path, contentHash, scale: 1, ...stated, ...(item === undefined ? {} : { item }) };
  };
  const pairOf = async (a: Reading, b: Reading): Promise<LikenessInput> => ({ a: await refOf(a), b: await refOf(b) });
  const readings = rows.filter((row): row is Reading => !('error' in row));
  // Asked one after the other below, where the answers are in the cache by then.
  const pairs = await Promise.all(likelyPairs(readings).map(([a, b]) => pairOf(a, b)));
  await engine.map(likenessTask, pairs, 'comparing');
  return suspicionsOf(rows, {
    compare: async (a, b) => engine.one(likenessTask, await pairOf(a, b), 'comparing'),
    lists: partListsIn(root, written),
    ...(quantities === undefined ? {} : { quantities }),
  });
}
