import type { StonehandError } from '@stonehand/base';
import type { Placement } from '@stonehand/model';
import { NumberList } from './number-list.ts';
import { ruleBroken } from './opc-package.ts';
import { attribute, walkXml, type XmlTag } from './walk-xml.ts';
import { shown } from './zip-archive.ts';

export type AmfObject = Readonly<{
  /** of the object and of its volumes */
  names: readonly string[];
  points: Float64Array;
  triangles: Uint32Array;
}>;
export type AmfInstance = Readonly<{ id: string; placement: Placement }>;

/** What an AMF file states; nothing placed yet. */
export type AmfDocument = Readonly<{
  unit: string;
  objects: ReadonlyMap<string, AmfObject>;
  constellations: ReadonlyMap<string, readonly AmfInstance[]>;
  materials: readonly string[];
  /** edges that are stated as curved, volumes of type support, instances turned about more than one axis */
  curved: number;
  supports: number;
  twoAngles: number;
}>;

/** The standard's units and the spellings of its first edition, as unitToMm knows them. */
const UNITS: ReadonlySet<string> = new Set(['millimeter', 'inch', 'feet', 'foot', 'meter', 'micrometer', 'micron']);
const NUMBER = /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/;

/**
 * Reads the XML of an AMF file as it arrives.
 * Source: ISO/ASTM 52915:2016 (from memory).
 * @throws StonehandError MESH_MALFORMED with the line
 */
export async function parseAmf(file: string, pieces: Iterable<Uint8Array>): Promise<AmfDocument> {
  const reader = new AmfReader(file);
  await walkXml({ file, pieces, rule: 'ISO/ASTM 52915' }, reader);
  return reader.result();
}

const LEAVES: ReadonlySet<string> = new Set('x y z v1 v2 v3 deltax deltay deltaz rx ry rz metadata'.split(' '));
const MOST_TEXT = 4096; // longer than any number or name

class AmfReader {
  private readonly file: string;
  private line = 0;
  private unit = 'millimeter';
  /** names of the open elements; an element is told by its own and its parent's, which is enough in this format */
  private readonly path: string[] = [];
  private readonly objects = new Map<string, AmfObject>();
  private readonly constellations = new Map<string, AmfInstance[]>();
  private readonly materials: string[] = [];
  private readonly ids = { object: new Set<string>(), material: new Set<string>() };
  private curved = 0;
  private supports = 0;
  private twoAngles = 0;

  private id = '';
  private names: string[] = [];
  private readonly points = new NumberList();
  private readonly corners = new NumberList();
  private readonly values = new Map<string, number>();
  private inSupport = false;
  private content = '';
  private listening = false;
  private metadataType = '';
  private target = '';

  constructor(file: string) {
    this.file = file;
  }

  open(tag: XmlTag, line: number): void {
    this.line = line;
    if (this.path.length === 0) this.openRoot(tag);
    const at = this.enter(tag.local);
    this.content = '';
    this.listening = LEAVES.has(tag.local);
    switch (at) {
      case 'amf/object':
        this.id = this.newId(tag, 'object');
        this.names = [];
        this.points.clear();
        this.corners.clear();
        break;
      case 'amf/constellation':
        this.id = this.newId(tag, 'object');
        this.constellations.set(this.id, []);
        break;
      case 'amf/material':
        this.newId(tag, 'material');
        break;
      case 'constellation/instance':
        this.target = attribute(tag, 'objectid') ?? '';
        this.values.clear();
        break;
      case 'mesh/volume':
        this.inSupport = attribute(tag, 'type') === 'support';
        if (this.inSupport) this.supports++;
        break;
      case 'vertices/vertex':
      case 'volume/triangle':
        this.values.clear();
        break;
      case 'vertices/edge':
      case 'vertex/normal':
        this.curved++;
        break;
    }
    if (tag.local === 'metadata') this.metadataType = attribute(tag, 'type')?.toLowerCase() ?? '';
  }

  text(text: string): void {
    if (this.listening && this.content.length < MOST_TEXT) this.content += text;
  }

