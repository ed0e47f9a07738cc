import { StonehandError } from '@stonehand/base';
import { type ByteSource, readFully } from './byte-source.ts';
import type { MeshFile } from './mesh-file.ts';
import { malformedPly, type PlyElement, type PlyProperty, parsePlyHeader } from './ply-header.ts';
import { BinaryValues, type PlyValues, TextValues } from './ply-values.ts';
import { polygonTriangles } from './polygon-triangles.ts';
import { TriangleSink } from './triangle-sink.ts';

/**
 * Reads a PLY file, text or binary of either byte order. Everything but `x y z` of `vertex`, the corner list of `face` and
 * the strips of `tristrips` (−1 ends a strip) is passed over by its size. Layout: Turk, "The PLY Polygon File Format", 1994 (from memory) and common practice.
 * The format has no unit and no fixed up axis: z up is taken.
 * @throws StonehandError MESH_MALFORMED, MESH_TRUNCATED with the element, MESH_EMPTY for points without faces, MESH_NOT_FINITE
 */
export function readPly(source: ByteSource): MeshFile {
  const start = new Uint8Array(Math.min(source.sizeBytes, MOST_HEADER_BYTES));
  const header = parsePlyHeader(source.name, start.subarray(0, readFully(source, start, 0)));
  const faces = header.elements.filter(({ name, count }) => (name === 'face' || name === 'tristrips') && count > 0);
  if (faces.length === 0) {
    throw new StonehandError(
      'MESH_EMPTY',
      `${source.name}: the file holds points without faces`,
      'Export the part as a mesh of triangles.',
    );
  }
  const values = header.format === 'ascii' ? new TextValues(source, header) : new BinaryValues(source, header);
  const sink = new TriangleSink(source.name, Math.min(faces[0].count * 2, source.sizeBytes));
  const body = new PlyBody(source.name, values, sink);
  for (const element of header.elements) body.read(element);
  return { format: `PLY ${header.format === 'ascii' ? 'text' : 'binary'}`, names: [], mesh: sink.mesh(), notes: [] };
}

const MOST_HEADER_BYTES = 1 << 16;

class PlyBody {
  private points = new Float64Array(0);
  private readonly corners: number[] = [];
  private readonly name: string;
  private readonly values: PlyValues;
  private readonly sink: TriangleSink;

  constructor(name: string, values: PlyValues, sink: TriangleSink) {
    this.name = name;
    this.values = values;
    this.sink = sink;
  }

  read(element: PlyElement): void {
    if (!this.values.fits(element)) {
      throw new StonehandError(
        'MESH_TRUNCATED',
        `${this.name}: the header promises ${element.count} of element ${element.name}, more than the file can hold`,
        'Export the file again; this copy is cut off, or its header is wrong.',
      );
    }
    if (element.name === 'vertex') this.readVertices(element);
    else if (element.name === 'face' || element.name === 'tristrips') this.readFaces(element);
    else this.pass(element);
  }

  private readVertices(element: PlyElement): void {
    const axes = element.properties.map((property) => ['x', 'y', 'z'].indexOf(property.name));
    if (!['x', 'y', 'z'].every((_, axis) => axes.includes(axis))) {
      throw malformedPly(this.name, 'element vertex has no x, y and z');
    }
    const points = new Float64Array(element.count * 3);
    for (let v = 0; v < element.count; v++) {
      for (let p = 0; p < axes.length; p++) {
        const property = element.properties[p];
        if (axes[p] >= 0) points[3 * v + axes[p]] = this.values.next(property.type);
        else this.passProperty(property);
      }
    }
    this.points = points;
  }

  private readFaces(element: PlyElement): void {
    const list = element.properties.findIndex((p) => p.count !== undefined && /^vertex_(index|indices)$/.test(p.name));
    if (list < 0) throw malformedPly(this.name, `element ${element.name} has no list vertex_indices`);
    const strips = element.name === 'tristrips';
    const { corners, points, sink } = this;
    const vertices = points.length / 3;
    const emit = (a: number, b: number, c: number): void => sink.add(points, a, b, c);
    for (let f = 0; f < element.count; f++) {
      for (let p = 0; p < element.properties.length; p++) {
        const property = element.properties[p];
        if (p !== list) {
          this.passProperty(property);
          continue;
        }
        const n = this.values.count(property.count ?? 'uchar');
        corners.length = 0;
        for (let k = 0; k < n; k++) corners.push(this.corner(property, vertices, { face: f, strips }));
        if (strips) emitStrips(corners, emit);
        else if (n === 3) sink.add(points, corners[0], corners[1], corners[2]);
        else polygonTriangles(points, corners, emit);
      }
    }
  }

  private corner(property: PlyProperty, vertices: number, { face, strips }: { face: number; strips: boolean }): number {
    const index = this.values.next(property.type);
    if (index >= 0 && index < vertices && Number.isInteger(index)) return index;
    if (strips && index === STRIP_END) return index;
    throw malformedPly(this.name, `face ${face + 1} names vertex ${index}; there are ${vertices}, counted from 0`);
  }

  private pass(element: PlyElement): void {
    for (let i = 0; i < element.count; i++) for (const property of element.properties) this.passProperty(property);
  }

  private passProperty(property: PlyProperty): void {
    const n = property.count === undefined ? 1 : this.values.count(property.count);
    this.values.skip(property.type, n);
  }
}

const STRIP_END = -1;

/** Each corner after the second makes a triangle with the two before it, every other one turned. */
function emitStrips(corners: readonly number[], emit: (a: number, b: number, c: number) => void): void {
  let start = 0;
  for (let k = 0; k < corners.length; k++) {
    if (corners[k] === STRIP_END) start = k + 1;
    else if (k - start < 2) continue;
    else if ((k - start) % 2 === 0) emit(corners[k - 2], corners[k - 1], corners[k]);
    else emit(corners[k - 1], corners[k - 2], corners[k]);
  }
}
