import { StonehandError } from '@stonehand/base';
import type { ByKind, Need, Printer, Ring, Vec2 } from '@stonehand/model';
import { plateRing, plateSize, usableRing } from './bed-rings.ts';
import {
  childOf,
  complain,
  coordinateAt,
  durationOf,
  type Entry,
  flagOf,
  given,
  lengthOf,
  listedEntries,
  listOf,
  momentOf,
  namedEntries,
  numberOf,
  shareOf,
  textOf,
  wordOf,
  wordsOf,
} from './fields.ts';
import { MOTIONS, type Motion, type MotionName, nozzleFlowFactor } from './motion.ts';
import { type Bed, parseBed } from './parse-bed.ts';

export const NEEDS: readonly Need[] = ['enclosure', 'hardNozzle', 'slowFeed'];

/** Common practice, no source: clips and brims eat 5 mm a side, tuned machines fail 3 % per start and 0.5 % per hour. */
const PRINTER_DEFAULTS = {
  marginMm: 5,
  nozzleMm: 0.4,
  motion: 'plain' as MotionName,
  coolDownS: 900,
  changeS: 300,
  unattended: false,
  longestRunS: 72_000,
  failPerStart: 0.03,
  failPerHour: 0.005,
} as const;

/** The printers of shop/printers.yaml; one without a readable volume is left out (and complained about). */
export function readPrinters(file: Entry): Printer[] {
  return namedEntries(file).flatMap(([id, entry]) => readPrinter(id, entry) ?? []);
}

function readPrinter(id: string, entry: Entry): Printer | undefined {
  const bed = readBed(entry);
  if (bed === undefined) return undefined;
  const marginMm = lengthOf(entry, 'margin') ?? PRINTER_DEFAULTS.marginMm;
  if (usableRing(bed, marginMm).length === 0) {
    complain(
      entry,
      ['margin'],
      'DATA_INVALID',
      `a margin of ${marginMm} mm leaves nothing of the plate`,
      'Make the margin smaller.',
    );
    return undefined;
  }
  const d = PRINTER_DEFAULTS;
  const motion = MOTIONS[wordOf(entry, 'motion', Object.keys(MOTIONS) as MotionName[]) ?? d.motion];
  const stated = {
    name: textOf(entry, 'name'),
    keepOut: listedEntries(entry, 'keepOut').flatMap((area) => readKeepOut(area)),
    has: wordsOf(entry, 'has', NEEDS),
    nozzleMaxC: numberOf(entry, 'nozzleMax'),
    plateMaxC: numberOf(entry, 'plateMax'),
    firstLayerMmS: numberOf(entry, 'firstLayer'),
    cornerSpeedMmS: numberOf(entry, 'cornerSpeed'),
    flowMm3S: numberOf(entry, 'flow'),
    pullBackS: durationOf(entry, 'pullBack'),
    layerChangeS: durationOf(entry, 'layerChange'),
    warmUpS: durationOf(entry, 'warmUp'),
    coolDownS: durationOf(entry, 'coolDown'),
    changeS: durationOf(entry, 'change'),
    unattended: flagOf(entry, 'unattended') ?? (wordOf(entry, 'unattended', ALONE) === undefined ? undefined : true),
    aloneWhile: aloneWhile(entry),
    loud: flagOf(entry, 'loud'),
    longestRunS: durationOf(entry, 'longestRun'),
    failPerStart: shareOf(childOf(entry, 'failures'), 'perStart'),
    failPerHour: shareOf(childOf(entry, 'failures'), 'perHour'),
    failPerPiece: shareOf(childOf(entry, 'failures'), 'perPiece'),
    outOfService: readOutOfService(entry),
    allowance: readAllowance(childOf(entry, 'allowance')),
  };
  const nozzleMm = lengthOf(entry, 'nozzle') ?? d.nozzleMm;
  return {
    ...printerOf(id, bed, { marginMm, nozzleMm, motion }),
    ...given(stated),
    speedMmS: byKind(entry, 'speed', motion.speedMmS),
    accelMmS2: byKind(entry, 'accel', motion.accelMmS2),
  };
}

