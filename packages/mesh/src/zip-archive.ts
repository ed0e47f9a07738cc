import { Readable } from 'node:stream';
import { StonehandError } from '@stonehand/base';
import type { Entry, ZipFile } from 'yauzl';
import { type ByteSource, readFully } from './byte-source.ts';
import { blocksOf } from './chunked-source.ts';
import type { UnpackBudget } from './unpack-budget.ts';

/** A ZIP archive: files by their whole name, folders left out. */
export type ZipArchive = Readonly<{
  /** the file, for messages */
  name: string;
  names: readonly string[];
  /** the unpacked bytes in pieces; throws StonehandError MESH_MALFORMED, MESH_TOO_LARGE */
  read(entry: string): AsyncIterable<Uint8Array>;
}>;

/**
 * Opens a ZIP archive of any size: only its list of files is read, entries are unpacked when they are asked for.
 * @throws StonehandError MESH_MALFORMED when the list is damaged, names a file twice or a path that leads out of the archive;
 *   MESH_TOO_LARGE for more entries than a mesh file has
 */
export async function openZip(source: ByteSource, budget: UnpackBudget): Promise<ZipArchive> {
  const zip = await open(source);
  const entries = await entriesOf(zip, source.name);
  return {
    name: source.name,
    names: [...entries.keys()],
    read: (entry) => readEntry(zip, entries.get(entry), { file: source.name, entry, budget }),
  };
}

async function open(source: ByteSource): Promise<ZipFile> {
  const { fromRandomAccessReaderPromise, RandomAccessReader } = await import('yauzl');
  class SourceReader extends RandomAccessReader {
    override _readStreamForRange(start: number, end: number): Readable {
      const part: ByteSource = {
        name: source.name,
        sizeBytes: end - start,
        read: (into, at) => source.read(into.subarray(0, end - start - at), start + at),
      };
      return Readable.from(blocksOf(part), { objectMode: false });
    }
    override read(into: Buffer, offset: number, length: number, at: number, done: (error: Error | null) => void): void {
      const got = readFully(source, into.subarray(offset, offset + length), at);
      setImmediate(done, got === length ? null : new Error('the file ends too early'));
    }
  }
  try {
    return await fromRandomAccessReaderPromise(new SourceReader(), source.sizeBytes, {
      lazyEntries: true,
      autoClose: false,
    });
  } catch (error) {
    throw damaged(source.name, error);
  }
}

async function entriesOf(zip: ZipFile, file: string): Promise<ReadonlyMap<string, Entry>> {
  if (zip.entryCount > MOST_ENTRIES) throw tooMany(file, zip.entryCount);
  const entries = new Map<string, Entry>();
  try {
    for await (const entry of zip.eachEntry()) {
      const name = entry.fileName;
      if (name.endsWith('/')) continue;
      if (entries.has(name)) throw broken(file, `the archive holds "${shown(name)}" twice`);
      entries.set(name, entry);
    }
  } catch (error) {
    throw error instanceof StonehandError ? error : damaged(file, error);
  }
  return entries;
}

const MOST_ENTRIES = 100_000;

type EntryPlace = Readonly<{ file: string; entry: string; budget: UnpackBudget }>;

async function* readEntry(
  zip: ZipFile,
  entry: Entry | undefined,
  { file, entry: name, budget }: EntryPlace,
): AsyncIterable<Uint8Array> {
  if (entry === undefined) throw broken(file, `the archive holds no "${shown(name)}"`);
  if (entry.isEncrypted()) throw broken(file, `"${shown(name)}" is encrypted`, 'Take the password off the archive.');
  if (!entry.canDecodeFileData()) {
    throw broken(file, `"${shown(name)}" is packed by method ${entry.compressionMethod}; only deflate is read`);
  }
  // The library ends with an error when an entry unpacks to more or less than it states.
  try {
    for await (const piece of await zip.openReadStreamPromise(entry)) {
      budget.spend(piece.length);
      yield piece;
    }
  } catch (error) {
    throw error instanceof StonehandError ? error : damaged(file, error);
  }
}

function damaged(file: string, cause: unknown): StonehandError {
  const why = cause instanceof Error ? cause.message.split('\n')[0] : String(cause);
  const path = /^(?:absolute path|invalid relative path|invalid characters in fileName): (.*)/s.exec(why)?.[1];
  if (path !== undefined) return broken(file, `the archive names "${shown(path)}", a path that leads out of it`);
  return broken(file, `the ZIP archive is damaged (${shown(why)})`, 'Copy or export the file again.', cause);
}

function tooMany(file: string, count: number): StonehandError {
  const what = `${file}: the archive lists ${count} entries, more than the ${MOST_ENTRIES} that are read`;
  return new StonehandError('MESH_TOO_LARGE', what, 'Unpack it yourself and give the mesh.');
}

function broken(
  file: string,
  what: string,
  remedy = 'Export the file again, or unpack it yourself.',
  cause?: unknown,
): StonehandError {
  return new StonehandError('MESH_MALFORMED', `${file}: ${what}`, remedy, cause === undefined ? {} : { cause });
}

/** A name from inside a file for one line of a message. */
export function shown(text: string): string {
  const plain = text.replace(/[\p{C}\p{Zl}\p{Zp}]/gu, '?');
  return plain.length > 80 ? `${plain.slice(0, 77)}…` : plain;
}
