import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { folderWorkspace, meshFilesOf } from '@stonehand/engine';
import type { Workspace } from '@stonehand/model';
import { findWorkspaceRoot, loadWorkspace } from '@stonehand/shop';

export type Where = Readonly<{ bed?: string; unit?: string; units?: 'metric' | 'US' }>;

/** A workspace, and whether it is one on disk or made up for bare files. */
export type Found = Readonly<{ workspace: Workspace; onDisk: boolean }>;

/**
 * What a path means: a workspace (or a folder inside one), or a folder or file of meshes without one. `--bed` asks for a bed of
 * its own and so for the files alone.
 * @throws StonehandError when it is neither
 */
export async function workspaceOf(path: string | undefined, where: Where): Promise<Found> {
  const start = resolve(path ?? '.');
  const facts = statSync(start, { throwIfNoEntry: false });
  if (facts === undefined)
    throw new StonehandError('FILE_MISSING', `${path}: there is no such file or folder`, 'Check the name.');
  const root = where.bed === undefined ? await findWorkspaceRoot(start) : undefined;
  const found =
    root === undefined || !facts.isDirectory()
      ? bareFiles(start, facts.isDirectory(), where)
      : { workspace: await loadWorkspace(root), onDisk: true };
  if (where.units === undefined) return found;
  return { ...found, workspace: { ...found.workspace, unitsShown: where.units } };
}

/** @throws StonehandError when the path does not lead into a workspace on disk */
export async function workspaceOnDisk(path: string | undefined, where: Where = {}): Promise<Workspace> {
  const root = await findWorkspaceRoot(resolve(path ?? '.'));
  if (root === undefined) {
    throw new StonehandError(
      'USAGE',
      `${path ?? 'this folder'} is in no workspace: there is no stonehand.yaml here or above`,
      'Make one of a folder of meshes with: stonehand init FOLDER',
    );
  }
  const workspace = await loadWorkspace(root);
  return where.units === undefined ? workspace : { ...workspace, unitsShown: where.units };
}

function bareFiles(start: string, isFolder: boolean, where: Where): Found {
  const files = meshFilesOf([start]);
  const root = isFolder ? start : resolve(start, '..');
  const { bed, unit } = where;
  const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const workspace = folderWorkspace(root, files, {
    timeZone,
    ...(bed === undefined ? {} : { bed }),
    ...(unit === undefined ? {} : { unit }),
  });
  return { workspace, onDisk: false };
}
