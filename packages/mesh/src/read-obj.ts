import { StonehandError } from '@stonehand/base';
import { type ByteSource, byteOrderMark } from './byte-source.ts';
import type { MeshFile } from './mesh-file.ts';
import { polygonTriangles } from './polygon-triangles.ts';
import { keyword, TextScanner } from './text-scanner.ts';
import { TriangleSink } from './triangle-sink.ts';

const VERTEX = keyword('v');
const FACE = keyword('f');
const OBJECT = keyword('o');
const GROUP = keyword('g');
const MATERIAL = keyword('usemtl');
const BYTES_PER_FACE = 60; // of usual files with normals; only a first guess of the size

/**
 * Reads the polygons of an OBJ file: indices from either end, `v/vt/vn` in all forms, lines joined by a backslash. Names of
 * objects and groups and of the materials in use are kept; texture, normals, curves and lines are passed over. The format has no unit and no fixed up axis: z up is taken.
 * @throws StonehandError MESH_MALFORMED with the line, MESH_EMPTY, MESH_NOT_FINITE with the triangle
 */
export function readObj(source: ByteSource): MeshFile {
  const scan = new TextScanner(source, byteOrderMark(source));
  const sink = new TriangleSink(source.name, Math.ceil(source.sizeBytes / BYTES_PER_FACE));
  const names = new Set<string>();
  const materials = new Set<string>();
  let points = new Float64Array(3072);
  let numbers = 0;
  const corners: number[] = [];
  while (!scan.atEnd()) {
    if (scan.take(VERTEX)) {
      if (numbers === points.length) points = doubled(points);
      for (let i = 0; i < 3; i++) points[numbers++] = coordinate(scan);
    } else if (scan.take(FACE)) {
      readCorners(scan, numbers / 3, corners);
      if (corners.length === 3) sink.add(points, corners[0], corners[1], corners[2]);
      else polygonTriangles(points, corners, (a, b, c) => sink.add(points, a, b, c));
    } else if (scan.take(OBJECT) || scan.take(GROUP)) keep(names, scan.restOfLine());
    else if (scan.take(MATERIAL)) keep(materials, scan.restOfLine());
    skipJoinedLine(scan);
  }
  return {
    format: 'OBJ',
    names: [...names],
    ...(materials.size > 0 && { materials: [...materials] }),
    mesh: sink.mesh(),
    notes: [],
  };
}

function keep(names: Set<string>, name: string): void {
  if (name !== '' && names.size < MOST_NAMES) names.add(name);
}

const MOST_NAMES = 10_000; // scans name every facet in some programs; nobody reads more

function doubled(points: Float64Array): Float64Array<ArrayBuffer> {
  const more = new Float64Array(points.length * 2);
  more.set(points);
  return more;
}

function coordinate(scan: TextScanner): number {
  const value = scan.atLineEnd() ? Number.NaN : scan.number();
  if (value - value === 0) return value;
  const word = scan.peek();
  const infinite = !Number.isNaN(value) || /^[+-]?(nan|inf)/i.test(word);
  throw new StonehandError(
    infinite ? 'MESH_NOT_FINITE' : 'MESH_MALFORMED',
    `${scan.name}: line ${scan.line}: ${infinite ? 'a vertex has a coordinate that is not a finite number' : `expected a coordinate, found "${word.slice(0, 40)}"`}`,
    'Export the file again.',
    { line: scan.line },
  );
}

function readCorners(scan: TextScanner, vertices: number, corners: number[]): void {
  corners.length = 0;
  while (!scan.atLineEnd()) {
    const given = scan.number(true);
    const index = given > 0 ? given - 1 : vertices + given;
    if (!Number.isInteger(given) || given === 0 || index < 0 || index >= vertices) {
      throw malformed(
        scan,
        Number.isInteger(given)
          ? `a face names vertex ${given}; there are ${vertices} so far`
          : `expected a vertex number, found "${scan.peek().slice(0, 40)}"`,
      );
    }
    scan.skipWord(); // texture and normal numbers
    corners.push(index);
  }
  if (corners.length < 3) throw malformed(scan, `a face has ${corners.length} vertices; it needs 3 or more`);
}

/** To the next line that starts a statement. */
function skipJoinedLine(scan: TextScanner): void {
  while (!scan.atLineEnd()) scan.skipWord();
}

function malformed(scan: TextScanner, what: string): StonehandError {
  return new StonehandError('MESH_MALFORMED', `${scan.name}: line ${scan.line}: ${what}`, 'Export the file again.', {
    line: scan.line,
  });
}
