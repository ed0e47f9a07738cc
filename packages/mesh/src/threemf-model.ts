import type { Affine } from '@stonehand/base';
import { NumberList } from './number-list.ts';
import { type OpcPackage, ruleBroken } from './opc-package.ts';
import { takeTriangles, takeVertices } from './plain-elements.ts';
import { attribute, foreignAttribute, type PlainRuns, walkXml, type XmlTag } from './walk-xml.ts';
import { shown } from './zip-archive.ts';

type ThreemfType = 'model' | 'solidsupport' | 'support' | 'surface' | 'other';
export type ThreemfReference = Readonly<{ objectId: string; path?: string; placement: Affine }>;
export type ThreemfObject = Readonly<{
  id: string;
  type: ThreemfType;
  name: string;
  points: Float64Array;
  triangles: Uint32Array;
  components: readonly ThreemfReference[];
  /** levels of components below, within this part: 0 for a mesh */
  depth: number;
}>;

/** What of a part is against the standard without making its shape doubtful enough to refuse it. */
export type ThreemfOddities = Readonly<{
  /** triangles of which two corners have the same number */
  repeatedCorners: number;
  /** elements of the core namespace where the schema knows none of that name, and the first of them */
  unknownElements: number;
  firstUnknown: string;
  /** transforms that flatten what they place */
  flattening: number;
  /** extensions that the file recommends and that are not read here */
  unreadExtensions: number;
  /** parts are named by a path although the file does not require the extension that says what a path is */
  undeclaredPaths: number;
}>;

