import { type Affine, determinant, StonehandError } from '@stonehand/base';
import type { Finding } from '@stonehand/model';
import { type ByteSource, readAll } from './byte-source.ts';
import type { MeshFile } from './mesh-file.ts';
import { TriangleSink } from './triangle-sink.ts';

/**
 * Reads the triangles of a glTF 2.0 scene, from GLB or from JSON that holds its data inside: the scene's nodes with all
 * their transforms; skins, morphs, points and lines are left out. The standard's y-up axes become z-up by (x, y, z) → (x, −z, y).
 * Numbers stay in the standard's metres, which is stated as the unit; some programs write millimetres all the same, and the
 * reading then doubts the size.
 * @throws StonehandError MESH_MALFORMED, MESH_EMPTY, MESH_NOT_FINITE
 */
export async function readGltf(source: ByteSource): Promise<MeshFile> {
  const { WebIO } = await import('@gltf-transform/core');
  const document = await openDocument(source, new WebIO());
  const root = document.getRoot();
  const scene = root.getDefaultScene() ?? root.listScenes()[0];
  const sink = new TriangleSink(source.name, Math.ceil(source.sizeBytes / BYTES_PER_TRIANGLE));
  const names = new Set<string>();
  let leftOut = 0;
  scene?.traverse((node) => {
    const mesh = node.getMesh();
    if (mesh === null) return;
    if (mesh.getName() !== '') names.add(mesh.getName());
    const placement = zUp(node.getWorldMatrix());
    for (const primitive of mesh.listPrimitives()) {
      const attribute = primitive.getAttribute('POSITION');
      const mode = primitive.getMode();
      if (attribute === null || mode < TRIANGLES) {
        leftOut++;
        continue;
      }
      const points = placed(attribute.getCount(), (i, into) => attribute.getElement(i, into), placement);
      const indices = primitive.getIndices();
      const count = indices?.getCount() ?? attribute.getCount();
      const corner = (i: number): number => checked(source.name, indices?.getScalar(i) ?? i, attribute.getCount());
      const step = mode === TRIANGLES ? 3 : 1;
      // A negative determinant turns the winding (glTF 2.0 §3.7.4).
      const mirrored = determinant(placement) < 0;
      for (let i = 0; i + 2 < count; i += step) {
        const fan = mode === TRIANGLE_FAN;
        const turned = mode === TRIANGLE_STRIP && i % 2 === 1;
        const a = corner(fan ? 0 : i);
        const b = corner(i + 1);
        const c = corner(i + 2);
        if (turned !== mirrored) sink.add(points, a, c, b);
        else sink.add(points, a, b, c);
      }
    }
  });
  return { format: 'glTF', unit: 'meter', names: [...names], mesh: sink.mesh(), notes: notesOf(leftOut) };
}

// glTF 2.0 §5.24.4, primitive.mode; lower values are points and lines
const TRIANGLES = 4;
const TRIANGLE_STRIP = 5;
const TRIANGLE_FAN = 6;
const BYTES_PER_TRIANGLE = 24; // of usual files; only a first guess of the size

type Io = InstanceType<typeof import('@gltf-transform/core').WebIO>;
type GltfDocument = import('@gltf-transform/core').Document;

async function openDocument(source: ByteSource, io: Io): Promise<GltfDocument> {
  const bytes = readAll(source);
  try {
    if (bytes[0] === 0x67) return await io.readBinary(aligned(bytes)); // "glTF"
    const json: unknown = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
    return await io.readJSON({ json: json as GltfJson, resources: {} });
  } catch (cause) {
    const why = cause instanceof Error ? cause.message.split('\n')[0] : String(cause);
    throw new StonehandError(
      'MESH_MALFORMED',
      `${source.name}: not a whole glTF 2.0 file (${why})`,
      'Export it again as one GLB file with its data inside and without compression.',
      { cause },
    );
  }
}

/** Some programs leave the JSON chunk without the blanks that bring it to a multiple of 4 (glTF 2.0 §4.4.3.2); add them. */
function aligned(bytes: Uint8Array): Uint8Array {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const jsonBytes = bytes.length < GLB_JSON_AT ? 0 : view.getUint32(GLB_JSON_AT - 8, true);
  const missing = (4 - (jsonBytes % 4)) % 4;
  const end = GLB_JSON_AT + jsonBytes;
  if (missing === 0 || end > bytes.length) return bytes;
  const whole = new Uint8Array(bytes.length + missing).fill(0x20);
  whole.set(bytes.subarray(0, end));
  whole.set(bytes.subarray(end), end + missing);
  const head = new DataView(whole.buffer);
  head.setUint32(8, whole.length, true);
  head.setUint32(GLB_JSON_AT - 8, jsonBytes + missing, true);
  return whole;
}

const GLB_JSON_AT = 20; // 12 bytes of header, 8 of the first chunk's length and kind

type GltfJson = Parameters<Io['readJSON']>[0]['json'];

/** Column-major 4×4 in y-up axes to our 3×4 in z-up axes. */
function zUp(m: readonly number[]): Affine {
  const row = (r: number, sign: number): number[] => [m[r] * sign, m[4 + r] * sign, m[8 + r] * sign, m[12 + r] * sign];
  return [...row(0, 1), ...row(2, -1), ...row(1, 1)];
}

function placed(count: number, get: (i: number, into: number[]) => number[], m: Affine): Float64Array {
  const points = new Float64Array(count * 3);
  const p = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    get(i, p);
    const [x, y, z] = p;
    points[3 * i] = m[0] * x + m[1] * y + m[2] * z + m[3];
    points[3 * i + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
    points[3 * i + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
  }
  return points;
}

function checked(name: string, index: number, count: number): number {
  if (index < count) return index;
  throw new StonehandError(
    'MESH_MALFORMED',
    `${name}: a triangle names vertex ${index}; there are ${count}, counted from 0 (glTF 2.0 §3.7.2.1)`,
    'Export the file again.',
  );
}

function notesOf(leftOut: number): readonly Finding[] {
  if (leftOut === 0) return [];
  return [
    {
      code: 'leftOut',
      severity: 'note',
      count: leftOut,
      says: `${leftOut} drawings of points or lines in the file were left out; only triangles can be printed.`,
      spoils: [],
    },
  ];
}
