import { existsSync } from 'node:fs';
import { nearestName, StonehandError } from '@stonehand/base';
import { type Engine, type MeshRef, type PartWork, partWorks } from '@stonehand/engine';
import type { FitWish, Material, Printer, Recipe, Workspace } from '@stonehand/model';
import type { Context } from './context.ts';
import { pickById } from './pick-by-id.ts';
import { type Where, workspaceOf } from './workspace-of.ts';

export type NamedPart = Readonly<{
  part: Readonly<{ name: string; ref: MeshRef; recipe: Recipe; material: Material; fits: readonly FitWish[] }>;
  work: PartWork;
  /** the workspace lies on disk, so that choices can be kept in it */
  onDisk: boolean;
  printers: readonly Printer[];
  engine: Engine;
  workspace: Workspace;
}>;

/** A mesh file, or a part of the workspace by its id or the end of it ("skull" for heron/head/skull), and the printers asked for. */
export async function partNamed(
  name: string,
  options: Where & { readonly on?: string },
  context: Context,
): Promise<NamedPart> {
  const isFile = existsSync(name);
  const { workspace, onDisk } = await workspaceOf(isFile ? name : undefined, options);
  const engine = context.engine(onDisk ? workspace.root : undefined);
  const works = await partWorks(engine, workspace);
  const work = isFile ? works[0]! : byName(works, name);
  if (work.fault !== undefined) throw work.fault;
  if (work.ref === undefined)
    throw new StonehandError('USAGE', `${name}: this part has no mesh`, 'Only a part with a mesh can be cut.');
  const printers = options.on === undefined ? work.printers : [pickById(workspace.printers, options.on, 'printer')];
  const { spec, ref, recipe, material } = work;
  return {
    part: { name: spec.name, ref, recipe, material, fits: spec.fits ?? [] },
    work,
    onDisk,
    printers,
    engine,
    workspace,
  };
}

function byName(works: readonly PartWork[], name: string): PartWork {
  const id = partIdNamed(
    works.map(({ spec }) => spec.id),
    name,
  );
  return works.find(({ spec }) => spec.id === id)!;
}

/** The one id that a name means: the whole id or the end of it. @throws StonehandError DATA_UNKNOWN */
export function partIdNamed(ids: readonly string[], name: string): string {
  const found = ids.filter((id) => id === name || id.endsWith(`/${name}`));
  if (found.length === 1) return found[0]!;
  const near = nearestName(
    name,
    ids.flatMap((id) => [id, id.slice(id.lastIndexOf('/') + 1)]),
  );
  throw new StonehandError(
    'DATA_UNKNOWN',
    found.length === 0 ? `there is no part or file "${name}"` : `"${name}" could be any of ${found.join(', ')}`,
    found.length > 1
      ? 'Write the whole id.'
      : near === undefined
        ? `Known parts: ${ids.join(', ')}.`
        : `Did you mean "${near}"?`,
  );
}
