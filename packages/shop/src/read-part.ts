import type { Box, PartSpec, Placement, Vec3 } from '@stonehand/model';
import { fromRoot } from './assembly-files.ts';
import {
  childOf,
  complain,
  durationOf,
  type Entry,
  flagOf,
  given,
  lengthOf,
  listedEntries,
  listOf,
  massOf,
  mustBeKnown,
  numberOf,
  pointAt,
  rawOf,
  textOf,
  textsOf,
  wordOf,
} from './fields.ts';
import { type Known, mustBeHardware } from './known-names.ts';
import { readPaint } from './read-allowances.ts';
import { readFits } from './read-fits.ts';
import { readLighten } from './read-lighten.ts';
import { readDirection, readPlace } from './read-place.ts';

const UNITS = ['micron', 'millimeter', 'centimeter', 'inch', 'foot', 'meter', 'mm', 'cm', 'in', 'ft', 'm'] as const;

/** A part of an assembly.yaml; undefined (after a complaint) without a mesh inside the workspace. */
export function readPart(name: string, entry: Entry, folder: string, known: Known): PartSpec | undefined {
  const meshFile = readMeshPath(entry, folder);
  const materialId = readKnown(entry, 'material', known.materialIds, known.defaults.materialId);
  const recipeId = readKnown(entry, 'recipe', known.recipeIds, known.defaults.recipeId);
  const printerIds = readPrinterIds(entry, known);
  const putIn = readPutIn(entry, known);
  const quantity = numberOf(entry, 'quantity') ?? 1;
  const places = readPlaces(entry, quantity);
  const unit = wordOf(entry, 'unit', UNITS);
  const finishing = readFinishing(entry);
  const status = wordOf(entry, 'status', ['print', 'have', 'elsewhere'] as const) ?? 'print';
  if (status === 'print' && rawOf(entry, 'mass') !== undefined) {
    const remedy = 'Leave it out, or write status: have (or elsewhere).';
    complain(entry, ['mass'], 'DATA_INVALID', 'a part that is printed here gets its mass from the estimate', remedy);
  }
  if (meshFile === undefined) return undefined;
  return {
    id: partIdOf(folder, name),
    // "back-shell" is an id; people read "back shell".
    name: textOf(entry, 'name') ?? name.replaceAll(/[-_]+/g, ' '),
    assemblyId: folder,
    meshFile,
    unit: unit ?? 'mm',
    unitFrom: unit === undefined ? 'assumed' : 'stated',
    scale: numberOf(entry, 'scale') ?? 1,
    quantity,
    spares: numberOf(entry, 'spares') ?? 0,
    materialId,
    recipeId,
    status,
    pose: wordOf(entry, 'pose', ['auto', 'asModelled', 'bestOf'] as const) ?? 'auto',
    split: wordOf(entry, 'split', ['auto', 'never'] as const) ?? 'auto',
    importance: numberOf(entry, 'importance') ?? 1,
    places,
    finishing,
    basedOn: readBasedOn(entry),
    ...given({
      item: textOf(entry, 'item'),
      mend: (flagOf(entry, 'mend') ?? known.defaults.mend) ? true : undefined,
      mirror: wordOf(entry, 'mirror', ['x', 'y', 'z'] as const),
      massG: massOf(entry, 'mass'),
      printerIds,
      showSide: readDirection(entry, ['show']),
      downs: readDowns(entry),
      load: readDirection(entry, ['load']),
      support: readSupport(entry),
      opaque: flagOf(entry, 'opaque'),
      putIn,
      fits: readFits(entry, known),
      paint: readPaint(entry),
      lighten: readLighten(entry, known),
      note: textOf(entry, 'note'),
      proves: textsOf(entry, 'proves')?.map((name) => (name.includes('/') ? name : partIdOf(folder, name))),
      together: textOf(entry, 'together'),
      apart: textOf(entry, 'apart'),
      pins: readPins(entry, known),
    }),
  };
}

/** "heron/head/skull"; bare in the root's own assembly. */
export function partIdOf(folder: string, name: string): string {
  return folder === '.' ? name : `${folder}/${name}`;
}

/** One side or several that may lie on the plate. */
function readDowns(entry: Entry): readonly Vec3[] | undefined {
  const value = rawOf(entry, 'down');
  if (value === undefined) return undefined;
  const tails = Array.isArray(value) ? value.map((_, i) => ['down', i]) : [['down']];
  const downs = tails.map((tail) => readDirection(entry, tail)).filter((down) => down !== undefined);
  return downs.length === 0 ? undefined : downs;
}

