import { StonehandError } from '@stonehand/base';
import type { Entry, ZipFile } from 'yauzl';
import { type ByteSource, readAll } from './byte-source.ts';

/** A ZIP archive as an OPC package (ISO/IEC 29500-2): parts by name, whatever the case of its ASCII letters. */
export type OpcPackage = Readonly<{
  /** the file, for messages */
  name: string;
  has(part: string): boolean;
  /** the bytes of a part in pieces */
  read(part: string): AsyncIterable<Uint8Array>;
}>;

/**
 * @throws StonehandError MESH_MALFORMED when the archive is damaged, encrypted or no OPC package; MESH_TOO_LARGE
 */
export async function openPackage(source: ByteSource): Promise<OpcPackage> {
  const { name } = source;
  const zip = await openZip(source);
  const entries = await entriesOf(zip, name);
  for (const part of ['[Content_Types].xml', '_rels/.rels']) {
    if (!entries.has(partKey(part))) throw ruleBroken(name, `the package has no ${part}`, 'OPC');
  }
  return {
    name,
    has: (part) => entries.has(partKey(part)),
    read: (part) => readEntry(zip, entries.get(partKey(part)), name, part),
  };
}

/** The error for a file that breaks a rule of its standard, with the section that states it. */
export function ruleBroken(name: string, what: string, section: string, cause?: unknown): StonehandError {
  return new StonehandError(
    'MESH_MALFORMED',
    `${name}: ${what} (${section})`,
    'Export the file again, or as STL.',
    cause === undefined ? {} : { cause },
  );
}

function partKey(part: string): string {
  return part.replace(/^\//, '').toLowerCase();
}

async function openZip(source: ByteSource): Promise<ZipFile> {
  const { fromBufferPromise } = await import('yauzl');
  const bytes = readAll(source);
  try {
    return await fromBufferPromise(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength), {
      lazyEntries: true,
      autoClose: false,
    });
  } catch (error) {
    throw damaged(source.name, error);
  }
}

async function entriesOf(zip: ZipFile, name: string): Promise<ReadonlyMap<string, Entry>> {
  const entries = new Map<string, Entry>();
  let bytes = 0;
  try {
    for await (const entry of zip.eachEntry()) {
      bytes += entry.uncompressedSize;
      entries.set(partKey(entry.fileName), entry);
    }
  } catch (error) {
    throw damaged(name, error);
  }
  if (bytes <= MOST_UNPACKED_BYTES) return entries;
  throw new StonehandError(
    'MESH_TOO_LARGE',
    `${name}: more than 4 GiB when unpacked`,
    'Split the file into its parts.',
  );
}

const MOST_UNPACKED_BYTES = 2 ** 32;

async function* readEntry(
  zip: ZipFile,
  entry: Entry | undefined,
  name: string,
  part: string,
): AsyncIterable<Uint8Array> {
  if (entry === undefined) throw ruleBroken(name, `the package has no part ${part}`, 'OPC');
  if (entry.isEncrypted()) throw ruleBroken(name, `part ${part} is encrypted`, '3MF core 1.1');
  // Sizes are checked by the library: an entry that unpacks to more than it states ends with an error.
  try {
    for await (const piece of await zip.openReadStreamPromise(entry)) yield piece;
  } catch (error) {
    throw error instanceof StonehandError ? error : damaged(name, error);
  }
}

function damaged(name: string, cause: unknown): StonehandError {
  const why = cause instanceof Error ? cause.message.split('\n')[0] : String(cause);
  return new StonehandError(
    'MESH_MALFORMED',
    `${name}: the ZIP archive is damaged (${why})`,
    'Copy or export the file again.',
    {
      cause,
    },
  );
}
