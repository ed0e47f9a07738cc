import { determinant, StonehandError } from '@stonehand/base';
import type { Mesh, Placement } from '@stonehand/model';
import { strToU8, zipSync } from 'fflate';
import { escapeXml } from './escape.ts';

export type Object3mf = Readonly<{
  name: string;
  mesh: Mesh;
  partNumber?: string;
  /** index into materials */
  material?: number;
  /** support: an object that a reader may drop or replace, never filled (core specification 4.1); default model */
  type?: 'model' | 'support';
}>;
export type Item3mf = Readonly<{
  /** index into objects */ object: number;
  placement?: Placement;
  partNumber?: string;
}>;
export type Options3mf = Readonly<{
  title?: string;
  application?: string;
  /** further metadata of the core standard's own names: Designer, Description, Copyright, LicenseTerms, Rating, CreationDate, ModificationDate */
  metadata?: Readonly<
    Partial<
      Record<
        'Designer' | 'Description' | 'Copyright' | 'LicenseTerms' | 'Rating' | 'CreationDate' | 'ModificationDate',
        string
      >
    >
  >;
  /** colour is #RRGGBB, for display only */
  materials?: readonly Readonly<{ name: string; colour: string }>[];
}>;

const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const START_PART = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';
const MODEL_TYPE = 'application/vnd.ms-package.3dmanufacturing-3dmodel+xml';
const RELATIONSHIPS_TYPE = 'application/vnd.openxmlformats-package.relationships+xml';
const HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n';

/**
 * A 3MF package (core specification 1.4.0) of closed meshes and where they stand, in mm. The same input gives the same bytes:
 * every entry is dated 1 January 1980, the earliest a ZIP can say.
 * @throws StonehandError MESH_OPEN when a mesh breaks section 4.1 (each edge in exactly two triangles, once each way; corners
 *   distinct; four triangles at least; volume positive); DATA_UNKNOWN when an item names no object; MESH_NOT_FINITE
 */
export function write3mf(
  objects: readonly Object3mf[],
  items: readonly Item3mf[],
  options: Options3mf = {},
): Uint8Array<ArrayBuffer> {
  for (const object of objects) checkClosed(object);
  const model = modelXml(objects, items, options);
  // In local time, because the archiver reads the date with local getters: so every time zone writes the same bytes.
  const mtime = new Date(1980, 0, 1);
  const entry = (text: string): [Uint8Array, { mtime: Date; level: 6 }] => [strToU8(text), { mtime, level: 6 }];
  return zipSync({
    '[Content_Types].xml': entry(
      `${HEAD}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="${RELATIONSHIPS_TYPE}"/><Default Extension="model" ContentType="${MODEL_TYPE}"/></Types>`,
    ),
    '_rels/.rels': entry(
      `${HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" Type="${START_PART}"/></Relationships>`,
    ),
    '3D/3dmodel.model': entry(model),
  }) as Uint8Array<ArrayBuffer>;
}

function modelXml(
  objects: readonly Object3mf[],
  items: readonly Item3mf[],
  { title, application = 'stonehand', metadata = {}, materials = [] }: Options3mf,
): string {
  const out: string[] = [HEAD, `<model unit="millimeter" xml:lang="en-US" xmlns="${CORE}">\n`];
  const named: [string, string | undefined][] = [
    ['Title', title],
    ['Application', application],
    ...Object.entries(metadata),
  ];
  for (const [name, value] of named)
    if (value !== undefined) out.push(`<metadata name="${name}">${escapeXml(value)}</metadata>\n`);
  out.push('<resources>\n');
  // Ids are unique over all resources: the materials take 1, objects follow.
  const firstObject = materials.length > 0 ? 2 : 1;
  if (materials.length > 0) {
    out.push(
      '<basematerials id="1">',
      ...materials.map((m) => `<base name="${escapeXml(m.name)}" displaycolor="${m.colour}"/>`),
      '</basematerials>\n',
    );
  }
  objects.forEach((object, i) => {
    const material =
      object.material === undefined || materials.length === 0 ? '' : ` pid="1" pindex="${object.material}"`;
    const partNumber = object.partNumber === undefined ? '' : ` partnumber="${escapeXml(object.partNumber)}"`;
    out.push(
      `<object id="${firstObject + i}" type="${object.type ?? 'model'}" name="${escapeXml(object.name)}"${partNumber}${material}>`,
    );
    meshXml(object.mesh, out);
    out.push('</object>\n');
  });
  out.push('</resources>\n<build>\n');
  for (const item of items) {
    const named = objects[item.object];
    if (named === undefined)
      throw new StonehandError(
        'DATA_UNKNOWN',
        `3MF item refers to object ${item.object} of ${objects.length}`,
        'Refer to one of the objects given.',
      );
    const transform = item.placement === undefined ? '' : ` transform="${transformText(item.placement, named.name)}"`;
    const partNumber = item.partNumber === undefined ? '' : ` partnumber="${escapeXml(item.partNumber)}"`;
    out.push(`<item objectid="${firstObject + item.object}"${transform}${partNumber}/>\n`);
  }
  out.push('</build>\n</model>\n');
  return out.join('');
}

