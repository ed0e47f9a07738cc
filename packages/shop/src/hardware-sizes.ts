import type { HardwareSize } from '@stonehand/model';
import { FASTENER_SIZES } from './fastener-sizes.ts';

/** ISO 15 boundary dimensions, mm: bore, outside, width open, width with two shields. As several bearing makers' catalogues give them. */
const BEARINGS: Readonly<Record<string, readonly [number, number, number, number?]>> = {
  603: [3, 9, 3, 5],
  604: [4, 12, 4, 4],
  605: [5, 14, 5, 5],
  606: [6, 17, 6, 6],
  607: [7, 19, 6, 6],
  608: [8, 22, 7, 7],
  623: [3, 10, 4, 4],
  624: [4, 13, 5, 5],
  625: [5, 16, 5, 5],
  626: [6, 19, 6, 6],
  688: [8, 16, 4, 5],
  6800: [10, 19, 5, 5],
  6801: [12, 21, 5, 5],
  6802: [15, 24, 5, 5],
  6803: [17, 26, 5, 5],
};

/** ISO 273 holes that a screw passes, mm: medium (H13) and coarse (H14). */
const CLEARANCE: Readonly<Record<string, readonly [number, number]>> = {
  M2: [2.4, 2.6],
  'M2.5': [2.9, 3.1],
  M3: [3.4, 3.6],
  M4: [4.5, 4.8],
  M5: [5.5, 5.8],
  M6: [6.6, 7],
  M8: [9, 10],
};

const NUMBER = '(\\d+(?:\\.\\d+)?)';
const FORMS: readonly (readonly [RegExp, (match: RegExpExecArray) => HardwareSize | undefined])[] = [
  [new RegExp(`^(M${NUMBER})x${NUMBER} (?:socket screw|threaded rod)$`), (m) => screw(m[1]!)],
  [new RegExp(`^(M${NUMBER}) (thin |lock )?nut$`), (m) => nut(m[1]!, (m[3] ?? '').trim())],
  [new RegExp(`^(M${NUMBER}) washer$`), (m) => washer(m[1]!)],
  [/^(\d{3,4}) (shielded )?bearing$/, (m) => bearing(m[1]!, m[2] !== undefined)],
  [
    new RegExp(`^${NUMBER}x${NUMBER} (?:brass|aluminium|steel) rod$`),
    (m) => ({ shape: 'round', outsideMm: Number(m[1]), from: 'nominal size of the rod' }),
  ],
  [
    new RegExp(`^${NUMBER}x${NUMBER} magnet$`),
    (m) => ({
      shape: 'round',
      outsideMm: Number(m[1]),
      heightMm: Number(m[2]),
      magnet: true,
      from: 'nominal size of the disc',
    }),
  ],
];

/** What of a built-in item sits in a part, by the item's name; undefined where nothing round or hexagonal does. */
export function builtInSize(name: string): HardwareSize | undefined {
  for (const [form, make] of FORMS) {
    const match = form.exec(name);
    if (match !== null) return make(match);
  }
  return undefined;
}

function screw(name: string): HardwareSize | undefined {
  const size = own(FASTENER_SIZES, name);
  const clearanceMm = own(CLEARANCE, name);
  if (size === undefined || clearanceMm === undefined) return undefined;
  return { shape: 'round', outsideMm: size.diameter, clearanceMm, from: `ISO 273 ${name}, medium to coarse` };
}

function nut(name: string, form: string): HardwareSize | undefined {
  const size = own(FASTENER_SIZES, name);
  if (size === undefined) return undefined;
  const [heightMm, standard] =
    form === 'thin'
      ? [size.thinNutM, 'ISO 4035']
      : form === 'lock'
        ? [size.lockNutM, 'DIN 985']
        : [size.nutM, 'ISO 4032'];
  if (heightMm === undefined) return undefined;
  return { shape: 'hexagon', outsideMm: size.nutS, heightMm, from: `${standard} ${name}` };
}

function washer(name: string): HardwareSize | undefined {
  const size = own(FASTENER_SIZES, name);
  if (size === undefined) return undefined;
  const [insideMm, outsideMm, heightMm] = size.washer;
  return { shape: 'round', outsideMm, insideMm, heightMm, from: `ISO 7089 ${name}` };
}

function bearing(number: string, shielded: boolean): HardwareSize | undefined {
  const size = own(BEARINGS, number);
  if (size === undefined) return undefined;
  const [insideMm, outsideMm, open, withShields] = size;
  const heightMm = shielded ? withShields : open;
  return {
    shape: 'round',
    outsideMm,
    insideMm,
    ...(heightMm === undefined ? {} : { heightMm }),
    from: `ISO 15, ${number}`,
  };
}

function own<T>(table: Readonly<Record<string, T>>, name: string): T | undefined {
  return Object.hasOwn(table, name) ? table[name] : undefined;
}
