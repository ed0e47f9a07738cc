import { type Document, isAlias, isMap, isScalar, isSeq, LineCounter, type Node, parseDocument } from 'yaml';
import type { Problem } from './problem.ts';

export type Path = readonly (string | number)[];

/** A parsed YAML file: its plain value, and where in the text each value stands. */
export interface Source {
  readonly file: string;
  readonly value: unknown;
  /** place of the key that a path ends with, or of its value; of the nearest parent where the path is not in the text */
  place(path: Path, at: 'key' | 'value'): { readonly line: number; readonly column: number };
}

/** Parses YAML text; syntax errors and double keys are added to `problems`, and what could be read is returned all the same. */
export function parseYamlSource(file: string, text: string, problems: Problem[]): Source {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  for (const error of document.errors) {
    const { line, col } = lines.linePos(error.pos[0]);
    const twice = error.code === 'DUPLICATE_KEY';
    problems.push({
      code: twice ? 'DATA_DUPLICATE' : 'YAML_SYNTAX',
      file,
      line,
      column: col,
      what: twice ? `"${keyAt(text, error.pos[0])}" is there twice` : `is not YAML: ${error.message}`,
      remedy: twice
        ? 'Keep one of the two, or rename one.'
        : 'Mind the indent, and quote texts that contain a colon or begin with a sign.',
    });
  }
  return {
    file,
    value: plainValue(file, document, problems),
    place: (path, at) => {
      const { line, col } = lines.linePos(offsetOf(document, path, at));
      return { line: Math.max(1, line), column: Math.max(1, col) };
    },
  };
}

function keyAt(text: string, offset: number): string {
  return /^[^:\r\n]*/
    .exec(text.slice(offset))![0]
    .trim()
    .replace(/^["']|["']$/g, '');
}

function plainValue(file: string, document: Document, problems: Problem[]): unknown {
  if (document.contents === null) return null;
  try {
    return document.toJS({ maxAliasCount: 100 });
  } catch (cause) {
    // A bad alias, or aliases of aliases that would unfold without end.
    const reason = cause instanceof Error ? cause.message : String(cause);
    problems.push({
      code: 'YAML_SYNTAX',
      file,
      line: 1,
      column: 1,
      what: `is not YAML that can be unfolded: ${reason}`,
      remedy: 'Write the values out instead of using aliases (*name).',
    });
    return null;
  }
}

function offsetOf(document: Document, path: Path, at: 'key' | 'value'): number {
  let node: unknown = document.contents;
  let offset = startOf(node) ?? 0;
  for (const [depth, segment] of path.entries()) {
    if (isAlias(node)) node = node.resolve(document);
    if (isMap(node)) {
      const pair = node.items.find((item) => keyText(item.key) === String(segment));
      if (pair === undefined) break;
      const keyOffset = startOf(pair.key) ?? offset;
      const wantsKey = depth === path.length - 1 && at === 'key';
      offset = wantsKey || !hasText(pair.value) ? keyOffset : (startOf(pair.value) ?? keyOffset);
      // Of a map or list below its key, the key is the better place to point at.
      if (!wantsKey && (isMap(pair.value) || isSeq(pair.value)) && !pair.value.flow) offset = keyOffset;
      node = pair.value;
    } else if (isSeq(node)) {
      const item: unknown = node.items[Number(segment)];
      if (item === undefined) break;
      offset = startOf(item) ?? offset;
      node = item;
    } else break;
  }
  return offset;
}

function keyText(key: unknown): string {
  return isScalar(key) ? String(key.value) : String(key);
}

function hasText(value: unknown): boolean {
  const range = (value as Node | null)?.range;
  return range !== undefined && range !== null && range[1] > range[0];
}

function startOf(node: unknown): number | undefined {
  return (node as Node | null | undefined)?.range?.[0];
}
