import { StonehandError } from '@stonehand/base';
import { attribute, walkXml } from './walk-xml.ts';
import { shown, type ZipArchive } from './zip-archive.ts';

type Relationship = Readonly<{
  type: string;
  /** whole part name with its leading slash */
  target: string;
}>;

/** A ZIP archive as an OPC package (ISO/IEC 29500-2). Part names start with a slash; ASCII case does not matter. */
export type OpcPackage = Readonly<{
  /** the file, for messages */
  name: string;
  has(part: string): boolean;
  /** the bytes of a part in pieces */
  read(part: string): AsyncIterable<Uint8Array>;
  contentType(part: string): string | undefined;
  /** what a part ("/" for the package itself) refers to; relationships to the outside are left out */
  relationships(part: string): Promise<readonly Relationship[]>;
}>;

/** @throws StonehandError MESH_MALFORMED when the archive is no OPC package */
export async function openPackage(zip: ZipArchive): Promise<OpcPackage> {
  const { name } = zip;
  const entries = new Map<string, string>();
  for (const entry of zip.names) {
    if (entries.has(partKey(entry))) throw ruleBroken(name, `two parts are named ${shown(entry)}`, 'OPC 6.2.2.2');
    entries.set(partKey(entry), entry);
  }
  const has = (part: string): boolean => entries.has(partKey(part));
  const read = (part: string): AsyncIterable<Uint8Array> => zip.read(entries.get(partKey(part)) ?? part);
  for (const part of ['/[Content_Types].xml', '/_rels/.rels']) {
    if (!has(part)) throw ruleBroken(name, `the package has no ${part.slice(1)}`, 'OPC');
  }
  const types = await contentTypes(name, read('/[Content_Types].xml'));
  return {
    name,
    has,
    read,
    contentType: (part) => types.get(partKey(part)) ?? types.get(`.${extensionOf(part)}`),
    async relationships(part) {
      const rels = part.replace(/[^/]*$/, (last) => `_rels/${last}.rels`);
      return has(rels) ? relationshipsIn(name, part, { part: rels, pieces: read(rels) }) : [];
    },
  };
}

/** The error for a file that breaks a rule of its standard, with the section that states it. */
export function ruleBroken(name: string, what: string, section: string, cause?: unknown): StonehandError {
  return new StonehandError(
    'MESH_MALFORMED',
    `${name}: ${what} (${section})`,
    'Export the file again, or as STL.',
    cause === undefined ? {} : { cause },
  );
}

const TYPES = 'http://schemas.openxmlformats.org/package/2006/content-types';
const RELATIONSHIPS = 'http://schemas.openxmlformats.org/package/2006/relationships';

/** Content types by part key and, with a point in front, by extension. */
async function contentTypes(file: string, pieces: AsyncIterable<Uint8Array>): Promise<ReadonlyMap<string, string>> {
  const types = new Map<string, string>();
  await walkXml(
    { file, part: '[Content_Types].xml', pieces, rule: '3MF core 2.3.2' },
    {
      open(tag) {
        if (tag.uri !== TYPES) return;
        const type = attribute(tag, 'ContentType') ?? '';
        if (tag.local === 'Default') types.set(`.${(attribute(tag, 'Extension') ?? '').toLowerCase()}`, type);
        if (tag.local === 'Override') types.set(partKey(attribute(tag, 'PartName') ?? ''), type);
      },
    },
  );
  return types;
}

async function relationshipsIn(
  file: string,
  from: string,
  { part, pieces }: { part: string; pieces: AsyncIterable<Uint8Array> },
): Promise<readonly Relationship[]> {
  const found: Relationship[] = [];
  await walkXml(
    { file, part, pieces, rule: '3MF core 2.3.2' },
    {
      open(tag) {
        if (tag.local !== 'Relationship' || tag.uri !== RELATIONSHIPS) return;
        if (attribute(tag, 'TargetMode') === 'External') return;
        const target = attribute(tag, 'Target') ?? '';
        const resolved = resolvePart(from, target);
        if (resolved === undefined) {
          throw ruleBroken(
            file,
            `${part} refers to "${shown(target)}", which is not inside the package`,
            '3MF core 2.1',
          );
        }
        found.push({ type: attribute(tag, 'Type') ?? '', target: resolved });
      },
    },
  );
  return found;
}

/** A target against the part that names it; undefined where it leads out of the package. */
function resolvePart(from: string, target: string): string | undefined {
  if (target === '' || /^[a-z][a-z0-9+.-]*:|^\/\/|\\/i.test(target)) return undefined;
  const path = target.startsWith('/') ? target : from.replace(/[^/]*$/, target);
  const segments: string[] = [];
  for (const segment of path.split('/').slice(1)) {
    if (segment === '..') {
      if (segments.pop() === undefined) return undefined;
    } else if (segment !== '.') segments.push(segment);
  }
  return `/${segments.join('/')}`;
}

function partKey(part: string): string {
  return part.replace(/^\//, '').toLowerCase();
}

function extensionOf(part: string): string {
  return /\.([^./]*)$/.exec(part)?.[1].toLowerCase() ?? '';
}
