import { StonehandError } from '@stonehand/base';
import { type ByteSource, readFully } from './byte-source.ts';
import { formatOf, LOOK_BYTES } from './format-of.ts';
import type { MeshFile } from './mesh-file.ts';
import { emptyFile, readStl } from './read-stl.ts';
import { type UnpackBudget, unpackBudget } from './unpack-budget.ts';

export type ReadMeshOptions = Readonly<{
  /** share of the file's bytes that have been read, 0 to 1, never falling */
  onProgress?: (share: number) => void;
  /** of a 3MF file that asks for several things to be built: only this one, by its name or its number, as `items` of the whole file tells */
  item?: string;
}>;

/**
 * Reads a mesh file of any known format, picked by its content and only then by its name: STL, OBJ, PLY, glTF, 3MF, AMF,
 * gzip of any of them, and a ZIP archive that holds one of them. Libraries are loaded on first use.
 * @throws StonehandError FORMAT_UNKNOWN, MESH_TOO_LARGE for what unpacks beyond bounds, DATA_UNKNOWN for an item that is not there, or what the format's reader throws
 */
export async function readMesh(source: ByteSource, { onProgress, item }: ReadMeshOptions = {}): Promise<MeshFile> {
  const watched = onProgress === undefined ? source : watchedSource(source, onProgress);
  try {
    const file = await readNested(watched, unpackBudget(source), 0, item);
    onProgress?.(1);
    return file;
  } catch (error) {
    throw isMemoryFault(error) ? tooLarge(source.name, error) : error;
  }
}

/** Reads what may lie in an archive; `level` counts the archives around it. */
async function readNested(
  source: ByteSource,
  budget: UnpackBudget,
  level: number,
  item: string | undefined,
): Promise<MeshFile> {
  if (source.sizeBytes === 0) throw emptyFile(source.name);
  const start = new Uint8Array(Math.min(source.sizeBytes, LOOK_BYTES));
  const look = start.subarray(0, readFully(source, start, 0));
  const format = formatOf(look, source);
  switch (format) {
    case 'gzip':
      return readNested(
        await (await import('./unzipped.ts')).gunzipped(source, budget, level),
        budget,
        level + 1,
        item,
      );
    case 'zip': {
      const found = await (await import('./read-zip.ts')).readZip(source, budget, level, item);
      return 'mesh' in found ? found : readNested(found, budget, level + 1, item);
    }
  }
  if (item !== undefined) {
    const what = `${source.name}: there is no item "${item}" in it; only 3MF files list items to build`;
    throw new StonehandError('DATA_UNKNOWN', what, 'Leave the item out.');
  }
  switch (format) {
    case 'stl':
      return readStl(source);
    case 'obj':
      return (await import('./read-obj.ts')).readObj(source);
    case 'ply':
      return (await import('./read-ply.ts')).readPly(source);
    case 'gltf':
      return (await import('./read-gltf.ts')).readGltf(source);
    case 'amf':
      return (await import('./read-amf.ts')).readAmf(source);
    case 'step':
    case 'iges':
      throw new StonehandError(
        'FORMAT_UNKNOWN',
        `${source.name}: this is a CAD exchange file of exact surfaces, which are not read here`,
        'Export the part as STL or 3MF instead; choose a chord height of 0.02 mm or less.',
      );
    case 'unknown':
      throw new StonehandError(
        'FORMAT_UNKNOWN',
        `${source.name}: neither its content nor its name is of a mesh format that is read here`,
        'Export it as STL or 3MF.',
      );
  }
}

function watchedSource(source: ByteSource, onProgress: (share: number) => void): ByteSource {
  let bytes = 0;
  let told = 0;
  return {
    ...source,
    read(into, at) {
      const got = source.read(into, at);
      bytes += got;
      const share = Math.min(1, bytes / source.sizeBytes);
      if (share - told >= LEAST_STEP) {
        told = share;
        onProgress(share);
      }
      return got;
    },
  };
}

const LEAST_STEP = 1 / 256;

// What the engine throws when an array or a text cannot be had in the size asked for.
function isMemoryFault(error: unknown): boolean {
  return (
    error instanceof RangeError && /allocation failed|invalid (typed )?array|invalid string length/i.test(error.message)
  );
}

function tooLarge(name: string, cause: unknown): StonehandError {
  const what = `${name}: its mesh is larger than this machine can hold`;
  return new StonehandError('MESH_TOO_LARGE', what, 'Reduce the mesh or split the part.', { cause });
}
