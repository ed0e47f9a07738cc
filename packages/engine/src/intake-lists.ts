import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { nameMarks, wordsOf } from './intake-names.ts';

/** A text that lists parts, as it lies in the folder. */
export type PartList = Readonly<{ file: string; text: string }>;

/** A part that a list names. `exact` when it is written as a file name. */
export type NamedPart = Readonly<{ file: string; line: number; name: string; exact: boolean }>;

const LIST_NAME = /^(read[-_ ]?me|parts?|bom|contents|files|print|stl)([-_ ](list|me))?\.(txt|md|csv)$/i;
const MOST_BYTES = 1 << 20;

export function isListName(name: string): boolean {
  return LIST_NAME.test(name);
}

/**
 * The README and parts lists of a folder and the folders in it, in a stable order; `file` relative to it, forward slashes.
 * @param written a folder in it that this program writes to, whose tables are no lists of what there should be
 */
export function partListsIn(root: string, written?: string): PartList[] {
  const walk = (folder: string): string[] =>
    readdirSync(join(root, folder), { withFileTypes: true }).flatMap((entry) => {
      if (entry.name.startsWith('.') || entry.name === 'node_modules') return [];
      const path = folder === '' ? entry.name : `${folder}/${entry.name}`;
      if (entry.isDirectory()) return path === written ? [] : walk(path);
      return entry.isFile() && isListName(entry.name) ? [path] : [];
    });
  return walk('')
    .sort()
    .filter((file) => statSync(join(root, file)).size <= MOST_BYTES)
    .map((file) => ({ file, text: readFileSync(join(root, file), 'utf8') }));
}

/**
 * The parts that a text names: whatever ends like a mesh file, anywhere; and the items of a parts list, which is the whole of a file
 * called so, or in a README the items below a heading that speaks of parts or files. Bought hardware and sentences are no parts.
 */
export function namedParts({ file, text }: PartList): NamedPart[] {
  const found: NamedPart[] = [];
  let listed = !/(^|\/)read[-_ ]?me/i.test(file);
  for (const [at, raw] of text.split(/\r?\n/).entries()) {
    const line = raw.trim();
    const files = [...line.matchAll(FILE_NAME)].map(([name]) => name);
    if (files.length > 0) {
      for (const name of files) found.push({ file, line: at + 1, name, exact: true });
      continue;
    }
    if (isHeading(line)) {
      listed = /\b(parts?|pieces|files|meshes)\b/i.test(line) && !/\b(bought|hardware|other|buy)\b/i.test(line);
      continue;
    }
    if (!listed) continue;
    const name = itemName(line);
    if (name !== undefined) found.push({ file, line: at + 1, name, exact: false });
  }
  return found;
}

function isHeading(line: string): boolean {
  return /^#|:$|^[=-]{3,}$/.test(line);
}

// "- 4x hinge hub, black" is the item "hinge hub"; more than four words are a sentence.
function itemName(line: string): string | undefined {
  const text = line.replace(/^([-*+•]|\d+[.)])\s+/, '').split(/[,;:|\t]|\s[-–—]\s/)[0]!;
  const { stem } = nameMarks(text.replace(/\(\d+\)|^\s*\d+\s+(?=\p{L})/gu, ' '));
  const words = wordsOf(stem);
  if (words.length === 0 || words.length > 4 || !/\p{L}{2}/u.test(stem) || /[.!?]\s*$/.test(text)) return undefined;
  return words.some((word) => BOUGHT.test(word)) ? undefined : words.join(' ');
}

const FILE_NAME = /[\p{L}\p{N}_()+.-]*[\p{L}\p{N}_()+-]\.(?:stl|3mf|obj|ply|glb|gltf|amf)(?![\p{L}\p{N}])/giu;
// What lists of parts name beside printed ones: common practice, no source.
const BOUGHT =
  /^(m\d+.*|screws?|bolts?|nuts?|washers?|bearings?|magnets?|springs?|rods?|inserts?|servos?|motors?|glue|wires?|cords?|name|part|quantity|qty)$/;
