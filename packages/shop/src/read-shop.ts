import { posix } from 'node:path';
import { nearestName } from '@stonehand/base';
import type { HardwareItem, Workspace } from '@stonehand/model';
import { ASSUMED, DEFAULT_BED, defaultMaterial, defaultPrinter } from './default-shop.ts';
import { complain, type Entry, textOf } from './fields.ts';
import {
  validateHardware,
  validateHours,
  validateMaterials,
  validatePrinters,
  validateRecipes,
  validateSpools,
} from './generated/workspace-validators.ts';
import { parseBed } from './parse-bed.ts';
import { readHardware } from './read-hardware.ts';
import { defaultHours, readHours } from './read-hours.ts';
import { readMaterials } from './read-materials.ts';
import { readPrinters } from './read-printers.ts';
import { readRecipes, STANDARD_RECIPE } from './read-recipes.ts';
import { readSpools } from './read-spools.ts';
import type { Validator } from './validator.ts';

/** What the files of the shop say, with what stands in where one is absent. */
export type ReadShop = Pick<Workspace, 'printers' | 'materials' | 'recipes' | 'hours' | 'timeZone'> & {
  readonly spools: ReturnType<typeof readSpools>;
  readonly hardware: readonly HardwareItem[];
  /** also of printers that could not be read */
  readonly printerIds: readonly string[];
};

/**
 * Reads the six files of the shop's folder.
 * @param read gives the entry of a file, checked against its schema, or undefined where there is none
 * @param assumed takes a sentence for each file that is absent
 */
export async function readShop(
  folder: string,
  main: Entry,
  read: (file: string, validate: Validator) => Promise<Entry | undefined>,
  assumed: string[],
): Promise<ReadShop> {
  const at = (name: string): string => posix.join(folder, name);
  const files = {
    printers: await read(at('printers.yaml'), validatePrinters),
    materials: await read(at('materials.yaml'), validateMaterials),
    recipes: await read(at('recipes.yaml'), validateRecipes),
    spools: await read(at('spools.yaml'), validateSpools),
    hours: await read(at('hours.yaml'), validateHours),
    hardware: await read(at('hardware.yaml'), validateHardware),
  };
  // A file that is there but names nothing is as good as none; one that is broken has been complained about.
  const orAssume = <T>(file: Entry | undefined, from: (file: Entry) => T[], otherwise: T, says: string): T[] => {
    if (file !== undefined && Object.keys(file.raw).length > 0) return from(file);
    assumed.push(says);
    return [otherwise];
  };
  const printers = orAssume(files.printers, readPrinters, defaultPrinter(parseBed(DEFAULT_BED)), ASSUMED.printers);
  const materials = orAssume(files.materials, readMaterials, defaultMaterial(), ASSUMED.materials);
  const recipes = orAssume(files.recipes, readRecipes, STANDARD_RECIPE, ASSUMED.recipes);
  const timeZone = readTimeZone(main, assumed);
  if (files.hours === undefined) assumed.push(ASSUMED.hours);
  return {
    printers,
    printerIds: [...new Set([...printers.map((printer) => printer.id), ...Object.keys(files.printers?.raw ?? {})])],
    materials,
    recipes: recipes.some((recipe) => recipe.id === STANDARD_RECIPE.id) ? recipes : [...recipes, STANDARD_RECIPE],
    spools: files.spools === undefined ? [] : readSpools(files.spools, materials),
    hours: files.hours === undefined ? defaultHours(timeZone) : readHours(files.hours, timeZone),
    hardware: files.hardware === undefined ? [] : readHardware(files.hardware),
    timeZone,
  };
}

function readTimeZone(main: Entry, assumed: string[]): string {
  const zone = textOf(main, 'timeZone');
  if (zone === undefined) {
    assumed.push('Times are taken as UTC; write timeZone into stonehand.yaml.');
    return 'UTC';
  }
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return zone;
  } catch {
    const near = nearestName(zone, Intl.supportedValuesOf('timeZone'));
    complain(
      main,
      ['timeZone'],
      'DATA_UNKNOWN',
      `there is no time zone "${zone}"`,
      near === undefined ? 'Write an IANA name such as Europe/Berlin.' : `Did you mean "${near}"?`,
    );
    return 'UTC';
  }
}
