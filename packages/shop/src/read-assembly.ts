import { posix } from 'node:path';
import type { Assembly, Joint, MountedItem, PartSpec, Vec3 } from '@stonehand/model';
import { type AssemblyFile, fromRoot, ROOT_FOLDER } from './assembly-files.ts';
import {
  childOf,
  complain,
  coordinateAt,
  type Entry,
  given,
  lengthOf,
  listOf,
  momentOf,
  mustBeKnown,
  namedEntries,
  numberOf,
  numbersAt,
  pointAt,
  rawOf,
  textOf,
  textsOf,
  wordOf,
} from './fields.ts';
import { type Known, mustBeHardware } from './known-names.ts';
import { readAllowances } from './read-allowances.ts';
import { readLimits } from './read-limits.ts';
import { partIdOf, readPart } from './read-part.ts';
import { HERE, readDirection, readPlace } from './read-place.ts';
import { readStacks } from './read-stacks.ts';

const JOINT_KINDS = ['dowel', 'key', 'flange', 'tab', 'butt', 'pushFit', 'glue', 'weld', 'turning', 'sliding'] as const;

/** A part as it was read, with the entry that complaints about its mesh go to. */
export interface ReadPart {
  readonly part: PartSpec;
  readonly entry: Entry;
}

/** One assembly and its children; every part that was read is also put into `parts`. */
export function readAssembly(file: AssemblyFile, known: Known, parts: ReadPart[]): Assembly {
  const { folder, entry } = file;
  const own = namedEntries(childOf(entry, 'parts')).flatMap(([name, partEntry]) => {
    const part = readPart(name, partEntry, folder, known);
    if (part === undefined) return [];
    parts.push({ part, entry: partEntry });
    return [part];
  });
  return {
    id: folder,
    name: textOf(entry, 'name') ?? (folder === ROOT_FOLDER ? 'assembly' : posix.basename(folder)),
    parts: own,
    hardware: readMounted(childOf(entry, 'hardware'), known),
    children: file.children.map((child) => ({
      assembly: readAssembly(child.file, known, parts),
      place: readPlace(child.entry, ['place']) ?? HERE,
    })),
    joints: namedEntries(childOf(entry, 'joints')).flatMap(([id, joint]) => readJoint(id, joint, folder, known) ?? []),
    ...given({ deadline: momentOf(entry, 'deadline'), importance: numberOf(entry, 'importance') }),
    limits: readLimits(childOf(entry, 'limits')),
    ...given({
      stacks: readStacks(entry, folder, known, (name, at) => resolvePart(name, ['part'], at, folder, known)),
    }),
    ...readAllowances(entry, known),
  };
}

/** Copies (quantity and spares) of every part below, by part id; for references that are read before the parts are. */
export function countCopies(files: readonly AssemblyFile[]): Map<string, number> {
  const copies = new Map<string, number>();
  const visit = (file: AssemblyFile): void => {
    for (const [name, part] of namedEntries(childOf(file.entry, 'parts'))) {
      copies.set(partIdOf(file.folder, name), (numberOf(part, 'quantity') ?? 1) + (numberOf(part, 'spares') ?? 0));
    }
    for (const child of file.children) visit(child.file);
  };
  for (const file of files) visit(file);
  return copies;
}

function readMounted(hardware: Entry, known: Known): MountedItem[] {
  return Object.keys(hardware.raw).flatMap((itemId): MountedItem[] => {
    const entry = childOf(hardware, itemId);
    if (!mustBeHardware(entry, [], itemId, known)) return [];
    const count = numberOf(hardware, itemId);
    if (count !== undefined) return [{ itemId, quantity: count, places: [] }];
    const places = readPoints(entry);
    const quantity = numberOf(entry, 'quantity') ?? places.length;
    if (quantity === 0) {
      complain(
        entry,
        [],
        'DATA_INVALID',
        `"${itemId}" has neither a quantity nor a place`,
        'Write how many, or where (at).',
      );
    } else if (places.length > quantity) {
      complain(
        entry,
        ['at'],
        'DATA_INVALID',
        `${places.length} places for a quantity of ${quantity}`,
        `Write quantity: ${places.length}, or take places away.`,
      );
    }
    return [{ itemId, quantity, places }];
  });
}

/** `at: [x, y, z]` or a list of such points. */
function readPoints(entry: Entry): Vec3[] {
  const list = listOf(entry, 'at');
  if (list.length === 0) return [];
  if (!Array.isArray(list[0])) {
    const point = list.length === 3 ? pointAt(entry, ['at']) : badPoint(entry, ['at']);
    return point === undefined ? [] : [point];
  }
  return list.flatMap((item, i) => {
    const isPoint = Array.isArray(item) && item.length === 3;
    const point = isPoint ? pointAt(entry, ['at', i]) : badPoint(entry, ['at', i]);
    return point === undefined ? [] : [point];
  });
}

function badPoint(entry: Entry, tail: readonly (string | number)[]): undefined {
  complain(entry, tail, 'DATA_INVALID', 'a place is three coordinates', 'Write [x, y, z], or a list of such points.');
  return undefined;
}

function readJoint(id: string, entry: Entry, folder: string, known: Known): Joint | undefined {
  const kind = wordOf(entry, 'kind', JOINT_KINDS);
  const atMm = pointAt(entry, ['at']);
  const between = (textsOf(entry, 'between') ?? []).map((name, i) =>
    resolvePart(name, ['between', i], entry, folder, known),
  );
  const axis = rawOf(entry, 'axis') === undefined ? UP : readDirection(entry, ['axis']);
  if (axis === undefined)
    complain(
      entry,
      ['axis'],
      'DATA_INVALID',
      'the axis has no direction',
      'Write x, y, z or three numbers that are not all 0.',
    );
  const sweep = numbersAt(entry, ['sweep'], 2) as readonly [number, number] | undefined;
  if (sweep !== undefined && sweep[0] > sweep[1])
    complain(entry, ['sweep'], 'DATA_INVALID', 'the sweep ends before it begins', 'Write the smaller number first.');
  if (kind === undefined || atMm === undefined || axis === undefined) return undefined;
  const sizes = {
    diameterMm: lengthOf(entry, 'diameter'),
    lengthMm: lengthOf(entry, 'length'),
    gapPerSideMm: coordinateAt(entry, ['gap']),
    sweep,
  };
  return { id: partIdOf(folder, id), kind, between, atMm, axis, ...given(sizes) };
}

const UP: Vec3 = [0, 0, 1];

/** A part's id from its name in this assembly, its path below this folder, or its full id. */
function resolvePart(
  name: string,
  tail: readonly (string | number)[],
  entry: Entry,
  folder: string,
  known: Known,
): string {
  const below = fromRoot(folder, name);
  if (below !== undefined && known.copies.has(below)) return below;
  const ids = [...known.copies.keys()];
  const here = ids
    .filter((id) => folder === ROOT_FOLDER || id.startsWith(`${folder}/`))
    .map((id) => posix.relative(folder, id));
  mustBeKnown(
    entry,
    tail,
    name,
    [...ids, ...here],
    'part',
    'Name a part of this assembly, a child’s as folder/part, or a full id.',
  );
  return name;
}