/** A printer about which only its bed and its kind of motion are known. */
export function printerOf(
  id: string,
  bed: Bed,
  options: { marginMm?: number; nozzleMm?: number; motion?: Motion } = {},
): Printer {
  const d = PRINTER_DEFAULTS;
  const { marginMm = d.marginMm, nozzleMm = d.nozzleMm, motion = MOTIONS[d.motion] } = options;
  return {
    id,
    plate: plateRing(bed),
    usable: usableRing(bed, marginMm),
    keepOut: [],
    plateSizeMm: plateSize(bed),
    marginMm,
    heightMm: bed.heightMm,
    nozzleMm,
    has: [],
    ...motion,
    flowMm3S: motion.flowMm3S * nozzleFlowFactor(nozzleMm),
    coolDownS: d.coolDownS,
    changeS: d.changeS,
    unattended: d.unattended,
    longestRunS: d.longestRunS,
    failPerStart: d.failPerStart,
    failPerHour: d.failPerHour,
  };
}

const ALONE = ['asleep', 'away'] as const;

function aloneWhile(entry: Entry): Printer['aloneWhile'] {
  const word = wordOf(entry, 'unattended', ALONE);
  return word === undefined ? undefined : [word];
}

function readBed(entry: Entry): Bed | undefined {
  const text = textOf(entry, 'volume');
  if (text === undefined) return undefined;
  try {
    return parseBed(text);
  } catch (cause) {
    if (!(cause instanceof StonehandError)) throw cause;
    complain(entry, ['volume'], 'UNIT_INVALID', cause.message, cause.remedy);
    return undefined;
  }
}

function byKind(entry: Entry, key: string, defaults: ByKind): ByKind {
  const all = numberOf(entry, key);
  const kinds = Object.keys(defaults) as (keyof ByKind)[];
  const stated = childOf(entry, key);
  return Object.fromEntries(kinds.map((kind) => [kind, all ?? numberOf(stated, kind) ?? defaults[kind]])) as Record<
    keyof ByKind,
    number
  >;
}

/** One ring, or none after a complaint. */
function readKeepOut(area: Entry): Ring[] {
  const corners = listOf(area, 'ring').map((_, i) => cornerAt(area, ['ring', i]));
  if (corners.length >= 3) {
    const ring = corners.flatMap((corner) => (corner === undefined ? [] : [corner]));
    return ring.length < corners.length ? [] : [counterClockwise(ring)];
  }
  const [from, to] = [cornerAt(area, ['from']), cornerAt(area, ['to'])];
  if (from === undefined || to === undefined || from[0] === to[0] || from[1] === to[1]) {
    complain(
      area,
      [],
      'DATA_INVALID',
      'a keep-out area needs from and to, two opposite corners, or a ring',
      'Write { from: [0, 0], to: [30, 12] }.',
    );
    return [];
  }
  const [left, right] = [Math.min(from[0], to[0]), Math.max(from[0], to[0])];
  const [front, back] = [Math.min(from[1], to[1]), Math.max(from[1], to[1])];
  return [
    [
      [left, front],
      [right, front],
      [right, back],
      [left, back],
    ],
  ];
}

function cornerAt(area: Entry, tail: readonly (string | number)[]): Vec2 | undefined {
  const [x, y] = [coordinateAt(area, [...tail, 0]), coordinateAt(area, [...tail, 1])];
  return x === undefined || y === undefined ? undefined : [x, y];
}

function counterClockwise(ring: Ring): Ring {
  const twiceArea = ring.reduce((sum, [x, y], i) => {
    const [nextX, nextY] = ring[(i + 1) % ring.length]!;
    return sum + x * nextY - nextX * y;
  }, 0);
  return twiceArea < 0 ? ring.toReversed() : ring;
}

function readAllowance(entry: Entry): Printer['allowance'] {
  const [holeMm, outsideMm] = [lengthOf(entry, 'hole'), lengthOf(entry, 'outside')];
  return holeMm === undefined && outsideMm === undefined
    ? undefined
    : { holeMm: holeMm ?? 0, outsideMm: outsideMm ?? 0 };
}

function readOutOfService(entry: Entry): Printer['outOfService'] {
  const spans = listedEntries(entry, 'outOfService').flatMap((span) => {
    const [from, to] = [momentOf(span, 'from'), momentOf(span, 'to')];
    if (from === undefined || to === undefined) return [];
    if (from > to) complain(span, ['to'], 'TIME_INVALID', `"to" (${to}) is before "from" (${from})`, 'Swap them.');
    return [{ from, to, ...given({ why: textOf(span, 'why') }) }];
  });
  return spans.length === 0 ? undefined : spans;
}
