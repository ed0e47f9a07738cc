import { composeAffine } from '@stonehand/base';
import type { Finding, Placement } from '@stonehand/model';
import { distinctItems, type PlacedItem, pickItem } from './build-items.ts';
import { pairEdges } from './half-edges.ts';
import { type MeshFile, NO_OFFSET } from './mesh-file.ts';
import { ruleBroken } from './opc-package.ts';
import { addPlaced, checkMultiplied, INSTANCE_COST } from './placed-triangles.ts';
import type { ThreemfModel, ThreemfObject, ThreemfOddities, ThreemfReference } from './threemf-model.ts';
import { TriangleSink } from './triangle-sink.ts';
import { unitToMm } from './unit-to-mm.ts';

/** The root model and, by the path that names them, the other parts that its items and components lie in. */
export type ThreemfModels = Readonly<{ root: ThreemfModel; parts: ReadonlyMap<string, ThreemfModel> }>;

/**
 * The build of a 3MF file as one mesh: every item, or the one that is asked for, with its components and all transforms. Meshes of type support and
 * solidsupport are left out, a mesh of type other must not be reached (core 3.4.3.1).
 * @throws StonehandError MESH_MALFORMED, MESH_TOO_LARGE, MESH_EMPTY, DATA_UNKNOWN for an item that is not there
 */
export function buildThreemf(file: string, models: ThreemfModels, wanted?: string): MeshFile {
  const build = new Build(file, models);
  // Support is planned here, so it is no thing to build.
  const things = models.root.items
    .map((item, at) => build.placedItem(item, at + 1))
    .filter(({ type }) => !SUPPORTS.has(type));
  const items = distinctItems(things);
  const only = wanted === undefined ? undefined : pickItem(file, items, wanted).number;
  for (const [at, item] of models.root.items.entries()) if (only === undefined || at + 1 === only) build.addItem(item);
  const listed = items.map(({ item, quantity }) => ({ item, quantity }));
  return { ...build.result(), ...(things.length > 1 && only === undefined && { items: listed }) };
}

const SUPPORTS: ReadonlySet<string> = new Set(['support', 'solidsupport']);

class Build {
  private readonly file: string;
  private readonly models: ThreemfModels;
  private readonly sizes = new Map<ThreemfObject, number>();
  private readonly names: string[] = [];
  private readonly leaves: { object: ThreemfObject; placement: Placement }[] = [];
  private supports = 0;
  private surfaces = 0;
  private triangles = 0;
  private readonly held: number;

  constructor(file: string, models: ThreemfModels) {
    this.file = file;
    this.models = models;
    let held = 0;
    for (const model of this.all()) for (const object of model.objects.values()) held += object.triangles.length / 3;
    this.held = held;
  }

  placedItem(item: ThreemfReference, number: number): PlacedItem & { readonly type: string } {
    const { object } = this.find(this.models.root, item);
    return { number, object, name: object.name, type: object.type, placement: item.placement };
  }

  addItem(item: ThreemfReference): void {
    const { object, model } = this.find(this.models.root, item);
    this.triangles += this.sizeOf(model, object);
    checkMultiplied(this.file, this.triangles, this.held);
    if (object.name !== '') this.names.push(object.name);
    this.place(model, object, this.placementOf(item, model));
  }

  result(): MeshFile {
    const { root } = this.models;
    const count = this.leaves.reduce((sum, { object }) => sum + object.triangles.length / 3, 0);
    const sink = new TriangleSink(this.file, count);
    for (const { object, placement } of this.leaves) addPlaced(sink, object.points, object.triangles, placement);
    const materials = this.all().flatMap((model) => model.materials);
    return {
      format: '3MF',
      unit: root.unit,
      names: this.names,
      ...(materials.length > 0 && { materials: [...new Set(materials)] }),
      mesh: sink.mesh(),
      notes: this.notes(),
    };
  }

  private all(): readonly ThreemfModel[] {
    return [this.models.root, ...this.models.parts.values()];
  }

