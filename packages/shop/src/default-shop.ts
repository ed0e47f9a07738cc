import type { HardwareItem, Hours, Material, Printer, Recipe, Spool } from '@stonehand/model';
import { MATERIAL_KINDS } from './material-kinds.ts';
import { type Bed, formatBed, parseBed } from './parse-bed.ts';
import { defaultHours } from './read-hours.ts';
import { materialOf } from './read-materials.ts';
import { printerOf } from './read-printers.ts';
import { STANDARD_RECIPE } from './read-recipes.ts';

/** A common size of a home printer (common practice). */
export const DEFAULT_BED = '220x220x250';

/** Printers, materials and the rest for a folder that is no workspace, and what was assumed in sentences. */
export interface Shop {
  readonly printers: readonly Printer[];
  readonly materials: readonly Material[];
  readonly recipes: readonly Recipe[];
  readonly spools: readonly Spool[];
  readonly hardware: readonly HardwareItem[];
  readonly hours: Hours;
  readonly assumed: readonly string[];
}

/**
 * What stands in where no workspace says anything: one printer with this bed, white PLA, the standard recipe, evenings
 * and weekends.
 * @param bed as parseBed reads it
 * @throws StonehandError USAGE when the bed cannot be read
 */
export function defaultShop(bed?: string | Bed, { timeZone = 'UTC' }: { timeZone?: string } = {}): Shop {
  const stated = bed !== undefined;
  const size = typeof bed === 'object' ? bed : parseBed(bed ?? DEFAULT_BED);
  return {
    printers: [defaultPrinter(size)],
    materials: [defaultMaterial()],
    recipes: [STANDARD_RECIPE],
    spools: [],
    hardware: [],
    hours: defaultHours(timeZone),
    assumed: [
      stated ? `The bed is ${formatBed(size)}, as stated; the printer is otherwise a plain one.` : ASSUMED.printers,
      ASSUMED.materials,
      ASSUMED.recipes,
      ASSUMED.hours,
    ],
  };
}

/** What is said where a file of the shop is absent. */
export const ASSUMED: Readonly<Record<'printers' | 'materials' | 'recipes' | 'hours', string>> = {
  printers: `A plain printer with a bed of ${DEFAULT_BED} mm and 5 mm margin is assumed.`,
  materials: 'PLA at 1.24 g/cm³ is assumed.',
  recipes: 'The standard recipe is assumed: 0.2 mm layers, 2 perimeters, 15 % gyroid.',
  hours: 'Presence on evenings from 17:30 and on weekends from 08:00, until 22:30, is assumed.',
};

export function defaultPrinter(bed: Bed): Printer {
  return printerOf('bed', bed);
}

export function defaultMaterial(): Material {
  return materialOf('pla', MATERIAL_KINDS[0]!);
}
