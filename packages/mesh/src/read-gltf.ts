import { type Affine, determinant, StonehandError } from '@stonehand/base';
import type { Finding } from '@stonehand/model';
import { type ByteSource, readAll } from './byte-source.ts';
import { gltfShape } from './gltf-json.ts';
import type { MeshFile } from './mesh-file.ts';
import { checkMultiplied, INSTANCE_COST } from './placed-triangles.ts';
import { TriangleSink } from './triangle-sink.ts';

/**
 * Reads the triangles of a glTF 2.0 scene, from GLB or from JSON that holds its data inside: the scene's nodes with all
 * their transforms, mesh and node names, materials by name; skins, morphs, points and lines are left out. The standard's y-up
 * axes become z-up by (x, y, z) → (x, −z, y). Numbers stay in the standard's metres, which is stated as the unit; some
 * programs write millimetres all the same, and the reading then doubts the size.
 * @throws StonehandError MESH_MALFORMED naming the section, MESH_EMPTY, MESH_NOT_FINITE, MESH_TOO_LARGE
 */
export async function readGltf(source: ByteSource): Promise<MeshFile> {
  const { json, resources, materials } = gltfShape(source.name, readAll(source));
  const { WebIO } = await import('@gltf-transform/core');
  const document = await new WebIO().readJSON({ json: json as GltfJson, resources });
  const root = document.getRoot();
  const scene = root.getDefaultScene() ?? root.listScenes()[0];
  const names = new Set<string>();
  const placed: Placed[] = [];
  let leftOut = 0;
  scene?.traverse((node) => {
    const mesh = node.getMesh();
    if (mesh === null) return;
    if (mesh.getName() !== '') names.add(mesh.getName());
    for (const primitive of mesh.listPrimitives()) {
      if (primitive.getAttribute('POSITION') === null || primitive.getMode() < TRIANGLES) leftOut++;
      else placed.push({ primitive, placement: zUp(node.getWorldMatrix()) });
    }
  });
  checkSize(source.name, placed);
  const sink = new TriangleSink(source.name, Math.ceil(source.sizeBytes / BYTES_PER_TRIANGLE));
  for (const instance of placed) addPrimitive(source.name, sink, instance);
  return {
    format: 'glTF',
    unit: 'meter',
    names: [...names],
    ...(materials.length > 0 && { materials }),
    mesh: sink.mesh(),
    notes: notesOf(leftOut),
  };
}

type GltfJson = Parameters<InstanceType<typeof import('@gltf-transform/core').WebIO>['readJSON']>[0]['json'];
type Primitive = import('@gltf-transform/core').Primitive;
type Placed = Readonly<{ primitive: Primitive; placement: Affine }>;

function checkSize(file: string, placed: readonly Placed[]): void {
  const sizes = new Map<Primitive, number>();
  let total = 0;
  for (const { primitive } of placed) {
    const corners = primitive.getIndices()?.getCount() ?? primitive.getAttribute('POSITION')?.getCount() ?? 0;
    const size = INSTANCE_COST + (primitive.getMode() === TRIANGLES ? corners / 3 : corners);
    sizes.set(primitive, size);
    total += size;
  }
  checkMultiplied(
    file,
    total,
    [...sizes.values()].reduce((sum, size) => sum + size, 0),
  );
}

function addPrimitive(file: string, sink: TriangleSink, { primitive, placement }: Placed): void {
  const attribute = primitive.getAttribute('POSITION');
  if (attribute === null) return;
  const mode = primitive.getMode();
  const points = placed(attribute.getCount(), (i, into) => attribute.getElement(i, into), placement);
  const indices = primitive.getIndices();
  const count = indices?.getCount() ?? attribute.getCount();
  const corner = (i: number): number => checked(file, indices?.getScalar(i) ?? i, attribute.getCount());
  const step = mode === TRIANGLES ? 3 : 1;
  // A negative determinant turns the winding (glTF 2.0 §3.7.4).
  const mirrored = determinant(placement) < 0;
  for (let i = 0; i + 2 < count; i += step) {
    const turned = mode === TRIANGLE_STRIP && i % 2 === 1;
    const a = corner(mode === TRIANGLE_FAN ? 0 : i);
    const b = corner(i + 1);
    const c = corner(i + 2);
    if (turned !== mirrored) sink.add(points, a, c, b);
    else sink.add(points, a, b, c);
  }
}

// glTF 2.0 §5.24.4, primitive.mode; lower values are points and lines
const TRIANGLES = 4;
const TRIANGLE_STRIP = 5;
const TRIANGLE_FAN = 6;
const BYTES_PER_TRIANGLE = 24; // of usual files; only a first guess of the size

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
