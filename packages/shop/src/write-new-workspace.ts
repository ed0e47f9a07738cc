import { access, mkdir, open } from 'node:fs/promises';
import { basename, dirname, isAbsolute, join, posix, relative, resolve, sep } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { MeasureRow, Reading, UnitsShown } from '@stonehand/model';
import { stringify } from 'yaml';
import { ASSEMBLY_FILE, ROOT_FOLDER } from './assembly-files.ts';
import { DEFAULT_BED } from './default-shop.ts';
import { WORKSPACE_FILE } from './find-workspace-root.ts';
import { flushFolder } from './replace-file.ts';

export interface NewWorkspaceOptions {
  /** default: the folder's name */
  readonly name?: string;
  /** IANA; default UTC */
  readonly timeZone?: string;
  /** default metric */
  readonly units?: UnitsShown;
  /** printers by id and bed text; default one, `bed: 220x220x250` */
  readonly beds?: Readonly<Record<string, string>>;
}

/**
 * Makes a workspace out of a folder of meshes: stonehand.yaml, the shop's files to fill in, and an assembly.yaml in every folder that
 * holds meshes (and in those between it and the root, so that each is the child of the one above). Nothing is overwritten.
 * @param rows what was measured; `file` absolute or relative to `dir`. Files that could not be read are named in a comment
 * @returns paths relative to `dir`: what was written, and what was there already and stayed
 * @throws StonehandError USAGE when `dir` is a workspace already, FILE_OUTSIDE for a mesh that is not in it
 */
export async function writeNewWorkspace(
  dir: string,
  rows: readonly MeasureRow[],
  options: NewWorkspaceOptions = {},
): Promise<{ written: readonly string[]; kept: readonly string[] }> {
  if (await exists(join(dir, WORKSPACE_FILE))) {
    throw new StonehandError('USAGE', `${dir} is a workspace already`, 'Add parts to its assembly.yaml files.');
  }
  const folders = byFolder(dir, rows);
  const files: [string, string][] = [...shopTexts(options), ...assemblyTexts(folders)];
  // Last, so that a folder is a workspace only once everything else is there.
  files.push([WORKSPACE_FILE, mainText(options.name ?? basename(resolve(dir)), rootAssemblies(folders), options)]);
  const written: string[] = [];
  const kept: string[] = [];
  for (const [file, text] of files) ((await writeNew(join(dir, file), text)) ? written : kept).push(file);
  return { written, kept };
}

/** The meshes of each folder; folders without meshes that lie between others are there with none. */
type Folders = ReadonlyMap<string, readonly MeasureRow[]>;

function byFolder(dir: string, rows: readonly MeasureRow[]): Folders {
  const folders = new Map<string, MeasureRow[]>();
  for (const row of rows) {
    const file = isAbsolute(row.file)
      ? relative(resolve(dir), row.file).split(sep).join('/')
      : posix.normalize(row.file);
    if (file.startsWith('../') || isAbsolute(file)) {
      throw new StonehandError(
        'FILE_OUTSIDE',
        `${row.file} is not inside ${dir}`,
        'Make the workspace in a folder that holds all meshes.',
      );
    }
    for (let folder = posix.dirname(file); ; folder = posix.dirname(folder)) {
      if (!folders.has(folder)) folders.set(folder, []);
      if (folder === ROOT_FOLDER) break;
    }
    folders.get(posix.dirname(file))!.push({ ...row, file });
  }
  return new Map([...folders].sort(([a], [b]) => (a < b ? -1 : 1)));
}

// Without meshes in the root itself, its folders are assemblies on their own.
function rootAssemblies(folders: Folders): string[] {
  if ((folders.get(ROOT_FOLDER)?.length ?? 0) > 0) return [ROOT_FOLDER];
  return [...folders.keys()].filter((folder) => folder !== ROOT_FOLDER && posix.dirname(folder) === ROOT_FOLDER);
}

function mainText(name: string, assemblies: readonly string[], options: NewWorkspaceOptions): string {
  return `# The workspace: what is being built. Keys: schemas/stonehand.json.
name: ${scalar(name)}
timeZone: ${scalar(options.timeZone ?? 'UTC')}
units: ${options.units ?? 'metric'}
seed: 1
# deadline: 2026-06-20 10:00
defaults:
  material: pla
  recipe: standard
assemblies: ${flow(assemblies)}
`;
}

