import type { Material } from '@stonehand/model';
import {
  durationOf,
  type Entry,
  given,
  lengthOf,
  massOf,
  mustBeKnown,
  namedEntries,
  numberOf,
  shareOf,
  textOf,
  textsOf,
  wordOf,
  wordsOf,
} from './fields.ts';
import { MATERIAL_KINDS, type MaterialKind, materialKind } from './material-kinds.ts';
import { NEEDS } from './read-printers.ts';

/** The usual filament of a hobby printer and the usual spool (common practice). */
const DIAMETER_MM = 1.75;
const SPOOL_G = 1000;
const KIND_NAMES = MATERIAL_KINDS.map((kind) => kind.kind);

/** The materials of shop/materials.yaml, with what their kind says filled in. */
export function readMaterials(file: Entry): Material[] {
  return namedEntries(file).map(([id, entry]) => readMaterial(id, entry));
}

const DAY_S = 86_400;

function readMaterial(id: string, entry: Entry): Material {
  const leadS = durationOf(entry, 'leadTime');
  const stated = {
    name: textOf(entry, 'name'),
    colour: textOf(entry, 'colour'),
    densityGPerCm3: numberOf(entry, 'density'),
    diameterMm: lengthOf(entry, 'diameter'),
    nozzleC: numberOf(entry, 'nozzle'),
    plateC: numberOf(entry, 'plate'),
    shrinkShare: shareOf(entry, 'shrink'),
    shrinkBy: wordOf(entry, 'shrinkBy', ['model', 'slicing', 'nobody'] as const),
    flowMm3S: numberOf(entry, 'flow'),
    pricePerKg: numberOf(entry, 'price'),
    spoolG: massOf(entry, 'spool'),
    leadDays: leadS === undefined ? undefined : leadS / DAY_S,
    dryS: durationOf(entry, 'dry'),
    needs: wordsOf(entry, 'needs', NEEDS),
    joins: textsOf(entry, 'joins'),
    solvent: textOf(entry, 'solvent'),
    coatMm: lengthOf(entry, 'coat'),
    opaqueMm: lengthOf(entry, 'opaque'),
  };
  return { ...materialOf(id, kindOf(entry)), kind: kindName(entry), ...given(stated) };
}

/** A material about which only its kind and colour are known. */
export function materialOf(id: string, kind: MaterialKind, colour = 'any'): Material {
  const { dryH, ...rest } = kind;
  return { id, colour, ...rest, diameterMm: DIAMETER_MM, spoolG: SPOOL_G, dryS: dryH * 3600 };
}

/** The built-in kind whose values stand behind this material; PLA's where there is none (and a complaint). */
function kindOf(entry: Entry): MaterialKind {
  const like = textOf(entry, 'like');
  const name = like ?? textOf(entry, 'kind');
  const found = name === undefined ? undefined : materialKind(name);
  if (name !== undefined && found === undefined) {
    const remedy = `Built in are ${KIND_NAMES.join(', ')}; for another kind add "like" with the nearest of them.`;
    mustBeKnown(entry, [like === undefined ? 'kind' : 'like'], name, KIND_NAMES, 'built-in kind', remedy);
  }
  return found ?? MATERIAL_KINDS[0]!;
}

// "pla" is PLA: whoever compares kinds should not have to fold case.
function kindName(entry: Entry): string {
  const name = textOf(entry, 'kind') ?? '';
  return materialKind(name)?.kind ?? name;
}
