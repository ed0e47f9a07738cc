import { StonehandError } from '@stonehand/base';

/** The parts of a glTF document that say something about its shape, each checked against the data that the file holds. */
export type GltfShape = Readonly<{
  json: Readonly<{ asset: { version: string }; [list: string]: unknown }>;
  /** bytes of each buffer, under the names that json uses */
  resources: Record<string, Uint8Array<ArrayBuffer>>;
  /** names of the materials in use */
  materials: readonly string[];
}>;

/** Any object of the document; named are the properties that are looked at one by one. */
interface Json {
  readonly [name: string]: unknown;
  readonly asset?: unknown;
  readonly version?: unknown;
  readonly extensionsRequired?: unknown;
  readonly scene?: unknown;
  readonly byteLength?: unknown;
  readonly byteStride?: unknown;
  readonly mode?: unknown;
  readonly POSITION?: unknown;
  readonly type?: unknown;
  readonly componentType?: unknown;
  readonly children?: unknown;
  readonly mesh?: unknown;
}

type Bytes = Uint8Array<ArrayBuffer>;

/**
 * Takes a glTF 2.0 file apart: GLB chunks or plain JSON, then only what is needed for triangles, so that images, animations
 * and materials, broken or not, cannot stop it. Every count is checked against the bytes that are there, and the nodes are a
 * tree, before anything is given to the library.
 * @throws StonehandError MESH_MALFORMED naming the section of glTF 2.0
 */
export function gltfShape(file: string, bytes: Bytes): GltfShape {
  const { text, bin } = bytes[0] === 0x67 ? glbChunks(file, bytes) : { text: bytes, bin: undefined };
  return new ShapeReader(file, parsed(file, text), bin).shape();
}

const GLB_JSON = 0x4e4f534a;
const GLB_BIN = 0x004e4942;

/** glTF 2.0 §4.4. Some programs leave the JSON chunk without the blanks that bring it to a multiple of 4: no harm. */
function glbChunks(file: string, bytes: Bytes): { text: Bytes; bin: Bytes | undefined } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const version = bytes.length < 12 ? 0 : view.getUint32(4, true);
  if (version !== 2) throw broken(file, `the GLB version is ${version}, not 2`, '4.4.2');
  let text: Bytes | undefined;
  let bin: Bytes | undefined;
  for (let at = 12; at + 8 <= bytes.length; ) {
    const length = view.getUint32(at, true);
    const kind = view.getUint32(at + 4, true);
    at += 8;
    if (at + length > bytes.length)
      throw broken(file, 'a chunk is longer than the file; this copy is cut off', '4.4.3');
    if (kind === GLB_JSON) text ??= bytes.subarray(at, at + length);
    else if (kind === GLB_BIN) bin ??= bytes.subarray(at, at + length);
    at += length;
  }
  if (text === undefined) throw broken(file, 'there is no JSON chunk', '4.4.3.2');
  return { text, bin };
}

function parsed(file: string, text: Bytes): Json {
  try {
    const json: unknown = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(text));
    if (isRecord(json)) return json;
  } catch (cause) {
    throw broken(file, 'the JSON is damaged or cut off', '3.2', cause);
  }
  throw broken(file, 'the JSON is not one object', '3.2');
}

// Required extensions that change looks only, or that the library reads without help (integer coordinates).
const HARMLESS = /^(KHR_mesh_quantization|(KHR|EXT)_(materials|texture|lights)_\w+)$/;
const COMPONENT_BYTES: ReadonlyMap<unknown, number> = new Map([
  [5120, 1],
  [5121, 1],
  [5122, 2],
  [5123, 2],
  [5125, 4],
  [5126, 4],
]);
const MOST_LEVELS = 256;
const MOST_NODES = 2 ** 16; // the library takes a tenth of a millisecond for each, and more than linear time beyond

