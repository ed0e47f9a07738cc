import { composeAffine, determinant, StonehandError } from '@stonehand/base';
import type { Finding, Placement } from '@stonehand/model';
import type { ByteSource } from './byte-source.ts';
import { pairEdges } from './half-edges.ts';
import { type MeshFile, NO_OFFSET } from './mesh-file.ts';
import { type OpcPackage, openPackage, ruleBroken } from './opc-package.ts';
import { attribute, walkXml } from './package-xml.ts';
import { readThreemfModel, type ThreemfComponent, type ThreemfModel, type ThreemfObject } from './threemf-model.ts';
import { TriangleSink } from './triangle-sink.ts';

/**
 * Reads what a 3MF file says is to be built: every item of the root model with its components and all transforms, in the
 * file's unit. Items of type support and solidsupport are left out. Component parts of the production extension are followed.
 * Source: 3MF core 1.4.0 and production extension 1.1.
 * @throws StonehandError MESH_MALFORMED naming the rule that the file breaks, MESH_EMPTY, MESH_TOO_LARGE
 */
export async function read3mf(source: ByteSource): Promise<MeshFile> {
  const opc = await openPackage(source);
  const root = await readThreemfModel(opc, await rootPart(opc));
  const models = await componentParts(opc, root);
  const build = new Build(opc.name, models);
  for (const item of root.items) build.addItem(root, item);
  return build.result(root);
}

const RELATIONSHIPS = 'http://schemas.openxmlformats.org/package/2006/relationships';
const START_PART = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';

/** The model is found by its relationship, never by its name (core 2.1.1). */
async function rootPart(opc: OpcPackage): Promise<string> {
  const targets: string[] = [];
  await walkXml(opc, '_rels/.rels', {
    open(tag) {
      if (tag.local !== 'Relationship' || tag.uri !== RELATIONSHIPS || attribute(tag, 'Type') !== START_PART) return;
      targets.push(attribute(tag, 'Target') ?? '');
    },
  });
  if (targets.length !== 1) {
    throw ruleBroken(opc.name, `the package names ${targets.length} start parts instead of one`, '3MF core 2.1.1');
  }
  if (!opc.has(targets[0])) {
    throw ruleBroken(opc.name, `the start part ${targets[0]} is not in the package`, '3MF core 2.1.1');
  }
  return targets[0];
}

type Models = ReadonlyMap<string, ThreemfModel>;

/** Other model parts that the root's items and components lie in; only the root may name them (production extension). */
async function componentParts(opc: OpcPackage, root: ThreemfModel): Promise<Models> {
  const models = new Map<string, ThreemfModel>();
  for (const path of pathsOf(root)) {
    if (models.has(path)) continue;
    if (!opc.has(path)) throw ruleBroken(opc.name, `the part ${path} is not in the package`, '3MF production 2.2');
    const model = await readThreemfModel(opc, path);
    if (pathsOf(model).length > 0) {
      throw ruleBroken(opc.name, `${path} names a further part; only the root model may`, '3MF production 2.2');
    }
    models.set(path, model);
  }
  return models;
}

function pathsOf(model: ThreemfModel): string[] {
  const references = [...model.items, ...[...model.objects.values()].flatMap((object) => object.components)];
  return references.flatMap(({ path }) => (path === undefined ? [] : [path]));
}

class Build {
  private readonly file: string;
  private readonly models: Models;
  private readonly sizes = new Map<ThreemfObject, number>();
  private readonly names: string[] = [];
  private readonly placedLeaves: { object: ThreemfObject; placement: Placement }[] = [];
  private supports = 0;
  private surfaces = 0;
  private triangles = 0;

  constructor(file: string, models: Models) {
    this.file = file;
    this.models = models;
  }

  addItem(root: ThreemfModel, item: ThreemfComponent): void {
    const { object, model } = this.find(root, item);
    // Counted before anything is placed: components of components can multiply beyond all bounds in a small file.
    this.triangles += this.sizeOf(model, object);
    if (this.triangles > MOST_TRIANGLES) {
      throw new StonehandError(
        'MESH_TOO_LARGE',
        `${this.file}: its components multiply to more than ${MOST_TRIANGLES} triangles`,
        'Export the parts one by one.',
      );
    }
    if (object.name !== '') this.names.push(object.name);
    this.place(model, object, item.placement);
  }

