import { StonehandError } from '@stonehand/base';
import type { Finding } from '@stonehand/model';
import { type ByteSource, byteOrderMark } from './byte-source.ts';
import { type MeshFile, NO_OFFSET } from './mesh-file.ts';
import { keyword, TextScanner } from './text-scanner.ts';
import { notFinite } from './weld.ts';
import { BLOCK_TRIANGLES, Welder64 } from './weld-table.ts';

const SOLID = keyword('solid');
const FACET = keyword('facet');
const OUTER = keyword('outer');
const LOOP = keyword('loop');
const VERTEX = keyword('vertex');
const END_LOOP = keyword('endloop');
const END_FACET = keyword('endfacet');
const END_SOLID = keyword('endsolid');
const END = keyword('end');
const BYTES_PER_FACET = 260; // of usual files; only a first guess of the size
const MOST_EXPECTED = 1 << 22; // and one that must not ask for gigabytes

/** Reads the text form: any number of solids, keywords in any case, any blanks between the words. */
export function readStlText(source: ByteSource, onProgress?: (share: number) => void): MeshFile {
  const scan = new TextScanner(source, byteOrderMark(source));
  const welder = new Welder64(Math.min(Math.ceil(source.sizeBytes / BYTES_PER_FACET), MOST_EXPECTED));
  const block = new Float64Array(BLOCK_TRIANGLES * 9);
  const names: string[] = [];
  let filled = 0;
  let open = false;
  while (!scan.atEnd()) {
    if (scan.take(FACET)) {
      readFacet(scan, block, filled * 9, welder.triangleCount + filled);
      if (++filled === BLOCK_TRIANGLES) {
        addBlock(welder, block, filled, scan.name);
        filled = 0;
        onProgress?.(scan.bytesRead / source.sizeBytes);
      }
    } else if (scan.take(SOLID)) {
      const name = scan.restOfLine();
      if (name !== '') names.push(name);
      open = true;
    } else if (scan.take(END_SOLID) || takeTwo(scan, END, SOLID)) {
      scan.restOfLine();
      open = false;
    } else throw unexpected(scan, 'facet or endsolid');
  }
  addBlock(welder, block, filled, scan.name);
  if (welder.triangleCount === 0) {
    throw new StonehandError('MESH_EMPTY', `${scan.name}: the file holds no triangle`, 'Export the part again.');
  }
  onProgress?.(1);
  return {
    format: 'STL text',
    names,
    mesh: { positions: welder.positions(), triangles: welder.triangles(), originMm: NO_OFFSET },
    notes: open ? [NO_END] : [],
  };
}

const NO_END: Finding = {
  code: 'endMissing',
  severity: 'doubt',
  count: 1,
  says: 'The text ends without endsolid: the file may be cut off between two facets.',
  remedy: 'Compare the number of triangles with the program that wrote it, or export again.',
  spoils: [],
};

function addBlock(welder: Welder64, block: Float64Array, n: number, name: string): void {
  const bad = n === 0 ? -1 : welder.add(block, n);
  if (bad >= 0) throw notFinite(name, bad);
}

/** After `facet`: the normal is passed over unread, since some programs write `nan` there and it is redundant. */
function readFacet(scan: TextScanner, block: Float64Array, at: number, triangle: number): void {
  for (let passed = 0; !expectMore(scan) && !scan.take(OUTER); passed++) {
    if (passed > 4) throw unexpected(scan, 'outer loop');
    scan.skipWord();
  }
  if (expectMore(scan) || !scan.take(LOOP)) throw unexpected(scan, 'loop');
  let corners = 0;
  while (!expectMore(scan) && scan.take(VERTEX)) {
    if (corners === 3) throw wrongCorners(scan, 'more than 3');
    const o = at + corners * 3;
    block[o] = coordinate(scan, triangle);
    block[o + 1] = coordinate(scan, triangle);
    block[o + 2] = coordinate(scan, triangle);
    corners++;
  }
  if (!scan.take(END_LOOP) && !takeTwo(scan, END, LOOP)) throw unexpected(scan, corners < 3 ? 'vertex' : 'endloop');
  if (corners < 3) throw wrongCorners(scan, `${corners}`);
  if (expectMore(scan) || !(scan.take(END_FACET) || takeTwo(scan, END, FACET))) throw unexpected(scan, 'endfacet');
}

/** Some programs write the closing keywords as two words. */
function takeTwo(scan: TextScanner, first: Uint8Array, second: Uint8Array): boolean {
  return scan.take(first) && !scan.atEnd() && scan.take(second);
}

function expectMore(scan: TextScanner): false {
  if (!scan.atEnd()) return false;
  throw new StonehandError(
    'MESH_TRUNCATED',
    `${scan.name}: line ${scan.line}: the file ends inside a facet`,
    'Export the file again; this copy is cut off.',
    { line: scan.line },
  );
}

function coordinate(scan: TextScanner, triangle: number): number {
  expectMore(scan);
  const value = scan.number();
  if (value - value === 0) return value;
  const tooLarge = Math.abs(value) === Infinity;
  if (tooLarge || /^[+-]?(nan|inf)/i.test(scan.peek())) {
    throw new StonehandError(
      'MESH_NOT_FINITE',
      `${scan.name}: line ${scan.line}: triangle ${triangle + 1} has a coordinate that is not a finite number`,
      'Export the file again; the program that wrote it divided by zero somewhere.',
      { line: scan.line },
    );
  }
  throw unexpected(scan, 'a number');
}

function wrongCorners(scan: TextScanner, corners: string): StonehandError {
  return new StonehandError(
    'MESH_MALFORMED',
    `${scan.name}: line ${scan.line}: a facet has ${corners} vertices instead of 3`,
    'Export the file again as triangles.',
    { line: scan.line },
  );
}

function unexpected(scan: TextScanner, wanted: string): StonehandError {
  return new StonehandError(
    'MESH_MALFORMED',
    `${scan.name}: line ${scan.line}: expected ${wanted}, found "${scan.peek().slice(0, 40)}"`,
    'Export the file again; this is not a whole text STL.',
    { line: scan.line },
  );
}
