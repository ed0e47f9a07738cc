import { StonehandError } from '@stonehand/base';
import type { SaxesAttributeNS, SaxesTagNS } from 'saxes';
import { shown } from './zip-archive.ts';

export type XmlTag = SaxesTagNS;

export interface XmlHandler {
  open(tag: XmlTag, line: number): void;
  close?(tag: XmlTag): void;
  text?(text: string): void;
  /** for formats with long runs of equal elements; the handler takes what it can by itself */
  runs?: PlainRuns;
}

export interface PlainRuns {
  /** what begins a run, up to the end of its tag */
  readonly start: RegExp;
  /** whether the element that is open now is such a run */
  isOpen(): boolean;
  /** takes whole elements from `text` at `from` on, where one may begin; gives where it stopped */
  take(text: string, from: number): number;
}

export type XmlText = Readonly<{
  /** for messages: the file, and the part of it where it has several */
  file: string;
  part?: string;
  pieces: AsyncIterable<Uint8Array> | Iterable<Uint8Array>;
  /** the standard and section that ask for UTF-8 without a document type declaration */
  rule: string;
}>;

/**
 * Runs through one XML text as it arrives. UTF-8 only; document type declarations, and with them entities of the file's own,
 * are refused; so are nesting and attributes beyond what any mesh format has.
 * @throws StonehandError MESH_MALFORMED with the line
 */
export async function walkXml({ file, part, pieces, rule }: XmlText, handler: XmlHandler): Promise<void> {
  const { SaxesParser } = await import('saxes');
  const parser = new SaxesParser({ xmlns: true });
  let depth = 0;
  let attributes = 0;
  // An element may begin where all that the parser was given ended with a tag.
  let given = 0;
  let tagEndAt = -1;
  let linesTaken = 0;
  const line = (): number => parser.line + linesTaken;
  const fail = (what: string, broken: string, cause?: unknown): StonehandError =>
    new StonehandError(
      'MESH_MALFORMED',
      `${file}: ${part === undefined ? '' : `${part} `}line ${line()}: ${what} (${broken})`,
      'Export the file again, or as STL.',
      { line: line(), cause },
    );
  parser.on('xmldecl', ({ encoding }) => {
    if (encoding !== undefined && !/^(utf-8|us-ascii)$/i.test(encoding)) {
      throw fail(`the encoding is ${shown(encoding)}, only UTF-8 is allowed`, rule);
    }
  });
  parser.on('doctype', () => {
    throw fail('a document type declaration is not allowed', rule);
  });
  parser.on('error', (error) => {
    throw fail(shown(error.message.replace(/^\d+:\d+: /, '')), 'XML 1.0', error);
  });
  parser.on('opentagstart', () => {
    attributes = 0;
    if (++depth > MOST_DEPTH) throw fail(`elements are nested more than ${MOST_DEPTH} deep`, 'limit of this reader');
  });
  parser.on('attribute', () => {
    if (++attributes > MOST_ATTRIBUTES) {
      throw fail(`an element has more than ${MOST_ATTRIBUTES} attributes`, 'limit of this reader');
    }
  });
  parser.on('opentag', (tag) => {
    tagEndAt = parser.position;
    handler.open(tag, line());
  });
  parser.on('closetag', (tag) => {
    tagEndAt = parser.position;
    depth--;
    handler.close?.(tag);
  });
  if (handler.text !== undefined) parser.on('text', (text) => handler.text?.(text));
  const decoder = new TextDecoder('utf-8', { fatal: true });
  const decode = (piece?: Uint8Array): string => {
    try {
      return piece === undefined ? decoder.decode() : decoder.decode(piece, { stream: true });
    } catch (error) {
      throw fail('the text is not UTF-8', rule, error);
    }
  };
  const { runs } = handler;
  const write = (text: string): void => {
    if (runs === undefined) {
      parser.write(text);
      return;
    }
    for (let at = 0; at < text.length; ) {
      const open = runs.isOpen();
      if (open && tagEndAt === given) {
        const from = at;
        at = runs.take(text, from);
        if (at > from) linesTaken += newlines(text.slice(from, at));
      }
      // Inside a run to the end of one tag, after which the next may be plain again; outside to where one starts.
      const end = open ? text.indexOf('>', at) + 1 : endOfMatch(runs.start, text, at);
      const to = end > 0 ? end : text.length;
      if (to > at) parser.write(text.slice(at, to));
      given += to - at;
      at = to;
    }
  };
  for await (const piece of pieces) write(decode(piece));
  write(decode());
  parser.close();
}

function endOfMatch(start: RegExp, text: string, from: number): number {
  start.lastIndex = from;
  return start.exec(text) === null ? 0 : start.lastIndex;
}

function newlines(text: string): number {
  let count = 0;
  for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) count++;
  return count;
}

const MOST_DEPTH = 256;
const MOST_ATTRIBUTES = 1024;

/** The attribute without a namespace, blanks around it removed. */
export function attribute(tag: XmlTag, name: string): string | undefined {
  const found: SaxesAttributeNS | undefined = tag.attributes[name];
  return found === undefined || found.uri !== '' ? undefined : found.value.trim();
}

/** The attribute of that namespace, whatever its prefix. */
export function foreignAttribute(tag: XmlTag, uri: string, local: string): string | undefined {
  for (const found of Object.values(tag.attributes))
    if (found.uri === uri && found.local === local) return found.value.trim();
  return undefined;
}
