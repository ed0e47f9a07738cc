import { StonehandError } from '@stonehand/base';
import { type ByteSource, readAll } from './byte-source.ts';
import { malformedPly, PLY_BYTES, type PlyElement, type PlyHeader, type PlyType } from './ply-header.ts';
import { TextScanner } from './text-scanner.ts';

/** The values behind a PLY header, one after the other. */
export interface PlyValues {
  next(type: PlyType): number;
  /** how many values a list has */
  count(type: PlyType): number;
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

  fits(element: PlyElement): boolean {
    return element.count * element.properties.length * 2 <= this.source.sizeBytes - this.scan.bytesRead + 1;
  }
}

export class BinaryValues implements PlyValues {
  private readonly name: string;
  private readonly view: DataView;
  private readonly little: boolean;
  private at: number;

  constructor(source: ByteSource, header: PlyHeader) {
    const bytes = readAll(source);
    this.name = source.name;
    this.view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.little = header.format === 'binary_little_endian';
    this.at = header.bytes;
  }

  next(type: PlyType): number {
    const { view, at, little } = this;
    const end = at + PLY_BYTES[type];
    if (end > view.byteLength) throw truncated(this.name, `byte ${view.byteLength}`);
    this.at = end;
    switch (type) {
      case 'float':
        return view.getFloat32(at, little);
      case 'int':
        return view.getInt32(at, little);
      case 'uchar':
        return view.getUint8(at);
      case 'uint':
        return view.getUint32(at, little);
      case 'double':
        return view.getFloat64(at, little);
      case 'char':
        return view.getInt8(at);
      case 'short':
        return view.getInt16(at, little);
      case 'ushort':
        return view.getUint16(at, little);
    }
  }

  count(type: PlyType): number {
    const n = this.next(type);
    // Every value of a list takes a byte or more.
    if (Number.isInteger(n) && n >= 0 && n <= this.view.byteLength - this.at) return n;
    throw malformedPly(this.name, `byte ${this.at}: a list has ${n} values`);
  }

  fits(element: PlyElement): boolean {
    const least = element.properties.reduce((sum, p) => sum + PLY_BYTES[p.count ?? p.type], 0);
    return element.count * least <= this.view.byteLength - this.at;
  }
}

function truncated(name: string, where: string): StonehandError {
  return new StonehandError(
    'MESH_TRUNCATED',
    `${name}: ${where}: the file ends before its header says`,
    'Export the file again; this copy is cut off.',
  );
}