class ShapeReader {
  private readonly file: string;
  private readonly json: Json;
  private readonly bin: Bytes | undefined;
  private readonly resources: Record<string, Bytes> = {};
  private readonly lists = new Map<string, readonly Json[]>();
  private readonly accessors: Json[] = [];
  private readonly accessorAt = new Map<number, number>();
  private readonly materials = new Set<string>();

  constructor(file: string, json: Json, bin: Bytes | undefined) {
    this.file = file;
    this.json = json;
    this.bin = bin;
  }

  shape(): GltfShape {
    const { json } = this;
    const asset = isRecord(json.asset) ? json.asset : {};
    if (!/^2\.\d+$/.test(String(asset.version))) throw this.broken('asset.version is not 2.x', '3.2');
    for (const name of listOf(json.extensionsRequired)) {
      if (typeof name !== 'string' || !HARMLESS.test(name)) {
        throw this.broken(
          `the file requires the extension ${String(name).slice(0, 60)}, which is not read here`,
          '3.12',
        );
      }
    }
    const buffers = this.records('buffers').map((buffer, i) => this.buffer(buffer, i));
    const bufferViews = this.records('bufferViews').map((view) => this.bufferView(view, buffers));
    const meshes = this.records('meshes').map((mesh) => this.mesh(mesh, bufferViews));
    const nodes = this.nodes(meshes.length);
    const scenes = this.records('scenes').map(({ nodes: roots }) => ({ nodes: this.roots(roots, nodes) }));
    const scene =
      json.scene === undefined ? {} : { scene: this.index(json.scene, scenes.length, 'the scene', '3.5.1') };
    const version = { asset: { version: '2.0' } };
    const { accessors, resources } = this;
    const whole = { ...version, buffers, bufferViews, accessors, meshes, nodes, scenes, ...scene };
    return { json: whole, resources, materials: [...this.materials] };
  }

  private buffer({ uri, byteLength }: Json, i: number): Json {
    const bytes = uri === undefined ? (i === 0 ? this.bin : undefined) : this.dataUri(uri);
    if (bytes === undefined) throw this.broken(`buffer ${i} has no data`, '3.6.1');
    const length = this.size(byteLength, `buffer ${i}: byteLength`);
    if (length > bytes.length)
      throw this.broken(`buffer ${i} promises ${length} bytes and holds ${bytes.length}`, '3.6.1');
    const name = `buffer${i}.bin`;
    this.resources[name] = bytes;
    return { uri: name, byteLength: length };
  }

  private dataUri(uri: unknown): Bytes {
    const data = typeof uri === 'string' ? /^data:[^,]*?;base64,/.exec(uri) : null;
    if (typeof uri === 'string' && data !== null)
      return Uint8Array.from(Buffer.from(uri.slice(data[0].length), 'base64'));
    throw new StonehandError(
      'MESH_MALFORMED',
      `${this.file}: its data lies in another file, ${String(uri).slice(0, 60)} (glTF 2.0 3.6.1)`,
      'Export it as one GLB file with its data inside.',
    );
  }

  private bufferView({ buffer, byteOffset, byteLength, byteStride }: Json, buffers: readonly Json[]): Json {
    const at = this.index(buffer, buffers.length, 'a bufferView', '3.6.1');
    const offset = this.size(byteOffset ?? 0, 'a bufferView: byteOffset');
    const length = this.size(byteLength, 'a bufferView: byteLength');
    if (offset + length > Number(buffers[at].byteLength))
      throw this.broken('a bufferView ends behind its buffer', '3.6.1');
    const stride = byteStride === undefined ? undefined : this.size(byteStride, 'a bufferView: byteStride');
    if (stride !== undefined && (stride < 4 || stride > 252 || stride % 4 !== 0)) {
      throw this.broken(`a bufferView has the stride ${stride}`, '3.6.1');
    }
    return { buffer: at, byteOffset: offset, byteLength: length, ...(stride !== undefined && { byteStride: stride }) };
  }

