import { composeAffine } from '@stonehand/base';
import type { Finding, Placement } from '@stonehand/model';
import { type AmfDocument, type AmfInstance, type AmfObject, parseAmf } from './amf-document.ts';
import type { ByteSource } from './byte-source.ts';
import { blocksOf } from './chunked-source.ts';
import type { MeshFile } from './mesh-file.ts';
import { ruleBroken } from './opc-package.ts';
import { addPlaced, checkMultiplied, INSTANCE_COST } from './placed-triangles.ts';
import { TriangleSink } from './triangle-sink.ts';

/**
 * Reads an AMF file: all volumes of the objects and constellations that no other constellation places ("only the top level
 * objects and constellations are available for printing"), in the file's unit, materials by name. Volumes of type support
 * are left out; curved edges are read as straight ones, which the standard allows.
 * Source: ISO/ASTM 52915:2016 (from memory, and the quotation above).
 * @throws StonehandError MESH_MALFORMED with the line, MESH_EMPTY, MESH_TOO_LARGE
 */
export async function readAmf(source: ByteSource): Promise<MeshFile> {
  const amf = await parseAmf(source.name, blocksOf(source));
  const placed = new Placer(source.name, amf).placed();
  const count = placed.reduce((sum, { object }) => sum + object.triangles.length / 3, 0);
  const sink = new TriangleSink(source.name, count);
  for (const { object, placement } of placed) addPlaced(sink, object.points, object.triangles, placement);
  const materials = amf.materials.filter((name) => name !== '');
  return {
    format: 'AMF',
    unit: amf.unit,
    names: [...new Set(placed.flatMap(({ object }) => object.names))],
    ...(materials.length > 0 && { materials: [...new Set(materials)] }),
    mesh: sink.mesh(),
    notes: notesOf(amf),
  };
}

type Placed = Readonly<{ object: AmfObject; placement: Placement }>;

const AT_ORIGIN: Placement = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
const MOST_LEVELS = 256;

class Placer {
  private readonly file: string;
  private readonly amf: AmfDocument;
  private readonly sizes = new Map<string, number>();
  private readonly out: Placed[] = [];

  constructor(file: string, amf: AmfDocument) {
    this.file = file;
    this.amf = amf;
  }

  placed(): readonly Placed[] {
    const { objects, constellations } = this.amf;
    const used = new Set([...constellations.values()].flatMap((instances) => instances.map(({ id }) => id)));
    const tops = [...objects.keys(), ...constellations.keys()].filter((id) => !used.has(id));
    if (tops.length === 0 && objects.size > 0) {
      throw ruleBroken(this.file, 'its constellations place each other in a circle', 'ISO/ASTM 52915');
    }
    let held = 0;
    for (const { triangles } of objects.values()) held += triangles.length / 3;
    let total = 0;
    for (const id of tops) {
      total += this.sizeOf(id, 0);
      checkMultiplied(this.file, total, held);
    }
    for (const id of tops) this.place(id, AT_ORIGIN);
    return this.out;
  }

  private sizeOf(id: string, level: number): number {
    const known = this.sizes.get(id);
    if (known !== undefined) return known;
    if (level > MOST_LEVELS) {
      const what = `its constellations are nested more than ${MOST_LEVELS} deep, or in a circle`;
      throw ruleBroken(this.file, what, 'limit of this reader');
    }
    const object = this.amf.objects.get(id);
    let size = INSTANCE_COST + (object === undefined ? 0 : object.triangles.length / 3);
    for (const instance of this.instancesOf(id)) size += this.sizeOf(instance.id, level + 1);
    this.sizes.set(id, size);
    return size;
  }

  private place(id: string, placement: Placement): void {
    const object = this.amf.objects.get(id);
    if (object !== undefined) this.out.push({ object, placement });
    for (const instance of this.instancesOf(id)) {
      this.place(instance.id, composeAffine(placement, instance.placement));
    }
  }

  private instancesOf(id: string): readonly AmfInstance[] {
    const instances = this.amf.constellations.get(id);
    if (instances === undefined && !this.amf.objects.has(id)) {
      throw ruleBroken(this.file, `a constellation places "${id}", which is not in the file`, 'ISO/ASTM 52915');
    }
    return instances ?? [];
  }
}

function notesOf({ curved, supports, twoAngles }: AmfDocument): readonly Finding[] {
  return [
    ...note(supports, 'supportLeftOut', 'note', 'Volumes of type support are left out: support is planned here.'),
    ...note(curved, 'curved', 'note', 'The file states curved edges; they were read as straight ones.'),
    ...note(
      twoAngles,
      'turnOrder',
      'doubt',
      'Instances are turned about more than one axis. They were turned about x, then y, then z; some programs turn the other way round. Look at the picture.',
    ),
  ];
}

function note(count: number, code: string, severity: Finding['severity'], says: string): readonly Finding[] {
  return count === 0 ? [] : [{ code, severity, count, says, spoils: [] }];
}
