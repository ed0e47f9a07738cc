import { StonehandError } from '@stonehand/base';
import type { ByteSource } from './byte-source.ts';
import { MESH_EXTENSION } from './format-of.ts';
import type { MeshFile } from './mesh-file.ts';
import { read3mf } from './read-3mf.ts';
import type { UnpackBudget } from './unpack-budget.ts';
import { unzipped } from './unzipped.ts';
import { openZip, shown, type ZipArchive } from './zip-archive.ts';

/**
 * What is to be read in a ZIP archive: the mesh of a 3MF package, read; or the one mesh file among the files of the archive
 * (a zipped AMF is such) or the one archive inside it, unpacked and still to be read.
 * @throws StonehandError MESH_MALFORMED, FORMAT_UNKNOWN when there is no mesh or more than one
 */
export async function readZip(
  source: ByteSource,
  budget: UnpackBudget,
  level: number,
  item?: string,
): Promise<MeshFile | ByteSource> {
  const zip = await openZip(source, budget);
  const isPackage = zip.names.some((name) => /^(\[content_types\]\.xml|_rels\/\.rels)$/i.test(name));
  if (isPackage || /\.3mf$/i.test(source.name)) return read3mf(zip, item);
  return unzipped(zip, theMesh(zip), level);
}

function theMesh(zip: ZipArchive): string {
  const files = zip.names.filter((name) => !/(^|\/)(__MACOSX\/|\.)/.test(name)); // forks and hidden files of the system
  const meshes = files.filter((name) => MESH_EXTENSION.test(name.replace(/\.gz$/i, '')));
  if (meshes.length === 1) return meshes[0];
  if (meshes.length > 1) {
    const some = meshes.slice(0, 3).map(shown).join(', ');
    throw new StonehandError(
      'FORMAT_UNKNOWN',
      `${zip.name}: the archive holds ${meshes.length} meshes (${some}${meshes.length > 3 ? ', …' : ''}), not one`,
      'Unpack it and give the folder.',
    );
  }
  const archives = files.filter((name) => /\.zip$/i.test(name));
  if (archives.length === 1) return archives[0];
  if (files.length === 1) return files[0];
  throw new StonehandError(
    'FORMAT_UNKNOWN',
    `${zip.name}: the archive holds no mesh of a format that is read here`,
    'Give an archive with an STL, 3MF, OBJ, PLY, AMF or glTF file in it.',
  );
}
