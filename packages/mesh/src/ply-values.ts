import { StonehandError } from '@stonehand/base';
import { type ByteSource, readFully } from './byte-source.ts';
import { malformedPly, PLY_BYTES, type PlyElement, type PlyHeader, type PlyType } from './ply-header.ts';
import { TextScanner } from './text-scanner.ts';

/** The values behind a PLY header, one after the other. */
export interface PlyValues {
  next(type: PlyType): number;
  /** how many values a list has */
  count(type: PlyType): number;
  /** passes over n values */
  skip(type: PlyType, n: number): void;
  /** whether the rest of the file can hold the element at all, so that no memory is asked for a wild count */
  fits(element: PlyElement): boolean;
}

export class TextValues implements PlyValues {
  private readonly scan: TextScanner;
  private readonly source: ByteSource;

  constructor(source: ByteSource, header: PlyHeader) {
    this.source = source;
    this.scan = new TextScanner(source, header.bytes);
    this.scan.line = header.lines + 1;
  }

  next(): number {
    const { scan } = this;
    if (scan.atEnd()) throw truncated(this.source.name, `line ${scan.line}`);
    const value = scan.number();
    if (!Number.isNaN(value)) return value;
    // Left to the weld, which names the triangle, when the corner is used at all.
    if (/^[+-]?nan/i.test(scan.peek())) scan.skipWord();
    else if (/^[+-]?inf/i.test(scan.word())) return Infinity;
    else throw malformedPly(this.source.name, `line ${scan.line}: expected a number`);
    return Number.NaN;
  }

  count(): number {
    const n = this.next();
    if (Number.isInteger(n) && n >= 0) return n;
    throw malformedPly(this.source.name, `line ${this.scan.line}: a list has ${n} values`);
  }

  skip(_type: PlyType, n: number): void {
    for (let k = 0; k < n; k++) this.next();
  }

  fits(element: PlyElement): boolean {
    return element.count * element.properties.length * 2 <= this.source.sizeBytes - this.scan.bytesRead + 1;
  }
}

const BLOCK_BYTES = 1 << 18;

/** One block of the file in memory; files of any size, and runs that nobody needs are not even read. */
export class BinaryValues implements PlyValues {
  private readonly source: ByteSource;
  private readonly little: boolean;
  private readonly bytes: Uint8Array;
  private readonly view: DataView;
  /** where the block starts in the file */
  private blockAt: number;
  private pos = 0;
  private end = 0;

  constructor(source: ByteSource, header: PlyHeader) {
    this.source = source;
    this.little = header.format === 'binary_little_endian';
    this.bytes = new Uint8Array(Math.min(BLOCK_BYTES, source.sizeBytes));
    this.view = new DataView(this.bytes.buffer);
    this.blockAt = header.bytes;
  }

  next(type: PlyType): number {
    const size = PLY_BYTES[type];
    if (this.pos + size > this.end) this.refill(size);
    const { view, pos, little } = this;
    this.pos = pos + size;
    switch (type) {
      case 'float':
        return view.getFloat32(pos, little);
      case 'int':
        return view.getInt32(pos, little);
      case 'uchar':
        return view.getUint8(pos);
      case 'uint':
        return view.getUint32(pos, little);
      case 'double':
        return view.getFloat64(pos, little);
      case 'char':
        return view.getInt8(pos);
      case 'short':
        return view.getInt16(pos, little);
      case 'ushort':
        return view.getUint16(pos, little);
    }
  }

  count(type: PlyType): number {
    const n = this.next(type);
    // Every value of a list takes a byte or more.
    if (Number.isInteger(n) && n >= 0 && n <= this.left()) return n;
    throw malformedPly(this.source.name, `byte ${this.at()}: a list has ${n} values`);
  }

  skip(type: PlyType, n: number): void {
    const bytes = n * PLY_BYTES[type];
    if (bytes > this.left()) throw truncated(this.source.name, `byte ${this.source.sizeBytes}`);
    this.pos += bytes; // perhaps beyond the block: the next value is then read from there
  }

  fits(element: PlyElement): boolean {
    const least = element.properties.reduce((sum, p) => sum + PLY_BYTES[p.count ?? p.type], 0);
    return element.count * least <= this.left();
  }

  private at(): number {
    return this.blockAt + this.pos;
  }

  private left(): number {
    return this.source.sizeBytes - this.at();
  }

  private refill(size: number): void {
    this.blockAt += this.pos;
    this.pos = 0;
    this.end = readFully(this.source, this.bytes, this.blockAt);
    if (this.end < size) throw truncated(this.source.name, `byte ${this.blockAt + this.end}`);
  }
}

function truncated(name: string, where: string): StonehandError {
  return new StonehandError(
    'MESH_TRUNCATED',
    `${name}: ${where}: the file ends before its header says`,
    'Export the file again; this copy is cut off.',
  );
}
