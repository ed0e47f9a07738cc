import { type MeshFile, massProperties, readMesh, transformMesh, turnInsideOut, unitToMm } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { withFile } from './file-source.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import { loadStoredMesh } from './mesh-store.ts';

export type LoadedMesh = Readonly<{
  file: MeshFile;
  mesh: Mesh;
  unit: string;
  unitFrom: 'file' | 'stated' | 'assumed';
}>;

const KEEP = 3;
const recent = new Map<string, LoadedMesh>();

/**
 * Reads a mesh in mm, scaled and mirrored as the workspace says. The last few are kept in this thread, because one
 * mesh goes through several stages in a row.
 * @param onShare told the share of the file's bytes that have been read, where a file is read
 */
export async function loadMesh(
  ref: MeshRef,
  cacheFolder: string,
  onShare?: (share: number) => void,
): Promise<LoadedMesh> {
  const key = JSON.stringify([keyOfMesh(ref), ref.path ?? cacheFolder]);
  const known = recent.get(key);
  if (known !== undefined) {
    recent.delete(key);
    recent.set(key, known);
    return known;
  }
  const loaded = ref.path === undefined ? stored(ref, cacheFolder) : await fromFile(ref, ref.path, onShare);
  recent.set(key, loaded);
  for (const oldest of recent.keys()) {
    if (recent.size <= KEEP) break;
    recent.delete(oldest);
  }
  return loaded;
}

// A mesh that is wholly inside out is turned back; its reading says so.
function facingOut(mesh: Mesh): Mesh {
  return massProperties(mesh).volumeMm3 < 0 ? turnInsideOut(mesh) : mesh;
}

function stored(ref: MeshRef, cacheFolder: string): LoadedMesh {
  const mesh = loadStoredMesh(cacheFolder, ref.contentHash);
  return {
    file: { format: 'cut piece', names: [ref.name], mesh, notes: [] },
    mesh,
    unit: 'millimeter',
    unitFrom: 'stated',
  };
}

async function fromFile(
  ref: MeshRef,
  path: string,
  onProgress: ((share: number) => void) | undefined,
): Promise<LoadedMesh> {
  const file = await withFile(path, ref.name, (source) =>
    readMesh(source, {
      ...(ref.item === undefined ? {} : { item: ref.item }),
      ...(onProgress === undefined ? {} : { onProgress }),
    }),
  );
  const unit = ref.unit ?? file.unit ?? 'millimeter';
  const unitFrom = ref.unit !== undefined ? 'stated' : file.unit !== undefined ? 'file' : 'assumed';
  const factor = unitToMm(unit) * ref.scale;
  const s = { x: factor, y: factor, z: factor };
  if (ref.mirror !== undefined) s[ref.mirror] = -factor;
  const plain = s.x === 1 && s.y === 1 && s.z === 1;
  const sized = plain ? file.mesh : transformMesh(file.mesh, [s.x, 0, 0, 0, 0, s.y, 0, 0, 0, 0, s.z, 0]);
  return { file, mesh: facingOut(sized), unit, unitFrom };
}
