import { Document, type Node, WebIO } from '@gltf-transform/core';
import type { MassReport, Mesh, Vec3 } from '@stonehand/model';

export type AssemblyGlbInput = Readonly<{
  report: MassReport;
  /** by part id, in the mesh's own coordinates */
  meshes: ReadonlyMap<string, Mesh>;
  generator?: string;
}>;

type Buffer = ReturnType<Document['createBuffer']>;
type Rgb = readonly [number, number, number];
// Linear light: warm grey parts, the blue of the drawings for the centre, their accent for the limits.
const PART: Rgb = [0.62, 0.6, 0.55];
const CENTRE: Rgb = [0.02, 0.02, 0.02];
const LIMIT: Rgb = [0.04, 0.05, 0.35];

/**
 * An assembly as binary glTF 2.0 for viewers: its parts in their places (see-through), its centre of mass as a ball as large as a
 * hundredth of the whole, and the box in which the centre may lie as lines; open sides end at the assembly's own box. Metres, y up.
 */
export async function assemblyGlb({ report, meshes, generator = 'stonehand' }: AssemblyGlbInput): Promise<Uint8Array> {
  const doc = new Document();
  doc.getRoot().getAsset().generator = generator;
  const buffer = doc.createBuffer();
  // Our axes in millimetres to glTF's in metres, once for all: x right, z up becomes y up.
  const root = doc.createNode(report.name).setMatrix(asMatrix([0.001, 0, 0, 0, 0, 0, 0.001, 0, 0, -0.001, 0, 0]));
  const known = new Map<string, ReturnType<Document['createMesh']>>();
  const whole = emptyBox();
  for (const { id, place } of report.bodies ?? []) {
    const mesh = meshes.get(id);
    if (place === undefined || mesh === undefined) continue;
    const made = known.get(id) ?? partMesh(doc, buffer, id, mesh);
    known.set(id, made);
    growBox(whole, mesh, place);
    root.addChild(doc.createNode(id).setMesh(made).setMatrix(asMatrix(place)));
  }
  const size = Math.max(...whole.max.map((v, k) => v - whole.min[k]!), 1);
  root.addChild(ball(doc, buffer, report.centreMm, size / 60));
  const { centreMm } = report.stated ?? {};
  if (centreMm !== undefined && Number.isFinite(whole.min[0]!)) {
    const bound = (side: 'min' | 'max'): number[] => [0, 1, 2].map((k) => centreMm[side]?.[k] ?? whole[side][k]!);
    root.addChild(boxLines(doc, buffer, bound('min'), bound('max')));
  }
  doc.getRoot().setDefaultScene(doc.createScene(report.name).addChild(root));
  return new WebIO().writeBinary(doc);
}

/** Row-major 3×4 to glTF's column-major 4×4. */
function asMatrix(
  m: readonly number[],
): [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
] {
  return [m[0]!, m[4]!, m[8]!, 0, m[1]!, m[5]!, m[9]!, 0, m[2]!, m[6]!, m[10]!, 0, m[3]!, m[7]!, m[11]!, 1];
}

function partMesh(doc: Document, buffer: Buffer, id: string, mesh: Mesh): ReturnType<Document['createMesh']> {
  const positions = new Float32Array(mesh.positions.length);
  for (let i = 0; i < positions.length; i++) positions[i] = mesh.positions[i]! + mesh.originMm[i % 3]!;
  const material = doc
    .createMaterial('part')
    .setBaseColorFactor([...PART, 0.45])
    .setAlphaMode('BLEND')
    .setMetallicFactor(0)
    .setRoughnessFactor(0.9)
    .setDoubleSided(true);
  return doc.createMesh(id).addPrimitive(
    doc
      .createPrimitive()
      .setAttribute('POSITION', doc.createAccessor().setType('VEC3').setArray(positions).setBuffer(buffer))
      .setIndices(doc.createAccessor().setType('SCALAR').setArray(Uint32Array.from(mesh.triangles)).setBuffer(buffer))
      .setMaterial(material),
  );
}

type Bounds = { readonly min: number[]; readonly max: number[] };

function emptyBox(): Bounds {
  return { min: [Infinity, Infinity, Infinity], max: [-Infinity, -Infinity, -Infinity] };
}

function growBox({ min, max }: Bounds, { positions: p, originMm }: Mesh, m: readonly number[]): void {
  for (let i = 0; i < p.length; i += 3) {
    const [x, y, z] = [p[i]! + originMm[0], p[i + 1]! + originMm[1], p[i + 2]! + originMm[2]];
    for (let k = 0; k < 3; k++) {
      const v = m[4 * k]! * x + m[4 * k + 1]! * y + m[4 * k + 2]! * z + m[4 * k + 3]!;
      min[k] = Math.min(min[k]!, v);
      max[k] = Math.max(max[k]!, v);
    }
  }
}

const ROUND = 24;

function ball(doc: Document, buffer: Buffer, centre: Vec3, radius: number): Node {
  const positions: number[] = [];
  const indices: number[] = [];
  for (let i = 0; i <= ROUND / 2; i++) {
    for (let j = 0; j <= ROUND; j++) {
      const [down, round] = [(2 * Math.PI * i) / ROUND, (2 * Math.PI * j) / ROUND];
      const around = radius * Math.sin(down);
      positions.push(
        centre[0] + around * Math.cos(round),
        centre[1] + around * Math.sin(round),
        centre[2] + radius * Math.cos(down),
      );
      if (i === ROUND / 2 || j === ROUND) continue;
      const [a, b] = [i * (ROUND + 1) + j, (i + 1) * (ROUND + 1) + j];
      indices.push(a, b, a + 1, a + 1, b, b + 1);
    }
  }
  return shape(doc, buffer, 'centre of mass', Float32Array.from(positions), Uint16Array.from(indices), CENTRE, 4);
}

function boxLines(doc: Document, buffer: Buffer, min: readonly number[], max: readonly number[]): Node {
  const corners = Array.from({ length: 8 }, (_, i) => [0, 1, 2].map((k) => ((i >> k) & 1 ? max : min)[k]!));
  const edges: number[] = [];
  for (let i = 0; i < 8; i++) for (let k = 0; k < 3; k++) if (((i >> k) & 1) === 0) edges.push(i, i | (1 << k));
  const positions = Float32Array.from(corners.flat());
  return shape(doc, buffer, 'where the centre may lie', positions, Uint16Array.from(edges), LIMIT, 1);
}

/** mode: 4 for triangles, 1 for lines (glTF 2.0). */
function shape(
  doc: Document,
  buffer: Buffer,
  name: string,
  positions: Float32Array<ArrayBuffer>,
  indices: Uint16Array<ArrayBuffer>,
  colour: Rgb,
  mode: 1 | 4,
): Node {
  const material = doc
    .createMaterial(name)
    .setBaseColorFactor([...colour, 1])
    .setMetallicFactor(0)
    .setDoubleSided(true);
  const primitive = doc
    .createPrimitive()
    .setAttribute('POSITION', doc.createAccessor().setType('VEC3').setArray(positions).setBuffer(buffer))
    .setIndices(doc.createAccessor().setType('SCALAR').setArray(indices).setBuffer(buffer))
    .setMode(mode)
    .setMaterial(material);
  return doc.createNode(name).setMesh(doc.createMesh(name).addPrimitive(primitive));
}
