import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { StonehandError } from '@stonehand/base';

const MESH_NAME = /\.(stl|3mf|obj|ply|glb|gltf|amf)(\.gz)?$/i;

export function isMeshName(name: string): boolean {
  return MESH_NAME.test(name);
}

/**
 * The mesh files named, and those in the folders named (hidden folders and node_modules left out), in a stable order.
 * @throws StonehandError FILE_MISSING for a name that is nothing, USAGE for a folder without a mesh
 */
export function meshFilesOf(names: readonly string[]): string[] {
  return names.flatMap((name) => {
    const facts = statSync(name, { throwIfNoEntry: false });
    if (facts === undefined)
      throw new StonehandError('FILE_MISSING', `${name}: there is no such file or folder`, 'Check the name.');
    if (!facts.isDirectory()) return [name];
    const found = [...walk(name)].sort();
    if (found.length === 0) {
      throw new StonehandError(
        'USAGE',
        `${name}: no mesh file lies in this folder`,
        'Name a folder with STL, 3MF, OBJ, PLY or GLB files.',
      );
    }
    return found;
  });
}

function* walk(folder: string): Generator<string> {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    if (entry.name.startsWith('.') || entry.name === 'node_modules') continue;
    const path = join(folder, entry.name);
    if (entry.isDirectory()) yield* walk(path);
    else if (isMeshName(entry.name)) yield path;
  }
}
