import { StonehandError } from '@stonehand/base';

export type PlyType = 'char' | 'uchar' | 'short' | 'ushort' | 'int' | 'uint' | 'float' | 'double';
/** A list has a count type before its values. */
export type PlyProperty = Readonly<{ name: string; type: PlyType; count?: PlyType }>;
export type PlyElement = Readonly<{ name: string; count: number; properties: readonly PlyProperty[] }>;
export type PlyHeader = Readonly<{
  format: 'ascii' | 'binary_little_endian' | 'binary_big_endian';
  elements: readonly PlyElement[];
  /** bytes up to and with the end of the line end_header */
  bytes: number;
  lines: number;
}>;

const MOST_ELEMENTS = 64;

/** Bytes of each type, which has the same size in every file. */
export const PLY_BYTES: Readonly<Record<PlyType, number>> = {
  char: 1,
  uchar: 1,
  short: 2,
  ushort: 2,
  int: 4,
  uint: 4,
  float: 4,
  double: 8,
};

/** Both spellings of the types that are in use. */
const TYPES: ReadonlyMap<string, PlyType> = new Map<string, PlyType>([
  ...(Object.keys(PLY_BYTES) as PlyType[]).map((type) => [type, type] as const),
  ['int8', 'char'],
  ['uint8', 'uchar'],
  ['int16', 'short'],
  ['uint16', 'ushort'],
  ['int32', 'int'],
  ['uint32', 'uint'],
  ['float32', 'float'],
  ['float64', 'double'],
]);

/**
 * @param start the first bytes of the file, enough to hold the header
 * @throws StonehandError MESH_MALFORMED with the line
 */
export function parsePlyHeader(name: string, start: Uint8Array): PlyHeader {
  const text = new TextDecoder('latin1').decode(start);
  // Lines end as the first one does: "\r" alone is from old systems, and after "\n" it must not eat a byte of the data.
  const eol = /^ply[ \t]*(\r\n|\r|\n)/.exec(text)?.[1] ?? '\n';
  const end = eol === '\r' ? /^end_header[ \t]*\r/m.exec(text) : /^end_header[ \t]*\r?\n/m.exec(text);
  if (end === null) throw malformedPly(name, 'the header has no line end_header');
  const elements: { name: string; count: number; properties: PlyProperty[] }[] = [];
  let format: PlyHeader['format'] | undefined;
  const lines = text.slice(0, end.index).split(eol === '\r' ? '\r' : '\n');
  for (const [i, line] of lines.entries()) {
    const words = line.trim().split(/\s+/);
    const fail = (): StonehandError =>
      malformedPly(name, `line ${i + 1}: "${line.trim().slice(0, 60)}" is not understood`);
    switch (words[0]) {
      case 'format':
        format = formatOf(words[1]);
        if (format === undefined) throw fail();
        break;
      case 'element': {
        const count = Number(words[2]);
        if (words.length !== 3 || !Number.isInteger(count) || count < 0) throw fail();
        if (elements.length === MOST_ELEMENTS) throw fail();
        elements.push({ name: words[1], count, properties: [] });
        break;
      }
      case 'property': {
        const property = propertyOf(words);
        const element = elements.at(-1);
        if (property === undefined || element === undefined) throw fail();
        element.properties.push(property);
        break;
      }
    }
  }
  if (format === undefined) throw malformedPly(name, 'the header has no line format');
  return { format, elements, bytes: end.index + end[0].length, lines: lines.length };
}

function formatOf(word: string | undefined): PlyHeader['format'] | undefined {
  return word === 'ascii' || word === 'binary_little_endian' || word === 'binary_big_endian' ? word : undefined;
}

function propertyOf(words: readonly string[]): PlyProperty | undefined {
  if (words[1] !== 'list') {
    const type = TYPES.get(words[1]);
    return type === undefined || words.length !== 3 ? undefined : { name: words[2], type };
  }
  const count = TYPES.get(words[2]);
  const type = TYPES.get(words[3]);
  if (count === undefined || type === undefined || words.length !== 5) return undefined;
  return { name: words[4], type, count };
}

export function malformedPly(name: string, what: string): StonehandError {
  return new StonehandError('MESH_MALFORMED', `${name}: ${what}`, 'Export the file again.');
}
