import { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { StonehandError } from '@stonehand/base';
import type { ByteSource } from './byte-source.ts';
import { blocksOf, chunkedSource } from './chunked-source.ts';
import type { UnpackBudget } from './unpack-budget.ts';
import type { ZipArchive } from './zip-archive.ts';

/** @throws StonehandError MESH_MALFORMED for damaged data, MESH_TOO_LARGE, also for archives in archives in archives */
export async function gunzipped(source: ByteSource, budget: UnpackBudget, level: number): Promise<ByteSource> {
  checkLevel(source.name, level);
  return chunkedSource(`${source.name} > ${baseName(source.name)}`, gunzip(source, budget));
}

/** One file of an archive as a source of its own, named after both. */
export async function unzipped(zip: ZipArchive, entry: string, level: number): Promise<ByteSource> {
  checkLevel(zip.name, level);
  return chunkedSource(`${zip.name} > ${entry}`, zip.read(entry));
}

function baseName(name: string): string {
  return name.replace(/^.*[/\\]/, '').replace(/\.gz$/i, '');
}

async function* gunzip(source: ByteSource, budget: UnpackBudget): AsyncIterable<Uint8Array> {
  const packed = Readable.from(blocksOf(source), { objectMode: false });
  const unpacker = createGunzip({ chunkSize: 1 << 16 });
  packed.on('error', (error) => unpacker.destroy(error));
  try {
    for await (const piece of packed.pipe(unpacker) as AsyncIterable<Uint8Array>) {
      budget.spend(piece.length);
      yield piece;
    }
  } catch (cause) {
    if (cause instanceof StonehandError) throw cause;
    throw new StonehandError(
      'MESH_MALFORMED',
      `${source.name}: the gzip data is damaged or cut off`,
      'Copy or export the file again.',
      { cause },
    );
  } finally {
    packed.destroy();
  }
}

function checkLevel(name: string, level: number): void {
  if (level < MOST_LEVELS) return;
  throw new StonehandError(
    'MESH_TOO_LARGE',
    `${name}: archives lie in archives more than ${MOST_LEVELS} deep`,
    'Unpack it yourself and give the mesh.',
  );
}

const MOST_LEVELS = 3;
