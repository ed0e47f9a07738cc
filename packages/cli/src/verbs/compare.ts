import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import { compareWorkspaces, loadMesh } from '@stonehand/engine';
import { compareShapes } from '@stonehand/inspect';
import { renderComparison, renderRevision } from '@stonehand/report';
import { findWorkspaceRoot, loadWorkspace } from '@stonehand/shop';
import type { CommonOptions, Context } from '../context.ts';
import { planFor } from '../plan-for.ts';
import type { Verb } from '../program.ts';

type CompareOptions = Readonly<{ unit?: string }>;

export const compare: Verb<CompareOptions> = async (names, options, context) => {
  const roots = await Promise.all([names[0]!, names[1]!].map((name) => workspaceAt(name)));
  return roots[0] !== undefined && roots[1] !== undefined
    ? compareTwoWorkspaces([roots[0], roots[1]], options, context)
    : compareMeshes(names, options, context);
};

/** A folder that is a workspace or lies in one; a mesh file is compared as a mesh, wherever it lies. */
async function workspaceAt(name: string): Promise<string | undefined> {
  const isFolder = statSync(resolve(name), { throwIfNoEntry: false })?.isDirectory() === true;
  return isFolder ? findWorkspaceRoot(resolve(name)) : undefined;
}

async function compareTwoWorkspaces(
  [before, after]: readonly [string, string],
  options: CompareOptions & CommonOptions,
  context: Context,
): Promise<number> {
  const a = { workspace: await loadWorkspace(before), plan: (await planFor(before, options, context)).plan };
  const b = { workspace: await loadWorkspace(after), plan: (await planFor(after, options, context)).plan };
  const comparison = await compareWorkspaces(context.engine(after), a, b);
  context.print(
    options.json === true
      ? JSON.stringify(comparison)
      : renderRevision(comparison, { width: context.width, colour: context.colour, units: b.plan.unitsShown }),
  );
  return 0;
}

async function compareMeshes(
  names: readonly string[],
  options: CompareOptions & CommonOptions,
  context: Context,
): Promise<number> {
  const engine = context.engine();
  const [a, b] = await Promise.all(
    [names[0]!, names[1]!].map(async (name) => {
      const path = resolve(name);
      const contentHash = await engine.content.hashOf(path, name);
      return loadMesh(
        { name, path, contentHash, scale: 1, ...(options.unit === undefined ? {} : { unit: options.unit }) },
        engine.cacheFolder,
      );
    }),
  );
  const comparison = compareShapes(a!.mesh, b!.mesh);
  context.print(
    options.json === true
      ? JSON.stringify(comparison)
      : renderComparison(names[0]!, names[1]!, comparison, {
          width: context.width,
          colour: context.colour,
          units: options.units ?? 'metric',
        }),
  );
  return 0;
}
