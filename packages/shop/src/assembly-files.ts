import { readdir } from 'node:fs/promises';
import { join, posix } from 'node:path';
import { childOf, complain, type Entry, namedEntries } from './fields.ts';
import type { Path } from './yaml-source.ts';

export const ASSEMBLY_FILE = 'assembly.yaml';
/** Id and folder of an assembly in the root itself. */
export const ROOT_FOLDER = '.';

/** One assembly.yaml and those of its children. folder is relative to the root, with forward slashes. */
export interface AssemblyFile {
  readonly folder: string;
  readonly entry: Entry;
  readonly children: readonly AssemblyChild[];
}

export interface AssemblyChild {
  readonly file: AssemblyFile;
  /** the child's entry in the parent's file, which holds its place */
  readonly entry: Entry;
}

/** Reads one YAML file of the workspace into an entry, or gives undefined where there is none. */
export type ReadFile = (file: string) => Promise<Entry | undefined>;

/** Where a folder is named: complaints about it go there. */
interface Mention {
  readonly entry: Entry;
  readonly tail: Path;
}

/**
 * Reads the assemblies below the given folders. Each folder is one assembly, listed once: a second mention would give two parts
 * the same id.
 */
export async function readAssemblyFiles(
  folders: readonly (Mention & { readonly folder: string })[],
  read: ReadFile,
): Promise<AssemblyFile[]> {
  const seen = new Map<string, string>();
  const roots: AssemblyFile[] = [];
  for (const { folder, ...mention } of folders) {
    const file = await readTree(folder, mention, seen, read);
    if (file !== undefined) roots.push(file);
  }
  return roots;
}

/** The root's own assembly, or else every folder right below the root that has an assembly.yaml, by name. */
export async function findRootAssemblies(root: string, shopFolder: string): Promise<string[]> {
  const names = await readdir(root, { withFileTypes: true });
  if (names.some((entry) => entry.name === ASSEMBLY_FILE)) return [ROOT_FOLDER];
  const folders = names.filter((entry) => entry.isDirectory() && !entry.name.startsWith('.'));
  const found = await Promise.all(
    folders
      .filter((entry) => entry.name !== shopFolder && entry.name !== 'node_modules')
      .map(async (entry) => ((await readdir(join(root, entry.name))).includes(ASSEMBLY_FILE) ? [entry.name] : [])),
  );
  return found.flat().sort();
}

/** A path written in a file of `folder`, from the root; undefined when it leads out of the workspace. */
export function fromRoot(folder: string, path: string): string | undefined {
  if (posix.isAbsolute(path) || /^[A-Za-z]:/.test(path)) return undefined;
  const joined = posix.normalize(posix.join(folder, path.replaceAll('\\', '/'))).replace(/\/$/, '');
  return joined === '..' || joined.startsWith('../') ? undefined : joined;
}

async function readTree(
  folder: string,
  mention: Mention,
  seen: Map<string, string>,
  read: ReadFile,
): Promise<AssemblyFile | undefined> {
  const before = seen.get(folder);
  if (before !== undefined) {
    const what = `the assembly ${folder} is listed already, in ${before}`;
    complain(
      mention.entry,
      mention.tail,
      'DATA_DUPLICATE',
      what,
      'List each folder once; for a second one raise the quantities of its parts.',
    );
    return undefined;
  }
  seen.set(folder, mention.entry.source.file);
  const entry = await read(posix.join(folder, ASSEMBLY_FILE));
  if (entry === undefined) {
    complain(
      mention.entry,
      mention.tail,
      'FILE_MISSING',
      `there is no ${posix.join(folder, ASSEMBLY_FILE)}`,
      'Create it, or correct the folder.',
    );
    return undefined;
  }
  const children: AssemblyChild[] = [];
  const listed = namedEntries(childOf(entry, 'assemblies'));
  for (const [name, childEntry] of listed) {
    const childFolder = fromRoot(folder, name);
    if (childFolder === undefined) {
      complain(
        childEntry,
        [],
        'FILE_OUTSIDE',
        `"${name}" leads outside the workspace`,
        'Child assemblies are folders inside the workspace.',
      );
      continue;
    }
    const file = await readTree(childFolder, { entry: childEntry, tail: [] }, seen, read);
    if (file !== undefined) children.push({ file, entry: childEntry });
  }
  return { folder, entry, children };
}
