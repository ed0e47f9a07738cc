import type { MeshFile } from './mesh-file.ts';
import { type OpcPackage, openPackage, ruleBroken } from './opc-package.ts';
import { buildThreemf } from './threemf-build.ts';
import { readThreemfModel, type ThreemfModel } from './threemf-model.ts';
import { shown, type ZipArchive } from './zip-archive.ts';

/**
 * Reads what a 3MF file says is to be built: every item of the root model, or the one that is asked for, with its components and all transforms, in the
 * file's unit, materials by name. Items of type support and solidsupport are left out. Items and components may lie in
 * other model parts (production extension). Sources: 3MF core 1.4.0, production extension 1.1.
 * @throws StonehandError MESH_MALFORMED naming the rule that the file breaks, MESH_EMPTY, MESH_TOO_LARGE
 */
export async function read3mf(zip: ZipArchive, item?: string): Promise<MeshFile> {
  const opc = await openPackage(zip);
  const root = await readPart(opc, await rootPart(opc), true);
  return buildThreemf(opc.name, { root, parts: await otherParts(opc, root) }, item);
}

const START_PART = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';
const MODEL_TYPE = 'application/vnd.ms-package.3dmanufacturing-3dmodel+xml';

/** The model is found by its relationship, never by its name (core 2.1.1). */
async function rootPart(opc: OpcPackage): Promise<string> {
  const starts = await modelsNamedBy(opc, '/');
  if (starts.length !== 1) {
    throw ruleBroken(opc.name, `the package names ${starts.length} start parts instead of one`, '3MF core 2.1.1');
  }
  return starts[0];
}

async function readPart(opc: OpcPackage, part: string, isRoot: boolean): Promise<ThreemfModel> {
  if (!opc.has(part)) {
    const what = isRoot ? `the start part ${shown(part)}` : `the part ${shown(part)}`;
    throw ruleBroken(opc.name, `${what} is not in the package`, isRoot ? '3MF core 2.1.1' : '3MF production 3.3');
  }
  const type = opc.contentType(part);
  if (type?.toLowerCase() !== MODEL_TYPE) {
    const found = type === undefined ? 'no content type' : `the content type ${shown(type)}`;
    throw ruleBroken(opc.name, `the model part ${shown(part)} has ${found}`, '3MF core C.1');
  }
  return readThreemfModel(opc, part, isRoot);
}

/** Other model parts that the root's items and components lie in; each must be tied to the root by a relationship. */
async function otherParts(opc: OpcPackage, root: ThreemfModel): Promise<ReadonlyMap<string, ThreemfModel>> {
  const parts = new Map<string, ThreemfModel>();
  const paths = pathsOf(root);
  if (paths.size === 0) return parts;
  const tied = new Set((await modelsNamedBy(opc, root.part)).map((target) => target.toLowerCase()));
  for (const path of paths) {
    if (!tied.has(path.toLowerCase())) {
      const what = `no relationship of ${root.part} names the part ${shown(path)}, in which objects are said to lie`;
      throw ruleBroken(opc.name, what, '3MF production 3.3');
    }
    if (path.toLowerCase() === root.part.toLowerCase()) {
      throw ruleBroken(opc.name, `${root.part} names itself as another part`, '3MF production 3.2');
    }
    parts.set(path, await readPart(opc, path, false));
  }
  return parts;
}

async function modelsNamedBy(opc: OpcPackage, part: string): Promise<readonly string[]> {
  const relationships = await opc.relationships(part);
  return relationships.filter(({ type }) => type === START_PART).map(({ target }) => target);
}

function pathsOf(model: ThreemfModel): ReadonlySet<string> {
  const references = [...model.items, ...[...model.objects.values()].flatMap((object) => object.components)];
  return new Set(references.flatMap(({ path }) => (path === undefined ? [] : [path])));
}