  result(root: ThreemfModel): MeshFile {
    const sink = new TriangleSink(this.file, Math.min(this.triangles, 1 << 20));
    for (const { object, placement } of this.placedLeaves) addPlaced(sink, object, placement);
    const repeated = [root, ...this.models.values()].reduce((sum, model) => sum + model.repeatedCorners, 0);
    return {
      format: '3MF',
      unit: root.unit,
      names: this.names,
      mesh: sink.mesh(),
      notes: [
        ...note(
          'supportLeftOut',
          'note',
          this.supports,
          'Meshes of type support are left out: support is planned here.',
        ),
        ...note(
          'surfaces',
          'note',
          this.surfaces,
          'Meshes are declared as surfaces, not solids; they are measured all the same.',
        ),
        ...note(
          'brokenEdges',
          'note',
          brokenEdges(this.placedLeaves.map(({ object }) => object)),
          'Edges are not shared by exactly two triangles in the file’s own numbering, against the standard (3MF core 4.1). Measured is the surface with equal points made one, which may be sound.',
        ),
        ...note(
          'repeatedCorners',
          'doubt',
          repeated,
          'Triangles name one vertex twice, against the standard (3MF core 4.1.4.1).',
        ),
      ],
    };
  }

  private find(from: ThreemfModel, reference: ThreemfComponent): { object: ThreemfObject; model: ThreemfModel } {
    const model = reference.path === undefined ? from : this.models.get(reference.path);
    const object = model?.objects.get(reference.objectId);
    if (model !== undefined && object !== undefined) return { object, model };
    throw ruleBroken(
      this.file,
      `${from.part} line ${reference.line}: object ${reference.objectId} is not in ${reference.path}`,
      '3MF production 2.2',
    );
  }

  private sizeOf(model: ThreemfModel, object: ThreemfObject): number {
    const known = this.sizes.get(object);
    if (known !== undefined) return known;
    let size = object.triangles.length / 3 + INSTANCE_COST;
    for (const component of object.components) {
      const inner = this.find(model, component);
      size += this.sizeOf(inner.model, inner.object);
    }
    this.sizes.set(object, size);
    return size;
  }

  private place(model: ThreemfModel, object: ThreemfObject, placement: Placement): void {
    for (const component of object.components) {
      const inner = this.find(model, component);
      this.place(inner.model, inner.object, composeAffine(placement, component.placement));
    }
    if (object.triangles.length === 0) return;
    switch (object.type) {
      case 'other':
        throw ruleBroken(
          this.file,
          `${model.part}: object ${object.id} of type other is to be built`,
          '3MF core 3.4.3.1',
        );
      case 'support':
      case 'solidsupport':
        this.supports++;
        return;
      case 'surface':
        this.surfaces++;
    }
    this.placedLeaves.push({ object, placement });
  }
}

const MOST_TRIANGLES = 2 ** 27;
const INSTANCE_COST = 16; // a placed instance takes about as much memory as so many triangles, even when it has none

function addPlaced(sink: TriangleSink, { points, triangles }: ThreemfObject, m: Placement): void {
  const placed = new Float64Array(points.length);
  for (let p = 0; p < points.length; p += 3) {
    const x = points[p];
    const y = points[p + 1];
    const z = points[p + 2];
    placed[p] = m[0] * x + m[1] * y + m[2] * z + m[3];
    placed[p + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
    placed[p + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
  }
  const mirrored = determinant(m) < 0; // the volume must stay positive (core 3.3)
  for (let h = 0; h < triangles.length; h += 3) {
    if (mirrored) sink.add(placed, triangles[h], triangles[h + 2], triangles[h + 1]);
    else sink.add(placed, triangles[h], triangles[h + 1], triangles[h + 2]);
  }
}

function brokenEdges(objects: readonly ThreemfObject[]): number {
  let broken = 0;
  for (const { points, triangles, type } of new Set(objects)) {
    if (type !== 'model') continue;
    const edges = pairEdges({ positions: points, triangles, originMm: NO_OFFSET });
    broken += edges.boundaryEdges + edges.nonManifoldEdges + edges.misorientedEdges;
  }
  return broken;
}

function note(code: string, severity: Finding['severity'], count: number, says: string): readonly Finding[] {
  return count === 0 ? [] : [{ code, severity, count, says, spoils: [] }];
}