  private mesh({ name, primitives }: Json, views: readonly Json[]): Json {
    const kept = listOf(primitives).map((primitive) => {
      if (!isRecord(primitive)) throw this.broken('a primitive is not an object', '3.7.2');
      const { attributes, indices, material } = primitive;
      const mode = this.index(primitive.mode ?? 4, 7, 'a primitive: mode', '3.7.2.1');
      if (material !== undefined) this.useMaterial(material);
      const position = isRecord(attributes) ? attributes.POSITION : undefined;
      return {
        mode,
        attributes: position === undefined ? {} : { POSITION: this.accessor(position, views, 'VEC3') },
        ...(indices !== undefined && { indices: this.accessor(indices, views, 'SCALAR') }),
      };
    });
    return { name: typeof name === 'string' ? name : '', primitives: kept };
  }

  private useMaterial(material: unknown): void {
    const all = this.records('materials');
    const { name } = all[this.index(material, all.length, 'a primitive: material', '3.7.2')];
    if (typeof name === 'string' && name !== '') this.materials.add(name);
  }

  /** Checks an accessor at its first use; gives its place in the new list. */
  private accessor(given: unknown, views: readonly Json[], type: 'VEC3' | 'SCALAR'): number {
    const all = this.records('accessors');
    const index = this.index(given, all.length, 'a primitive: accessor', '3.6.2');
    const known = this.accessorAt.get(index);
    if (known !== undefined && this.accessors[known].type === type) return known;
    const { componentType, count, normalized, bufferView, byteOffset, sparse } = all[index];
    const bytes = COMPONENT_BYTES.get(componentType);
    const whole = typeof componentType === 'number' && componentType % 2 === 1 && componentType !== 5126; // unsigned
    if (all[index].type !== type || bytes === undefined || (type === 'SCALAR' && !whole)) {
      throw this.broken(`accessor ${index} is not of the kind its use asks for`, '3.7.2.1');
    }
    const n = this.size(count, `accessor ${index}: count`);
    const size = bytes * (type === 'VEC3' ? 3 : 1);
    const region = this.region({ bufferView, byteOffset, n, size, what: `accessor ${index}` }, views);
    if (region === undefined && sparse === undefined) throw this.broken(`accessor ${index} has no data`, '3.6.2.2');
    const kept = {
      type,
      componentType,
      count: n,
      normalized: normalized === true,
      ...region,
      ...(sparse !== undefined && { sparse: this.sparse(sparse, n, size, views) }),
    };
    this.accessorAt.set(index, this.accessors.length);
    return this.accessors.push(kept) - 1;
  }

  private sparse(given: unknown, of: number, size: number, views: readonly Json[]): Json {
    const { count, indices, values } = isRecord(given) ? given : {};
    const bytes = isRecord(indices) ? COMPONENT_BYTES.get(indices.componentType) : undefined;
    const n = this.size(count, 'a sparse accessor: count');
    if (!isRecord(indices) || !isRecord(values) || bytes === undefined || n > of) {
      throw this.broken('a sparse accessor is not whole', '3.6.2.3');
    }
    // A base without data is all zeros, which cost nothing in the file: bounded like anything that unpacks.
    if (of > MOST_ZEROS) throw this.broken(`a sparse accessor has ${of} elements`, 'limit of this reader');
    const what = 'a sparse accessor';
    const places = this.region({ ...indices, n, size: bytes, what }, views);
    const data = this.region({ ...values, n, size, what }, views);
    if (places === undefined || data === undefined) throw this.broken(`${what} has no data`, '3.6.2.3');
    return { count: n, indices: { componentType: indices.componentType, ...places }, values: data };
  }

  private region(
    part: { bufferView?: unknown; byteOffset?: unknown; n: number; size: number; what: string },
    views: readonly Json[],
  ): Json | undefined {
    const { n, size, what } = part;
    if (part.bufferView === undefined) return undefined;
    const bufferView = this.index(part.bufferView, views.length, what, '3.6.2');
    const byteOffset = this.size(part.byteOffset ?? 0, `${what}: byteOffset`);
    const stride = Number(views[bufferView].byteStride ?? size);
    if (n > 0 && byteOffset + stride * (n - 1) + size > Number(views[bufferView].byteLength)) {
      throw this.broken(`${what} promises ${n} elements, more than its bufferView holds`, '3.6.2.4');
    }
    return { bufferView, byteOffset };
  }

