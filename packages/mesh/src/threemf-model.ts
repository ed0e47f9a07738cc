import type { Affine } from '@stonehand/base';
import { type OpcPackage, ruleBroken } from './opc-package.ts';
import { attribute, foreignAttribute, walkXml, type XmlTag } from './package-xml.ts';

export type ThreemfType = 'model' | 'solidsupport' | 'support' | 'surface' | 'other';
export type ThreemfComponent = Readonly<{ objectId: string; path?: string; placement: Affine; line: number }>;
export type ThreemfObject = Readonly<{
  id: string;
  type: ThreemfType;
  name: string;
  points: Float64Array;
  triangles: Uint32Array;
  components: readonly ThreemfComponent[];
}>;

/** One model part. */
export type ThreemfModel = Readonly<{
  part: string;
  unit: string;
  objects: ReadonlyMap<string, ThreemfObject>;
  items: readonly ThreemfComponent[];
  /** triangles of which two corners have the same number */
  repeatedCorners: number;
}>;

const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const PRODUCTION = 'http://schemas.microsoft.com/3dmanufacturing/production/2015/06';
/** What a file may require: production parts are read; materials and triangle sets say nothing about the shape. */
const UNDERSTOOD: ReadonlySet<string> = new Set([
  CORE,
  PRODUCTION,
  'http://schemas.microsoft.com/3dmanufacturing/material/2015/02',
  'http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07',
]);
const UNITS: ReadonlySet<string> = new Set(['micron', 'millimeter', 'centimeter', 'inch', 'foot', 'meter']);
const TYPES: ReadonlySet<string> = new Set<ThreemfType>(['model', 'solidsupport', 'support', 'surface', 'other']);
const NUMBER = /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/; // ST_Number, and the trailing point that some programs write

/**
 * Reads one model part: objects in the order in which they are defined, each only naming earlier ones of its own part.
 * Source: 3MF core 1.4.0, sections named in the messages; production extension 1.1.
 * @throws StonehandError MESH_MALFORMED naming the rule
 */
export async function readThreemfModel(opc: OpcPackage, part: string): Promise<ThreemfModel> {
  const reader = new ModelReader(opc.name, part);
  await walkXml(opc, part, reader);
  return reader.result();
}

class ModelReader {
  private readonly file: string;
  private readonly part: string;
  private line = 0;
  private unit: string | undefined;
  private readonly objects = new Map<string, ThreemfObject>();
  private items: ThreemfComponent[] | undefined;
  private repeated = 0;
  private depth = 0;
  /** above 0 while inside markup of another namespace, all of which is passed over */
  private foreign = 0;
  private object:
    | { id: string; type: ThreemfType; name: string; components: ThreemfComponent[]; hasMesh: boolean }
    | undefined;
  private points: number[] = [];
  private corners: number[] = [];

  constructor(file: string, part: string) {
    this.file = file;
    this.part = part;
  }

  open(tag: XmlTag, line: number): void {
    this.line = line;
    this.depth++;
    if (this.depth === 1) {
      if (tag.uri !== CORE || tag.local !== 'model') throw this.broken('the root element is not model', '3.4');
      this.openModel(tag);
      return;
    }
    if (this.foreign > 0 || tag.uri !== CORE) {
      this.foreign++;
      return;
    }
    switch (tag.local) {
      case 'object':
        this.openObject(tag);
        break;
      case 'mesh':
        if (this.object !== undefined) this.object.hasMesh = true;
        break;
      case 'vertex':
        this.addVertex(tag);
        break;
      case 'triangle':
        this.addTriangle(tag);
        break;
      case 'component':
        this.object?.components.push(this.reference(tag, this.objects));
        break;
      case 'build':
        if (this.items !== undefined) throw this.broken('there are two build elements', '3.4');
        this.items = [];
        break;
      case 'item':
        this.items?.push(this.reference(tag, this.objects));
        break;
    }
  }

  close(tag: XmlTag): void {
    this.depth--;
    if (this.foreign > 0) this.foreign--;
    else if (tag.local === 'object' && this.object !== undefined) this.closeObject(this.object);
  }

  result(): ThreemfModel {
    if (this.items === undefined) throw this.broken('there is no build element', '3.4');
    return {
      part: this.part,
      unit: this.unit ?? 'millimeter',
      objects: this.objects,
      items: this.items,
      repeatedCorners: this.repeated,
    };
  }