  close(tag: XmlTag): void {
    const at = this.leave();
    switch (at) {
      case 'coordinates/x':
      case 'coordinates/y':
      case 'coordinates/z':
      case 'triangle/v1':
      case 'triangle/v2':
      case 'triangle/v3':
        this.values.set(tag.local, this.number(tag.local));
        break;
      case 'vertices/vertex':
        for (const axis of ['x', 'y', 'z']) this.points.push(this.value(axis, 'a vertex'));
        break;
      case 'volume/triangle':
        this.closeTriangle();
        break;
      case 'constellation/instance':
        this.closeInstance();
        break;
      case 'amf/object':
        this.objects.set(this.id, {
          names: this.names,
          points: this.points.toFloat64(),
          triangles: this.corners.toUint32(),
        });
        break;
      case 'object/metadata':
      case 'volume/metadata':
        if (this.metadataType === 'name' && this.content.trim() !== '') this.names.push(this.content.trim());
        break;
      case 'material/metadata':
        if (this.metadataType === 'name') this.materials.push(this.content.trim());
        break;
      default:
        if (at.startsWith('instance/') && this.listening) this.values.set(tag.local, this.number(tag.local));
    }
    this.listening = false;
  }

  result(): AmfDocument {
    const { unit, objects, constellations, materials, curved, supports, twoAngles } = this;
    return { unit, objects, constellations, materials, curved, supports, twoAngles };
  }

  private enter(name: string): string {
    const at = `${this.path.at(-1) ?? ''}/${name}`;
    this.path.push(name);
    return at;
  }

  private leave(): string {
    const name = this.path.pop() ?? '';
    return `${this.path.at(-1) ?? ''}/${name}`;
  }

  private openRoot(tag: XmlTag): void {
    if (tag.local.toLowerCase() !== 'amf') throw this.broken('the root element is not amf');
    const unit = attribute(tag, 'unit')?.toLowerCase() ?? 'millimeter';
    if (!UNITS.has(unit)) throw this.broken(`"${shown(unit)}" is not a unit`);
    this.unit = unit;
  }

  private newId(tag: XmlTag, kind: 'object' | 'material'): string {
    const id = attribute(tag, 'id') ?? '';
    if (id === '') throw this.broken(`${tag.local} has no id`);
    if (this.ids[kind].has(id)) throw this.broken(`${tag.local} ${shown(id)} is defined twice`);
    this.ids[kind].add(id);
    return id;
  }

  private closeTriangle(): void {
    const vertices = this.points.length / 3;
    for (const corner of ['v1', 'v2', 'v3']) {
      const index = this.value(corner, 'a triangle');
      if (!Number.isInteger(index) || index < 0 || index >= vertices) {
        throw this.broken(`a triangle names vertex ${index}; there are ${vertices}, counted from 0`);
      }
      if (!this.inSupport) this.corners.push(index);
    }
  }

  /** Turned about x, then y, then z, in degrees; then moved. */
  private closeInstance(): void {
    const get = (name: string): number => this.values.get(name) ?? 0;
    const turns = ['rx', 'ry', 'rz'].map((name) => (get(name) * Math.PI) / 180);
    if (turns.filter((turn) => turn !== 0).length > 1) this.twoAngles++;
    const [cx, cy, cz] = turns.map(Math.cos);
    const [sx, sy, sz] = turns.map(Math.sin);
    this.constellations.get(this.id)?.push({
      id: this.target,
      placement: [
        cz * cy,
        cz * sy * sx - sz * cx,
        cz * sy * cx + sz * sx,
        get('deltax'),
        sz * cy,
        sz * sy * sx + cz * cx,
        sz * sy * cx - cz * sx,
        get('deltay'),
        -sy,
        cy * sx,
        cy * cx,
        get('deltaz'),
      ],
    });
  }

  private value(name: string, of: string): number {
    const value = this.values.get(name);
    if (value === undefined) throw this.broken(`${of} has no ${name}`);
    return value;
  }

  private number(what: string): number {
    const text = this.content.trim();
    if (NUMBER.test(text)) return Number(text);
    throw this.broken(`${what} is "${shown(text)}", which is not a number`);
  }

  private broken(what: string): StonehandError {
    return ruleBroken(this.file, `line ${this.line}: ${what}`, 'ISO/ASTM 52915');
  }
}
