import { basename, relative, resolve, sep } from 'node:path';
import type { Workspace } from '@stonehand/model';
import { defaultShop } from '@stonehand/shop';

export type FolderOptions = Readonly<{
  /** "220x220x250" or "round:250x300"; without it an assumed bed, said in `assumed` */
  bed?: string;
  /** unit of files that state none */
  unit?: string;
  timeZone?: string;
}>;

/** A workspace made up for files that belong to none: each mesh once, the built-in material and recipe, one printer with the bed. */
export function folderWorkspace(
  root: string,
  files: readonly string[],
  { bed, unit, timeZone }: FolderOptions,
): Workspace {
  const { printers, materials, recipes, hours, assumed } = defaultShop(bed, timeZone === undefined ? {} : { timeZone });
  const materialId = materials[0]!.id;
  const recipeId = recipes[0]!.id;
  const assemblyId = basename(resolve(root));
  const taken = new Set<string>();
  const parts = files.map((file) => {
    const name = basename(file)
      .replace(/(\.gz)?$/i, '')
      .replace(/\.[^.]+$/, '');
    // Two files of one name in different folders are two parts.
    let id = name;
    for (let n = 2; taken.has(id); n++) id = `${name}-${n}`;
    taken.add(id);
    return {
      id,
      name: name.replaceAll(/[-_]+/g, ' '),
      assemblyId,
      meshFile: relative(root, resolve(file)).split(sep).join('/'),
      unit: unit ?? 'millimeter',
      unitFrom: unit === undefined ? ('assumed' as const) : ('stated' as const),
      scale: 1,
      quantity: 1,
      spares: 0,
      materialId,
      recipeId,
      ...(/\.3mf(\.gz)?$/i.test(file) ? { eachItem: true as const } : {}),
      status: 'print' as const,
      pose: 'auto' as const,
      split: 'auto' as const,
      importance: 1,
      places: [],
      finishing: [],
      basedOn: [],
    };
  });
  return {
    root,
    name: assemblyId,
    timeZone: hours.timeZone,
    unitsShown: 'metric',
    seed: 1,
    defaults: { materialId, recipeId },
    printers,
    materials,
    recipes,
    spools: [],
    hardware: [],
    hours,
    assemblies: [{ id: assemblyId, name: assemblyId, parts, hardware: [], children: [], joints: [], limits: {} }],
    accepted: { poses: {}, cuts: {}, plates: [] },
    ledger: [],
    assumed,
  };
}