  private openModel(tag: XmlTag): void {
    const unit = attribute(tag, 'unit');
    if (unit !== undefined && !UNITS.has(unit)) throw this.broken(`"${unit}" is not a unit`, '3.4');
    this.unit = unit;
    for (const prefix of attribute(tag, 'requiredextensions')?.split(/\s+/) ?? []) {
      if (prefix === '') continue;
      const uri = tag.ns[prefix];
      if (uri === undefined || !UNDERSTOOD.has(uri)) {
        throw this.broken(`the file requires the extension ${uri ?? prefix}, which is not read here`, '3.4');
      }
    }
  }

  private openObject(tag: XmlTag): void {
    const id = this.idOf(tag, 'id', '4');
    if (this.objects.has(id)) throw this.broken(`object ${id} is defined twice`, '4');
    const type = attribute(tag, 'type') ?? 'model';
    if (!isType(type)) throw this.broken(`object ${id} has the unknown type "${type}"`, '4');
    this.object = { id, type, name: attribute(tag, 'name') ?? '', components: [], hasMesh: false };
    this.points = [];
    this.corners = [];
  }

  private closeObject(object: NonNullable<ModelReader['object']>): void {
    if (!object.hasMesh && object.components.length === 0) {
      throw this.broken(`object ${object.id} has neither a mesh nor components`, '4');
    }
    const { id, type, name, components } = object;
    const points = Float64Array.from(this.points);
    this.objects.set(id, { id, type, name, components, points, triangles: Uint32Array.from(this.corners) });
    this.object = undefined;
  }

  private addVertex(tag: XmlTag): void {
    for (const axis of ['x', 'y', 'z']) {
      const text = attribute(tag, axis);
      if (text === undefined || !NUMBER.test(text)) {
        throw this.broken(`"${text ?? ''}" is not a number of the standard's form`, '2.3.2 and ST_Number');
      }
      this.points.push(Number(text));
    }
  }

  private addTriangle(tag: XmlTag): void {
    const vertices = this.points.length / 3;
    const at = this.corners.length;
    for (const corner of ['v1', 'v2', 'v3']) {
      const text = attribute(tag, corner) ?? '';
      const index = Number(text);
      if (!/^\+?\d+$/.test(text) || index >= vertices) {
        throw this.broken(`a triangle names vertex ${text}; there are ${vertices}, counted from 0`, '4.1.4.1');
      }
      this.corners.push(index);
    }
    const [a, b, c] = [this.corners[at], this.corners[at + 1], this.corners[at + 2]];
    if (a === b || b === c || c === a) this.repeated++;
  }

  private reference(tag: XmlTag, known: ReadonlyMap<string, ThreemfObject>): ThreemfComponent {
    const objectId = this.idOf(tag, 'objectid', '3.4.3.1');
    const path = foreignAttribute(tag, PRODUCTION, 'path');
    if (path === undefined && !known.has(objectId)) {
      throw this.broken(
        `${tag.local} names object ${objectId}, which is not defined before it`,
        tag.local === 'item' ? '3.4.3.1' : '4.2.1',
      );
    }
    const placement = this.placementOf(attribute(tag, 'transform'));
    return { objectId, placement, line: this.line, ...(path !== undefined && { path }) };
  }

  /** Row vectors in the file, p' = p·M with the translation last; column vectors here (core 3.3). */
  private placementOf(text: string | undefined): Affine {
    if (text === undefined) return [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
    const words = text.split(/\s+/);
    if (words.length !== 12 || !words.every((word) => NUMBER.test(word))) {
      throw this.broken(`"${text}" is not a transform of twelve numbers`, '3.3');
    }
    const m = words.map(Number);
    return [m[0], m[3], m[6], m[9], m[1], m[4], m[7], m[10], m[2], m[5], m[8], m[11]];
  }

  private idOf(tag: XmlTag, name: string, section: string): string {
    const text = attribute(tag, name) ?? '';
    if (/^\d+$/.test(text) && Number(text) >= 1 && Number(text) < 2 ** 31) return String(Number(text));
    throw this.broken(`${tag.local} has the ${name} "${text}", which is not a number from 1 on`, section);
  }

  private broken(what: string, section: string): Error {
    return ruleBroken(this.file, `${this.part} line ${this.line}: ${what}`, `3MF core ${section}`);
  }
}

function isType(text: string): text is ThreemfType {
  return TYPES.has(text);
}
