import { existsSync, mkdirSync, readdirSync, readFileSync, realpathSync } from 'node:fs';
import { dirname, join, relative, sep } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { type ArchiveEntry, type ByteSource, openArchive } from '@stonehand/mesh';
import type { Fault } from '@stonehand/model';
import { replaceFile } from '@stonehand/shop';
import { withFile } from './file-source.ts';
import { isListName } from './intake-lists.ts';

/** Files relative to the folder, forward slashes. */
export type Unpacked = Readonly<{
  written: readonly string[];
  /** archives, and files in them, that could not be unpacked */
  left: readonly Readonly<{ file: string; error: Fault }>[];
}>;

/**
 * Unpacks the meshes and lists of parts in the ZIP archives of a folder, each archive into a folder of its own name beside it. Archives
 * inside become folders too. Names are made safe first; nothing that is there already is overwritten, and what is there with the same
 * bytes is not written again. An archive or entry that is damaged is named and left out.
 */
export async function unpackArchives(root: string): Promise<Unpacked> {
  const written: string[] = [];
  const left: { file: string; error: Fault }[] = [];
  for (const archive of archivesIn(root)) {
    const target = archive.replace(/\.zip$/i, '');
    const fail = (file: string, error: unknown): void => {
      if (!(error instanceof StonehandError)) throw error;
      left.push({ file, error: { code: error.code, message: error.message, remedy: error.remedy } });
    };
    await withFile(join(root, archive), archive, async (source) => {
      for (const entry of await openArchive(source)) {
        if (entry.fault !== undefined) {
          fail(`${archive} > ${entry.name}`, entry.fault);
          continue;
        }
        if (!entry.isMesh && !isListName(entry.name.replace(/^.*[/\\>] ?/, ''))) continue;
        try {
          const file = await unpack(root, target, entry);
          if (file !== undefined) written.push(file);
        } catch (error) {
          fail(`${archive} > ${entry.name}`, error);
        }
      }
    }).catch((error: unknown) => fail(archive, error));
  }
  return { written, left };
}

function archivesIn(root: string): string[] {
  const walk = (folder: string): string[] =>
    readdirSync(join(root, folder), { withFileTypes: true }).flatMap((entry) => {
      if (entry.name.startsWith('.') || entry.name === 'node_modules') return [];
      const path = folder === '' ? entry.name : `${folder}/${entry.name}`;
      if (entry.isDirectory()) return walk(path);
      return entry.isFile() && /.\.zip$/i.test(entry.name) ? [path] : [];
    });
  return walk('').sort();
}

async function unpack(root: string, target: string, entry: ArchiveEntry): Promise<string | undefined> {
  const bytes = bytesOf(await entry.open());
  const wanted = `${target}/${safePath(entry.name)}`;
  const folder = join(root, dirname(wanted));
  mkdirSync(folder, { recursive: true });
  // A folder that was there before may be a link to somewhere else.
  if (relative(realpathSync(root), realpathSync(folder)).split(sep)[0] === '..') {
    throw new StonehandError(
      'FILE_OUTSIDE',
      `${dirname(wanted)} is a link that leads out of the folder`,
      'Take the link away, or unpack the archive yourself.',
    );
  }
  const dot = /\.[^./]+(\.gz)?$/i.exec(wanted)?.index ?? wanted.length;
  for (let n = 1; ; n++) {
    const file = n === 1 ? wanted : `${wanted.slice(0, dot)}~${n}${wanted.slice(dot)}`;
    if (!existsSync(join(root, file))) {
      await replaceFile(join(root, file), bytes);
      return file;
    }
    if (Buffer.compare(readFileSync(join(root, file)), bytes) === 0) return undefined;
  }
}

function bytesOf(source: ByteSource): Uint8Array {
  const bytes = new Uint8Array(source.sizeBytes);
  for (let at = 0; at < bytes.length; ) {
    const got = source.read(bytes.subarray(at), at);
    if (got === 0) break;
    at += got;
  }
  return bytes;
}

const LONGEST_NAME = 100;

/**
 * A path of plain names out of a name in an archive: no step up, no root, no drive, no hidden file, nothing that a file system
 * takes for something else. Archives inside become folders of their name.
 */
export function safePath(name: string): string {
  const names = name.split(/ > |[/\\]/).flatMap((part, at, all) => {
    const folder = at < all.length - 1 ? part.replace(/\.zip$/i, '') : part;
    const plain = folder
      .normalize('NFC')
      .replace(/[\p{C}\p{Zl}\p{Zp}<>:"|?*]/gu, '-')
      .replace(/^[\s.]+|[\s.]+$/g, '');
    if (plain === '') return [];
    const ending = /\.[A-Za-z0-9]{1,5}(\.gz)?$/i.exec(plain)?.[0] ?? '';
    const short = plain.length > LONGEST_NAME ? plain.slice(0, LONGEST_NAME - ending.length) + ending : plain;
    return [/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(short) ? `_${short}` : short];
  });
  return names.length === 0 ? 'unnamed' : names.join('/');
}
