import { StonehandError } from '@stonehand/base';
import type { ByteSource } from './byte-source.ts';
import { MESH_EXTENSION } from './format-of.ts';
import { unpackBudget } from './unpack-budget.ts';
import { unzipped } from './unzipped.ts';
import { openZip } from './zip-archive.ts';

export type ArchiveEntry = Readonly<{
  /** its whole name in the archive, and that of the archives around it in front */
  name: string;
  /** a mesh by its name, compressed or not; archives inside are listed as their entries instead */
  isMesh: boolean;
  /** of an archive inside that cannot be listed: it stands in place of its entries, and `open` throws it */
  fault?: StonehandError;
  /** unpacks it; throws StonehandError MESH_MALFORMED, MESH_TOO_LARGE */
  open(): Promise<ByteSource>;
}>;

/**
 * The files of a ZIP archive and of the archives inside it, for looking through a download. One bound holds for all that
 * comes out of it; names that lead out of the archive are refused. A damaged archive inside costs no other entry.
 * @throws StonehandError MESH_MALFORMED, MESH_TOO_LARGE
 */
export async function openArchive(source: ByteSource): Promise<readonly ArchiveEntry[]> {
  const budget = unpackBudget(source);
  const found: ArchiveEntry[] = [];
  const list = async (archive: ByteSource, level: number): Promise<void> => {
    const zip = await openZip(archive, budget);
    for (const name of zip.names) {
      if (/(^|\/)(__MACOSX\/|\.)/.test(name)) continue; // forks and hidden files of the system
      const whole = level === 0 ? name : `${archive.name.slice(source.name.length + 3)} > ${name}`;
      if (/\.zip$/i.test(name)) {
        const before = found.length;
        try {
          await list(await unzipped(zip, name, level), level + 1);
        } catch (error) {
          if (!(error instanceof StonehandError)) throw error;
          found.splice(before, found.length, {
            name: whole,
            isMesh: false,
            fault: error,
            open: () => Promise.reject(error),
          });
        }
      } else {
        const isMesh = MESH_EXTENSION.test(name.replace(/\.gz$/i, ''));
        found.push({ name: whole, isMesh, open: () => unzipped(zip, name, level) });
      }
    }
  };
  await list(source, 0);
  return found;
}