function shopTexts(options: NewWorkspaceOptions): [string, string][] {
  const beds = Object.entries(options.beds ?? { bed: DEFAULT_BED });
  const printers = beds.map(
    ([id, bed]) =>
      `${id}:\n  volume: ${scalar(bed.replace(/^round:/, 'round '))}\n  motion: plain # plain | damped | core frame\n`,
  );
  return [
    ['shop/printers.yaml', `# The printers. Only volume (width x depth x height) is needed.\n${printers.join('')}`],
    [
      'shop/materials.yaml',
      '# The filaments in use. Only kind and colour are needed.\npla:\n  kind: PLA\n  colour: white\n',
    ],
    [
      'shop/recipes.yaml',
      '# How pieces are printed. What is not said is as here.\nstandard:\n  layer: 0.2\n  perimeters: 2\n  infill: 15 % gyroid\n  support: 15 %\n',
    ],
    [
      'shop/spools.yaml',
      '# What is on the shelf, such as\n# W1: { material: pla, net: 830 }\n# W2: { material: pla, gross: 655, empty: plastic }\n',
    ],
    [
      'shop/hours.yaml',
      '# When you are present, asleep or away. A span belongs to the day it starts on.\notherwise: away\nweek:\n  mon-thu: 17:30-22:30 present, 22:30-06:30 asleep\n  fri: 17:30-22:30 present, 22:30-08:00 asleep\n  sat: 08:00-22:30 present, 22:30-08:00 asleep\n  sun: 08:00-22:30 present, 22:30-06:30 asleep\n',
    ],
  ];
}

function assemblyTexts(folders: Folders): [string, string][] {
  const firstOf = new Map<string, string>();
  return [...folders].flatMap(([folder, rows]): [string, string][] => {
    const children = [...folders.keys()].filter((other) => other !== folder && posix.dirname(other) === folder);
    if (folder === ROOT_FOLDER && rows.length === 0) return [];
    const parts = partsText(rows, firstOf);
    const below =
      children.length === 0
        ? ''
        : `assemblies:\n${children.map((child) => `  ${scalar(posix.basename(child))}: {}\n`).join('')}`;
    const name = folder === ROOT_FOLDER ? '' : `name: ${scalar(posix.basename(folder))}\n`;
    return [
      [
        posix.join(folder, ASSEMBLY_FILE),
        `# Parts of this folder. Keys: schemas/assembly.json.\n${name}${parts}${below}`,
      ],
    ];
  });
}

function partsText(rows: readonly MeasureRow[], firstOf: Map<string, string>): string {
  const ids = new Set<string>();
  const lines: string[] = [];
  for (const row of rows) {
    const file = posix.basename(row.file);
    if ('error' in row) {
      lines.push(`  # ${oneLine(file)} could not be read: ${oneLine(row.error.message)}\n`);
      continue;
    }
    const items = row.items ?? [];
    if (items.length === 0) {
      const id = freeId(file, ids);
      lines.push(`  ${scalar(id)}:\n    mesh: ${scalar(file)}\n${unitLine(row)}${noteLine(row, firstOf)}`);
    }
    // Each thing that a file asks to be built is a part of its own, as often as the file asks for it.
    for (const { item, quantity } of items) {
      const id = freeId(/^\d+$/.test(item) ? `${file.replace(/\.[^.]*$/, '')}-${item}.` : `${item}.`, ids);
      const times = quantity > 1 ? `    quantity: ${quantity}\n` : '';
      lines.push(`  ${scalar(id)}:\n    mesh: ${scalar(file)}\n    item: ${scalar(item)}\n${times}${unitLine(row)}`);
    }
  }
  return lines.some((line) => !line.startsWith('  #'))
    ? `parts:\n${lines.join('')}`
    : lines.map((line) => line.trimStart()).join('');
}

function unitLine(reading: Reading): string {
  // mm is what a silent file means anyway, and what a file says of itself need not be said again.
  return reading.unitFrom === 'file' || reading.unit === 'mm' || reading.unit === 'millimeter'
    ? ''
    : `    unit: ${scalar(reading.unit)}\n`;
}

function noteLine(reading: Reading, firstOf: Map<string, string>): string {
  const first = firstOf.get(reading.meshHash);
  if (first === undefined) {
    firstOf.set(reading.meshHash, reading.file);
    return '';
  }
  return `    # the same mesh as ${oneLine(first)}: perhaps a quantity there instead\n`;
}

function freeId(file: string, ids: Set<string>): string {
  const stem = file
    .replace(/\.[^.]*$/, '')
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/^[^A-Za-z0-9]+|-+$/g, '');
  const base = stem === '' ? 'part' : stem;
  let id = base;
  for (let n = 2; ids.has(id); n++) id = `${base}-${n}`;
  ids.add(id);
  return id;
}

function scalar(text: string): string {
  return stringify(text, { lineWidth: 0 }).trimEnd();
}

function flow(items: readonly string[]): string {
  return stringify(items, { collectionStyle: 'flow', lineWidth: 0 }).trimEnd();
}

function oneLine(text: string): string {
  return text.replace(/\s+/g, ' ').trim();
}

async function exists(path: string): Promise<boolean> {
  return access(path).then(
    () => true,
    () => false,
  );
}

/** Writes a file that must not be there yet; false when it is. */
async function writeNew(path: string, text: string): Promise<boolean> {
  await mkdir(dirname(path), { recursive: true });
  const file = await open(path, 'wx').catch((cause: NodeJS.ErrnoException) => {
    if (cause.code === 'EEXIST') return undefined;
    throw cause;
  });
  if (file === undefined) return false;
  await file.writeFile(text);
  await file.sync();
  await file.close();
  await flushFolder(dirname(path));
  return true;
}
