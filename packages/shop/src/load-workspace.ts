import { readFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { Fault, Workspace } from '@stonehand/model';
import { findRootAssemblies, fromRoot, readAssemblyFiles } from './assembly-files.ts';
import {
  childOf,
  complain,
  type Entry,
  entryAt,
  flagOf,
  given,
  momentOf,
  mustBeKnown,
  numberOf,
  textOf,
  textsOf,
  wordOf,
} from './fields.ts';
import { WORKSPACE_FILE } from './find-workspace-root.ts';
import { validateAccepted, validateAssembly, validateStonehand } from './generated/workspace-validators.ts';
import type { Known } from './known-names.ts';
import { readLedger } from './ledger.ts';
import { checkMeshFiles } from './mesh-files.ts';
import { errorOf, faultOf, type Problem, tidyProblems } from './problem.ts';
import { NOTHING_ACCEPTED, readAccepted } from './read-accepted.ts';
import { countCopies, type ReadPart, readAssembly } from './read-assembly.ts';
import { readSettled } from './read-settled.ts';
import { type ReadShop, readShop } from './read-shop.ts';
import { schemaProblems } from './schema-problems.ts';
import { spoolsAfterLedger } from './spools-after-ledger.ts';
import type { Validator } from './validator.ts';
import { parseYamlSource } from './yaml-source.ts';

export const ACCEPTED_FILE = 'accepted.yaml';

/**
 * A workspace with all defaults filled in.
 * @param root folder that holds stonehand.yaml
 * @throws StonehandError for the first complaint, as `file:line:column what`, with the number of further ones
 */
export async function loadWorkspace(root: string): Promise<Workspace> {
  const { workspace, problems } = await readWorkspace(root);
  if (problems.length > 0) throw errorOf(problems);
  return workspace;
}

/** Everything that is wrong with the files of a workspace; empty when loadWorkspace would succeed. */
export async function loadWorkspaceProblems(root: string): Promise<readonly Fault[]> {
  return (await readWorkspace(root)).problems.map(faultOf);
}

async function readWorkspace(root: string): Promise<{ workspace: Workspace; problems: Problem[] }> {
  const problems: Problem[] = [];
  const read = (file: string, validate: Validator): Promise<Entry | undefined> =>
    readEntry(root, file, validate, problems);
  const main = await read(WORKSPACE_FILE, validateStonehand);
  if (main === undefined) {
    throw new StonehandError(
      'FILE_MISSING',
      `there is no ${WORKSPACE_FILE} in ${root}`,
      'Make a workspace with init, or name a folder that is one.',
    );
  }
  const assumed: string[] = [];
  const shop = await readShop(shopFolderOf(main), main, read, assumed);
  const assemblies = await readAssemblyFiles(await rootFolders(root, main), (file) => read(file, validateAssembly));
  // Names that only a broken or absent file would define are not unknown: complaining about them would bury the cause.
  const namesAreMissing = problems.some((problem) => problem.code === 'YAML_SYNTAX' || problem.code === 'FILE_MISSING');
  const known = knownNames(main, shop, countCopies(assemblies));
  if (assemblies.length === 0 && problems.length === 0) {
    complain(
      main,
      ['assemblies'],
      'FILE_MISSING',
      'no folder has an assembly.yaml',
      'Write an assembly.yaml, or make one with init.',
    );
  }
  const parts: ReadPart[] = [];
  const trees = assemblies.map((file) => readAssembly(file, known, parts));
  await checkMeshFiles(root, parts);
  const acceptedFile = await read(ACCEPTED_FILE, validateAccepted);
  const ledger = await readLedger(root);
  const { spools, assumed: aboutSpools } = spoolsAfterLedger(shop.spools, ledger.entries);
  const workspace: Workspace = {
    root: resolve(root),
    name: textOf(main, 'name') ?? '',
    timeZone: shop.timeZone,
    unitsShown: wordOf(main, 'units', ['metric', 'US'] as const) ?? 'metric',
    seed: numberOf(main, 'seed') ?? 1,
    ...given({
      deadline: momentOf(main, 'deadline'),
      currency: textOf(main, 'currency'),
      platesAim: wordOf(main, 'plates', ['surest', 'fewest'] as const),
      settled: readSettled(main),
    }),
    defaults: { materialId: known.defaults.materialId, recipeId: known.defaults.recipeId },
    printers: shop.printers,
    materials: shop.materials,
    recipes: shop.recipes,
    spools,
    hardware: [...known.hardware.values()],
    hours: shop.hours,
    assemblies: trees,
    accepted: acceptedFile === undefined ? NOTHING_ACCEPTED : readAccepted(acceptedFile, known),
    ledger: ledger.entries,
    // Torn lines do not stop the work: a crash must not lock its owner out. They are said first instead.
    assumed: [...ledger.faults.map((fault) => fault.message), ...assumed, ...aboutSpools],
  };
  const told = namesAreMissing ? problems.filter((problem) => problem.code !== 'DATA_UNKNOWN') : problems;
  return { workspace, problems: tidyProblems(told) };
}

async function readEntry(
  root: string,
  file: string,
  validate: Validator,
  problems: Problem[],
): Promise<Entry | undefined> {
  let text: string;
  try {
    text = await readFile(join(root, file), 'utf8');
  } catch (cause) {
    if ((cause as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw new StonehandError('FILE_UNREADABLE', `${file} cannot be read`, 'Mend the rights of the file.', { cause });
  }
  const before = problems.length;
  const source = parseYamlSource(file, text, problems);
  // An empty file says nothing, which is allowed wherever nothing is required.
  const value = source.value === null && problems.length === before ? {} : source.value;
  const filled = { ...source, value };
  if (value !== null) problems.push(...schemaProblems(filled, validate));
  return entryAt(filled, [], value, problems);
}

function shopFolderOf(main: Entry): string {
  const stated = textOf(main, 'shop') ?? 'shop';
  const folder = fromRoot('.', stated);
  if (folder !== undefined) return folder;
  complain(
    main,
    ['shop'],
    'FILE_OUTSIDE',
    `"${stated}" leads outside the workspace`,
    'Name a folder inside the workspace.',
  );
  return 'shop';
}

async function rootFolders(
  root: string,
  main: Entry,
): Promise<{ folder: string; entry: Entry; tail: readonly (string | number)[] }[]> {
  const stated = textsOf(main, 'assemblies');
  if (stated === undefined) {
    const found = await findRootAssemblies(root, shopFolderOf(main));
    return found.map((folder) => ({ folder, entry: main, tail: ['assemblies'] }));
  }
  return stated.flatMap((name, i) => {
    const folder = fromRoot('.', name);
    if (folder !== undefined) return [{ folder, entry: main, tail: ['assemblies', i] }];
    complain(
      main,
      ['assemblies', i],
      'FILE_OUTSIDE',
      `"${name}" leads outside the workspace`,
      'Assemblies are folders inside the workspace.',
    );
    return [];
  });
}

function knownNames(main: Entry, shop: ReadShop, copies: ReadonlyMap<string, number>): Known {
  const [materialIds, recipeIds] = [shop.materials.map((m) => m.id), shop.recipes.map((r) => r.id)];
  const defaults = childOf(main, 'defaults');
  const chosen = (key: 'material' | 'recipe', ids: readonly string[]): string => {
    const id = textOf(defaults, key);
    if (id === undefined) return ids[0] ?? '';
    mustBeKnown(defaults, [key], id, ids, key, `Known are ${ids.join(', ')}.`);
    return id;
  };
  return {
    printerIds: shop.printerIds,
    materialIds,
    recipeIds,
    defaults: {
      materialId: chosen('material', materialIds),
      recipeId: chosen('recipe', recipeIds),
      mend: flagOf(defaults, 'mend') ?? false,
    },
    hardware: new Map(shop.hardware.map((item) => [item.id, item])),
    copies,
  };
}