/** none, auto (as the recipe says), or { only: boxes }. */
function readSupport(entry: Entry): 'none' | readonly Box[] | undefined {
  if (rawOf(entry, 'support') === 'none') return 'none';
  const boxes = listedEntries(childOf(entry, 'support'), 'only').flatMap((box): Box[] => {
    const from = pointAt(box, ['from']);
    const to = pointAt(box, ['to']);
    if (from === undefined || to === undefined) return [];
    const sorted = ([0, 1, 2] as const).map((k) => [Math.min(from[k], to[k]), Math.max(from[k], to[k])] as const);
    return [
      {
        min: [sorted[0]![0], sorted[1]![0], sorted[2]![0]],
        max: [sorted[0]![1], sorted[1]![1], sorted[2]![1]],
      },
    ];
  });
  return boxes.length === 0 ? undefined : boxes;
}

function readMeshPath(entry: Entry, folder: string): string | undefined {
  const path = textOf(entry, 'mesh');
  if (path === undefined) return undefined;
  const meshFile = fromRoot(folder, path);
  if (meshFile !== undefined) return meshFile;
  complain(
    entry,
    ['mesh'],
    'FILE_OUTSIDE',
    `"${path}" leads outside the workspace`,
    'Copy the mesh into the workspace and name it relative to this file.',
  );
  return undefined;
}

function readKnown(entry: Entry, key: 'material' | 'recipe', ids: readonly string[], fallback: string): string {
  const id = textOf(entry, key);
  if (id === undefined) return fallback;
  mustBeKnown(entry, [key], id, ids, key, `Known are ${ids.join(', ')}; add it to shop/${key}s.yaml.`);
  return id;
}

function readPrinterIds(entry: Entry, known: Known): readonly string[] | undefined {
  const ids = textsOf(entry, 'printers');
  for (const [i, id] of (ids ?? []).entries()) {
    mustBeKnown(entry, ['printers', i], id, known.printerIds, 'printer', `Known are ${known.printerIds.join(', ')}.`);
  }
  return ids;
}

function readPins(entry: Entry, known: Known): PartSpec['pins'] {
  const pins = childOf(entry, 'pins');
  const copies = (numberOf(entry, 'quantity') ?? 1) + (numberOf(entry, 'spares') ?? 0);
  const numbers = Object.keys(pins.raw);
  for (const number of numbers) {
    const printerId = textOf(pins, number) ?? '';
    mustBeKnown(pins, [number], printerId, known.printerIds, 'printer', `Known are ${known.printerIds.join(', ')}.`);
    if (Number(number) > copies)
      complain(pins, [number], 'DATA_UNKNOWN', `there is no copy ${number}, only ${copies}`, 'Remove the pin.');
  }
  return numbers.length === 0
    ? undefined
    : Object.fromEntries(numbers.map((number) => [number, textOf(pins, number) ?? '']));
}

function readPlaces(entry: Entry, quantity: number): readonly Placement[] {
  if (rawOf(entry, 'place') !== undefined && rawOf(entry, 'places') !== undefined) {
    complain(entry, ['places'], 'DATA_INVALID', 'both place and places are given', 'Keep one of them.');
  }
  const one = readPlace(entry, ['place']);
  if (one !== undefined) return [one];
  const count = listOf(entry, 'places').length;
  if (count > quantity && quantity > 0) {
    const copies = quantity === 1 ? 'one copy' : `${quantity} copies`;
    complain(
      entry,
      ['places'],
      'DATA_INVALID',
      `${count} places for ${copies}`,
      `Write quantity: ${count}, or take places away.`,
    );
  }
  return Array.from({ length: count }, (_, i) => readPlace(entry, ['places', i])).filter(
    (place) => place !== undefined,
  );
}

function readPutIn(entry: Entry, known: Known): PartSpec['putIn'] {
  const items = listedEntries(entry, 'putIn').flatMap((item) => {
    const [itemId, atMm] = [textOf(item, 'item'), lengthOf(item, 'at')];
    if (itemId === undefined || atMm === undefined) return [];
    mustBeHardware(item, ['item'], itemId, known);
    return [{ itemId, atMm }];
  });
  return items.length === 0 ? undefined : items;
}

function readFinishing(entry: Entry): PartSpec['finishing'] {
  return listedEntries(entry, 'finishing').flatMap((step) => {
    const what = textOf(step, 'what');
    const minutes = (key: string): number => (durationOf(step, key) ?? 0) / 60;
    return what === undefined ? [] : [{ what, handsOnMin: minutes('handsOn'), waitMin: minutes('wait') }];
  });
}

function readBasedOn(entry: Entry): PartSpec['basedOn'] {
  return listedEntries(entry, 'basedOn').flatMap((base) => {
    const file = textOf(base, 'file');
    const members = {
      revision: textOf(base, 'revision'),
      licence: textOf(base, 'licence'),
      origin: textOf(base, 'origin'),
    };
    return file === undefined ? [] : [{ file, ...given(members) }];
  });
}