  private find(
    from: ThreemfModel,
    { objectId, path }: ThreemfReference,
  ): { object: ThreemfObject; model: ThreemfModel } {
    const model = path === undefined ? from : this.models.parts.get(path);
    const object = model?.objects.get(objectId);
    if (model !== undefined && object !== undefined) return { object, model };
    throw ruleBroken(this.file, `${from.part} names object ${objectId}, which is not in ${path}`, '3MF production 3.1');
  }

  /** Each part is in its own unit (core 3.4): what lies in another part is brought to the root's. */
  private placementOf({ placement }: ThreemfReference, into: ThreemfModel): Placement {
    const f = unitToMm(into.unit) / unitToMm(this.models.root.unit);
    return f === 1 ? placement : composeAffine(placement, [f, 0, 0, 0, 0, f, 0, 0, 0, 0, f, 0]);
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
      this.place(inner.model, inner.object, composeAffine(placement, this.placementOf(component, inner.model)));
    }
    if (object.triangles.length === 0) return;
    switch (object.type) {
      case 'other': {
        const what = `${model.part}: object ${object.id} of type other is to be built`;
        throw ruleBroken(this.file, what, '3MF core 3.4.3.1');
      }
      case 'support':
      case 'solidsupport':
        this.supports++;
        return;
      case 'surface':
        this.surfaces++;
    }
    this.leaves.push({ object, placement });
  }

  private notes(): readonly Finding[] {
    const total = (of: (oddities: ThreemfOddities) => number): number =>
      this.all().reduce((sum, { oddities }) => sum + of(oddities), 0);
    const firstUnknown = this.all().find(({ oddities }) => oddities.unknownElements > 0)?.oddities.firstUnknown;
    return [
      ...note(this.supports, {
        code: 'supportLeftOut',
        severity: 'note',
        says: 'Meshes of type support are left out: support is planned here.',
      }),
      ...note(this.surfaces, {
        code: 'surfaces',
        severity: 'note',
        says: 'Meshes are declared as surfaces, not solids; they are measured all the same.',
      }),
      ...note(brokenEdges(this.leaves.map(({ object }) => object)), {
        code: 'brokenEdges',
        severity: 'note',
        says: 'Edges are not shared by exactly two triangles in the file’s own numbering, against the standard (3MF core 4.1). Measured is the surface with equal points made one, which may be sound.',
      }),
      ...note(
        total((o) => o.repeatedCorners),
        {
          code: 'repeatedCorners',
          severity: 'doubt',
          says: 'Triangles name one vertex twice, against the standard (3MF core 4.1.4.1).',
        },
      ),
      ...note(
        total((o) => o.unknownElements),
        {
          code: 'unknownElements',
          severity: 'doubt',
          says: `An element was passed over that is not known there, against the standard (3MF core 4.1, schema): ${firstUnknown}. Some of the shape may be missing.`,
        },
      ),
      ...note(
        total((o) => o.flattening),
        {
          code: 'flattening',
          severity: 'doubt',
          says: 'Transforms flatten what they place: it keeps no volume (3MF core 3.3).',
        },
      ),
      ...note(this.all().filter(({ unit }) => unit !== this.models.root.unit).length, {
        code: 'mixedUnits',
        severity: 'doubt',
        says: 'Parts of the package state different units; each was read in its own (3MF core 3.4). Compare the sizes.',
      }),
      ...note(
        total((o) => o.unreadExtensions),
        {
          code: 'unreadExtensions',
          severity: 'note',
          says: 'The file recommends extensions that are not read here (3MF core 3.4).',
        },
      ),
      ...note(
        total((o) => o.undeclaredPaths),
        {
          code: 'undeclaredPaths',
          severity: 'note',
          says: 'Objects lie in other parts although the file does not require the production extension (3MF production 1).',
        },
      ),
    ];
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

function note(count: number, finding: Pick<Finding, 'code' | 'severity' | 'says'>): readonly Finding[] {
  return count === 0 ? [] : [{ ...finding, count, spoils: [] }];
}