/** One model part. */
export type ThreemfModel = Readonly<{
  part: string;
  unit: string;
  objects: ReadonlyMap<string, ThreemfObject>;
  items: readonly ThreemfReference[];
  /** names of base materials, in the order of the file */
  materials: readonly string[];
  oddities: ThreemfOddities;
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

/** Which elements of the core namespace may stand in which: the schema of core 1.4.0, appendix B.1. */
const CHILDREN: Readonly<Record<string, ReadonlySet<string>>> = {
  model: new Set(['metadata', 'resources', 'build']),
  resources: new Set(['basematerials', 'object']),
  basematerials: new Set(['base']),
  object: new Set(['metadatagroup', 'mesh', 'components']),
  metadatagroup: new Set(['metadata']),
  mesh: new Set(['vertices', 'triangles']),
  vertices: new Set(['vertex']),
  triangles: new Set(['triangle']),
  components: new Set(['component']),
  build: new Set(['item']),
  item: new Set(['metadatagroup']),
};

const RUNS: ReadonlySet<string> = new Set(['vertices', 'triangles']);

// Far deeper than any assembly, and shallow enough to walk by recursion.
const MOST_COMPONENT_LEVELS = 256;

/**
 * Reads one model part: objects in the order in which they are defined, each only naming earlier ones of its own part.
 * The build of a part other than the root is passed over (production 2).
 * Source: 3MF core 1.4.0, sections named in the messages; production extension 1.1.
 * @throws StonehandError MESH_MALFORMED naming the rule
 */
export async function readThreemfModel(opc: OpcPackage, part: string, isRoot: boolean): Promise<ThreemfModel> {
  const reader = new ModelReader(opc.name, part, isRoot);
  await walkXml({ file: opc.name, part, pieces: opc.read(part), rule: '3MF core 2.3.2' }, reader);
  return reader.result();
}

type OpenObject = { id: string; type: ThreemfType; name: string; components: ThreemfReference[]; content?: string };

class ModelReader {
  private readonly file: string;
  private readonly part: string;
  private readonly isRoot: boolean;
  private line = 0;
  private unit = 'millimeter';
  private requiresProduction = false;
  private readonly ids = new Set<string>();
  private readonly objects = new Map<string, ThreemfObject>();
  private readonly materials: string[] = [];
  private items: ThreemfReference[] | undefined;
  private readonly oddities = {
    repeatedCorners: 0,
    unknownElements: 0,
    firstUnknown: '',
    flattening: 0,
    unreadExtensions: 0,
    undeclaredPaths: 0,
  };
  /** names of the core elements that are open */
  private readonly path: string[] = [];
  /** above 0 while inside markup that is passed over: another namespace's, or unknown */
  private passing = 0;
  /** the prefix of the last list of vertices or triangles: without one, elements without one are of the core too */
  private prefix = '';
  private object: OpenObject | undefined;
  private readonly points = new NumberList();
  private readonly corners = new NumberList();

  readonly runs: PlainRuns = {
    start: /<(?:vertices|triangles)\b[^<>]*>/g,
    isOpen: () => this.passing === 0 && this.prefix === '' && RUNS.has(this.path.at(-1) ?? ''),
    take: (text, from) =>
      this.path.at(-1) === 'vertices'
        ? takeVertices(text, from, this.points)
        : takeTriangles(text, from, this.points.length / 3, this.corners),
  };

  constructor(file: string, part: string, isRoot: boolean) {
    this.file = file;
    this.part = part;
    this.isRoot = isRoot;
  }

  open(tag: XmlTag, line: number): void {
    this.line = line;
    if (this.passing > 0) this.passing++;
    else if (this.path.length === 0) this.openModel(tag);
    else if (tag.uri !== CORE) this.passing = 1;
    else if (CHILDREN[this.path.at(-1) ?? '']?.has(tag.local) !== true) this.passUnknown(tag);
    else {
      this.path.push(tag.local);
      if (RUNS.has(tag.local)) this.prefix = tag.prefix;
      this.openKnown(tag);
    }
  }

  close(tag: XmlTag): void {
    if (this.passing > 0) this.passing--;
    else {
      this.path.pop();
      if (tag.local === 'object' && this.object !== undefined) this.closeObject(this.object);
    }
  }

  result(): ThreemfModel {
    if (this.items === undefined && this.isRoot) throw this.broken('there is no build element', '3.4');
    const { part, unit, objects, materials, oddities } = this;
    return { part, unit, objects, items: this.items ?? [], materials, oddities };
  }

  private openModel(tag: XmlTag): void {
    if (tag.uri !== CORE || tag.local !== 'model') throw this.broken('the root element is not model', '3.4');
    this.path.push('model');
    const unit = attribute(tag, 'unit') ?? 'millimeter';
    if (!UNITS.has(unit)) throw this.broken(`"${shown(unit)}" is not a unit`, '3.4');
    this.unit = unit;
    for (const uri of namespaces(tag, 'requiredextensions')) {
      if (!UNDERSTOOD.has(uri)) {
        throw this.broken(`the file requires the extension ${shown(uri)}, which is not read here`, '3.4');
      }
      if (uri === PRODUCTION) this.requiresProduction = true;
    }
    const recommended = namespaces(tag, 'recommendedextensions');
    this.oddities.unreadExtensions = recommended.filter((uri) => !UNDERSTOOD.has(uri)).length;
  }

  private openKnown(tag: XmlTag): void {
    switch (tag.local) {
      case 'vertex':
        this.addVertex(tag);
        break;
      case 'triangle':
        this.addTriangle(tag);
        break;
      case 'object':
        this.openObject(tag);
        break;
      case 'mesh':
      case 'components':
        this.openContent(tag.local);
        break;
      case 'component':
        this.object?.components.push(this.reference(tag));
        break;
      case 'basematerials':
        this.newId(tag);
        break;
      case 'base':
        this.materials.push(attribute(tag, 'name') ?? '');
        break;
      case 'build':
        if (this.items !== undefined) throw this.broken('there are two build elements', '3.4');
        this.items = [];
        break;
      case 'item':
        if (this.isRoot) this.items?.push(this.reference(tag));
        break;
    }
  }

  private passUnknown(tag: XmlTag): void {
    this.passing = 1;
    if (this.oddities.unknownElements++ > 0) return;
    this.oddities.firstUnknown = `${this.part} line ${this.line}: ${shown(tag.local)} inside ${this.path.at(-1)}`;
  }

  private openObject(tag: XmlTag): void {
    const id = this.newId(tag);
    const type = attribute(tag, 'type') ?? 'model';
    if (!isType(type)) throw this.broken(`object ${id} has the unknown type "${shown(type)}"`, '4');
    this.object = { id, type, name: attribute(tag, 'name') ?? '', components: [] };
    this.points.clear();
    this.corners.clear();
  }

  private openContent(kind: 'mesh' | 'components'): void {
    const { object } = this;
    if (object === undefined) return;
    if (object.content !== undefined) {
      throw this.broken(`object ${object.id} holds ${kind} beside ${object.content}; it may hold one of both`, '4');
    }
    object.content = kind;
  }

  private closeObject({ id, type, name, components, content }: OpenObject): void {
    if (content === undefined || (content === 'components' && components.length === 0)) {
      throw this.broken(`object ${id} has neither a mesh nor components`, '4');
    }
    const below = components.map((c) => (c.path === undefined ? (this.objects.get(c.objectId)?.depth ?? 0) : 0));
    const depth = content === 'mesh' ? 0 : 1 + below.reduce((most, d) => Math.max(most, d), 0);
    if (depth > MOST_COMPONENT_LEVELS) {
      throw this.broken(`components are nested more than ${MOST_COMPONENT_LEVELS} deep`, '4.2; limit of this reader');
    }
    const points = this.points.toFloat64();
    this.objects.set(id, { id, type, name, components, points, triangles: this.corners.toUint32(), depth });
    this.object = undefined;
  }

  private addVertex(tag: XmlTag): void {
    for (const axis of ['x', 'y', 'z']) {
      const text = attribute(tag, axis);
      if (text === undefined || !NUMBER.test(text)) {
        throw this.broken(`"${shown(text ?? '')}" is not a number of the standard's form`, '2.3.2 and ST_Number');
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
        throw this.broken(`a triangle names vertex ${shown(text)}; there are ${vertices}, counted from 0`, '4.1.4.1');
      }
      this.corners.push(index);
    }
    const [a, b, c] = [this.corners.at(at), this.corners.at(at + 1), this.corners.at(at + 2)];
    if (a === b || b === c || c === a) this.oddities.repeatedCorners++;
  }

  private reference(tag: XmlTag): ThreemfReference {
    const objectId = this.idOf(tag, 'objectid', '3.4.3.1');
    const path = foreignAttribute(tag, PRODUCTION, 'path');
    const placement = this.placementOf(attribute(tag, 'transform'));
    if (path !== undefined) {
      if (!path.startsWith('/')) throw this.broken(`the path "${shown(path)}" is not absolute`, 'production 3.1');
      if (!this.isRoot) {
        throw this.broken(`${tag.local} names the part ${shown(path)}; only the root model may`, 'production 3.2');
      }
      if (!this.requiresProduction) this.oddities.undeclaredPaths++;
      return { objectId, path, placement };
    }
    if (this.objects.has(objectId)) return { objectId, placement };
    const what = `${tag.local} names object ${objectId}, which is not defined before it`;
    throw this.broken(what, tag.local === 'item' ? '3.4.3.1' : '4.2.1');
  }

  /** Row vectors in the file, p' = p·M with the translation last; column vectors here (core 3.3). */
  private placementOf(text: string | undefined): Affine {
    if (text === undefined) return [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
    const words = text.split(/\s+/);
    if (words.length !== 12 || !words.every((word) => NUMBER.test(word))) {
      throw this.broken(`"${shown(text)}" is not a transform of twelve numbers`, '3.3');
    }
    const m = words.map(Number);
    const placement = [m[0], m[3], m[6], m[9], m[1], m[4], m[7], m[10], m[2], m[5], m[8], m[11]];
    if (determinant3(m) === 0) this.oddities.flattening++;
    return placement;
  }

  /** Ids are unique over all resources of a part, whatever they are (core 3.4.2). */
  private newId(tag: XmlTag): string {
    const id = this.idOf(tag, 'id', '3.4.2');
    if (this.ids.has(id)) throw this.broken(`${tag.local} ${id} is defined twice`, '3.4.2');
    this.ids.add(id);
    return id;
  }

  private idOf(tag: XmlTag, name: string, section: string): string {
    const text = attribute(tag, name) ?? '';
    if (/^\+?\d+$/.test(text) && Number(text) >= 1 && Number(text) < 2 ** 31) return String(Number(text));
    throw this.broken(`${tag.local} has the ${name} "${shown(text)}", which is not a number from 1 on`, section);
  }

  private broken(what: string, section: string): Error {
    const rule = section.startsWith('production') ? `3MF ${section}` : `3MF core ${section}`;
    return ruleBroken(this.file, `${this.part} line ${this.line}: ${what}`, rule);
  }
}

/** The namespaces that an attribute lists by their prefixes; a prefix that is bound to none stands for itself. */
function namespaces(tag: XmlTag, name: string): string[] {
  const prefixes = attribute(tag, name)?.split(/\s+/) ?? [];
  return prefixes.filter((prefix) => prefix !== '').map((prefix) => tag.ns[prefix] ?? prefix);
}

function determinant3([a, b, c, d, e, f, g, h, i]: readonly number[]): number {
  return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
}

function isType(text: string): text is ThreemfType {
  return TYPES.has(text);
}