function meshXml(mesh: Mesh, out: string[]): void {
  const { positions: p, triangles: t, originMm: o } = mesh;
  const moved = o[0] !== 0 || o[1] !== 0 || o[2] !== 0;
  const single = p instanceof Float32Array && !moved;
  out.push('<mesh><vertices>');
  for (let i = 0; i < p.length; i += 3) {
    out.push(
      `<vertex x="${decimal(p[i]! + o[0], single)}" y="${decimal(p[i + 1]! + o[1], single)}" z="${decimal(p[i + 2]! + o[2], single)}"/>`,
    );
  }
  out.push('</vertices><triangles>');
  for (let k = 0; k < t.length; k += 3) out.push(`<triangle v1="${t[k]}" v2="${t[k + 1]}" v3="${t[k + 2]}"/>`);
  out.push('</triangles></mesh>');
}

/** Row vectors: p' = p·M, so our matrix of column vectors is written column by column, the shift last. */
function transformText(placement: Placement, name: string): string {
  const m = placement;
  if (!(Math.abs(determinant(m)) > 0))
    throw new StonehandError(
      'GEOMETRY_FAILED',
      `${name}: its placement flattens it`,
      'Give a placement that can be undone.',
    );
  return [0, 4, 8, 1, 5, 9, 2, 6, 10, 3, 7, 11].map((k) => decimal(m[k]!, false)).join(' ');
}

/** Shortest decimal that reads back as the same number (of single precision where the mesh is). */
function decimal(value: number, single: boolean): string {
  if (!Number.isFinite(value))
    throw new StonehandError(
      'MESH_NOT_FINITE',
      '3MF: a coordinate is not a finite number',
      'Repair or export the mesh again.',
    );
  if (value === 0) return '0';
  if (single && !Number.isInteger(value)) {
    for (let digits = 6; digits <= 9; digits++) {
      const text = value.toPrecision(digits);
      if (Math.fround(Number(text)) === value) return String(Number(text));
    }
  }
  return String(value);
}

/**
 * Section 4.1 of the specification. An edge is met as (from, to); the surface is closed and turned one way when no pair
 * repeats and the pairs read backwards are the same pairs. Sorted numbers: a set would end at 16.7 million edges.
 */
function checkClosed({ name, mesh }: Object3mf): void {
  const fail = (what: string): never => {
    throw new StonehandError(
      'MESH_OPEN',
      `${name}: ${what}, which 3MF does not allow`,
      'Repair the mesh first, or pack it as STL.',
    );
  };
  const { triangles: t, positions: p } = mesh;
  const vertices = p.length / 3;
  if (t.length < 12) fail('it has fewer than four triangles');
  const ahead = new Float64Array(t.length);
  const back = new Float64Array(t.length);
  let volume6 = 0;
  for (let k = 0; k < t.length; k += 3) {
    const a = t[k]!;
    const b = t[k + 1]!;
    const c = t[k + 2]!;
    if (a >= vertices || b >= vertices || c >= vertices) fail(`triangle ${k / 3} refers to a vertex that is not there`);
    if (a === b || b === c || c === a) fail(`triangle ${k / 3} uses a corner twice`);
    ahead[k] = a * vertices + b;
    ahead[k + 1] = b * vertices + c;
    ahead[k + 2] = c * vertices + a;
    back[k] = b * vertices + a;
    back[k + 1] = c * vertices + b;
    back[k + 2] = a * vertices + c;
    const [x, y, z] = [3 * a, 3 * b, 3 * c];
    volume6 +=
      p[x]! * (p[y + 1]! * p[z + 2]! - p[y + 2]! * p[z + 1]!) +
      p[x + 1]! * (p[y + 2]! * p[z]! - p[y]! * p[z + 2]!) +
      p[x + 2]! * (p[y]! * p[z + 1]! - p[y + 1]! * p[z]!);
  }
  ahead.sort();
  back.sort();
  for (let k = 0; k < ahead.length; k++) {
    if (k > 0 && ahead[k] === ahead[k - 1])
      fail('an edge belongs to more than two triangles or they face different ways');
    if (ahead[k] !== back[k]) fail('an edge belongs to one triangle only');
  }
  if (!(volume6 > 0)) fail('it is inside out');
}