  /** Nodes with their transforms, proven to be trees (§3.5.2). */
  private nodes(meshes: number): readonly Json[] {
    const all = this.records('nodes');
    if (all.length > MOST_NODES) {
      throw new StonehandError(
        'MESH_TOO_LARGE',
        `${this.file}: the scene has ${all.length} nodes, more than the ${MOST_NODES} that are read`,
        'Join the parts before exporting.',
      );
    }
    const parent = new Int32Array(all.length).fill(-1);
    const kept = all.map((node, i) => {
      const children = listOf(node.children).map((child) => this.index(child, all.length, `node ${i}`, '3.5.2'));
      for (const child of children) {
        if (parent[child] >= 0) throw this.broken(`node ${child} has two parents`, '3.5.2');
        parent[child] = i;
      }
      const mesh = node.mesh === undefined ? {} : { mesh: this.index(node.mesh, meshes, `node ${i}: mesh`, '3.5') };
      return { children, ...mesh, ...this.transform(node, i) };
    });
    for (let i = 0; i < parent.length; i++) {
      let levels = 0;
      for (let up = parent[i]; up >= 0; up = parent[up]) {
        if (++levels > MOST_LEVELS)
          throw this.broken(`nodes are nested more than ${MOST_LEVELS} deep or in a circle`, '3.5.2');
      }
    }
    return kept;
  }

  private transform(node: Json, i: number): Json {
    const out: Record<string, unknown> = {};
    for (const [name, length] of Object.entries({ matrix: 16, translation: 3, rotation: 4, scale: 3 })) {
      const given = node[name];
      if (given === undefined) continue;
      if (!Array.isArray(given) || given.length !== length || !given.every(Number.isFinite)) {
        throw this.broken(`node ${i}: ${name} is not ${length} numbers`, '3.5.3');
      }
      out[name] = given;
    }
    return out;
  }

  private roots(given: unknown, nodes: readonly Json[]): readonly number[] {
    const children = new Set(nodes.flatMap((node) => listOf(node.children)));
    const roots = [...new Set(listOf(given).map((node) => this.index(node, nodes.length, 'a scene', '3.5.1')))];
    for (const node of roots) if (children.has(node)) throw this.broken(`node ${node} of a scene is no root`, '3.5.1');
    return roots;
  }

  private records(name: string): readonly Json[] {
    const known = this.lists.get(name);
    if (known !== undefined) return known;
    const list = this.json[name] ?? [];
    if (Array.isArray(list) && list.every(isRecord)) {
      this.lists.set(name, list);
      return list;
    }
    throw this.broken(`${name} is not a list of objects`, '5');
  }

  private index(given: unknown, count: number, what: string, section: string): number {
    if (typeof given === 'number' && Number.isInteger(given) && given >= 0 && given < count) return given;
    throw this.broken(
      `${what} names number ${String(given).slice(0, 20)}; there are ${count}, counted from 0`,
      section,
    );
  }

  private size(given: unknown, what: string): number {
    if (typeof given === 'number' && Number.isSafeInteger(given) && given >= 0) return given;
    throw this.broken(`${what} is ${String(given).slice(0, 20)}`, '5');
  }

  private broken(what: string, section: string): StonehandError {
    return broken(this.file, what, section);
  }
}

const MOST_ZEROS = 2 ** 24;

function isRecord(value: unknown): value is Json {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function listOf(value: unknown): readonly unknown[] {
  return Array.isArray(value) ? value : [];
}

function broken(file: string, what: string, section: string, cause?: unknown): StonehandError {
  return new StonehandError(
    'MESH_MALFORMED',
    `${file}: ${what} (glTF 2.0 ${section})`,
    'Export it again as one GLB file with its data inside and without compression.',
    cause === undefined ? {} : { cause },
  );
}
