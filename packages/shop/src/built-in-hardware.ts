import type { HardwareItem } from '@stonehand/model';
import {
  disc,
  FASTENER_SIZES,
  nutMassG,
  STEEL_G_PER_MM3,
  socketScrewMassG,
  threadedRodMassG,
  washerMassG,
} from './fastener-sizes.ts';
import { builtInSize } from './hardware-sizes.ts';

/**
 * Masses, g, of socket-head screws by size and length: a published table of weights (kg per 1000). Its M5 row looks 10 %
 * light against the dimensions of ISO 4762 and is left out: M5 is computed.
 */
const SCREW_G: Readonly<Record<string, number>> = {
  M2x10: 0.295,
  'M2.5x10': 0.525,
  M3x10: 0.9,
  M3x16: 1.2,
  M3x20: 1.4,
  M4x16: 2.3,
  M4x20: 2.7,
  M6x20: 6.5,
  M6x30: 8.3,
  M8x20: 13.4,
  M8x30: 16.9,
};

/** Deep-groove ball bearings, g: open, and with two shields. A bearing maker's catalogue. */
const BEARING_G: Readonly<Record<string, readonly [number, number?]>> = {
  603: [0.84, 1.43],
  604: [2.19, 2.34],
  605: [3.46, 3.75],
  606: [5.94, 6.89],
  607: [7.8, 8.24],
  608: [11.8, 12.9],
  623: [1.45, 1.65],
  624: [3.1, 3.2],
  625: [4.95, 5.1],
  626: [8.12, 8.65],
  688: [3.11, 4.05],
  6800: [5.5],
  6801: [6.3],
  6802: [7.4],
  6803: [8.2],
};

/** g/mm³, common practice. */
const ROD_G_PER_MM3: Readonly<Record<string, number>> = { brass: 0.0085, aluminium: 0.0027, steel: STEEL_G_PER_MM3 };
const NEODYMIUM_G_PER_MM3 = 0.0075;

const NUMBER = '(\\d+(?:\\.\\d+)?)';
const FORMS: readonly (readonly [RegExp, (match: RegExpExecArray) => Omit<HardwareItem, 'id'> | undefined])[] = [
  [new RegExp(`^(M${NUMBER})x${NUMBER} socket screw$`), (m) => socketScrew(m[1]!, Number(m[3]))],
  [new RegExp(`^(M${NUMBER}) (thin |lock )?nut$`), (m) => nut(m[1]!, (m[3] ?? '').trim())],
  [new RegExp(`^(M${NUMBER}) washer$`), (m) => washer(m[1]!)],
  [new RegExp(`^(M${NUMBER})x${NUMBER} threaded rod$`), (m) => threadedRod(m[1]!, Number(m[3]))],
  [/^(\d{3,4}) (shielded )?bearing$/, (m) => bearing(m[1]!, m[2] !== undefined)],
  [new RegExp(`^${NUMBER}x${NUMBER} (brass|aluminium|steel) rod$`), (m) => rod(m[3]!, Number(m[1]), Number(m[2]))],
  [
    new RegExp(`^${NUMBER}x${NUMBER} magnet$`),
    (m) => magnet(`disc ${m[1]} × ${m[2]}`, disc(Number(m[1])) * Number(m[2])),
  ],
  [
    new RegExp(`^${NUMBER}x${NUMBER}x${NUMBER} magnet$`),
    (m) => magnet(`block ${m[1]} × ${m[2]} × ${m[3]}`, Number(m[1]) * Number(m[2]) * Number(m[3])),
  ],
];

/**
 * A bought item that needs no entry in shop/hardware.yaml, by its name: `M3x10 socket screw`, `M3 nut`, `M3 thin nut`, `M3 lock
 * nut`, `M3 washer`, `M4x100 threaded rod`, `608 bearing`, `608 shielded bearing`, `4x100 brass rod` (or aluminium, steel),
 * `6x3 magnet`, `10x5x2 magnet`; sizes in mm.
 */
export function builtInHardware(name: string): HardwareItem | undefined {
  for (const [form, make] of FORMS) {
    const match = form.exec(name);
    const item = match === null ? undefined : make(match);
    if (item === undefined || item.massG <= 0) continue;
    const size = builtInSize(name);
    return { id: name, ...item, ...(size === undefined ? {} : { size }) };
  }
  return undefined;
}

/** Built-in names that have no free sizes, and one example of each that has: what a mistyped name is compared with. */
export function builtInHardwareNames(): string[] {
  const sizes = Object.entries(FASTENER_SIZES);
  return [
    ...Object.keys(SCREW_G).map((size) => `${size} socket screw`),
    ...sizes.flatMap(([size]) => [`${size} nut`, `${size} thin nut`, `${size} washer`]),
    ...sizes.flatMap(([size, of]) => (of.lockNutM === undefined ? [] : [`${size} lock nut`])),
    ...Object.entries(BEARING_G).flatMap(([no, [, shielded]]) =>
      shielded === undefined ? [`${no} bearing`] : [`${no} bearing`, `${no} shielded bearing`],
    ),
    'M4x100 threaded rod',
    '4x100 brass rod',
    '6x100 steel rod',
    '8x100 aluminium rod',
    '6x3 magnet',
    '10x5x2 magnet',
  ];
}

function fastener(size: string): (typeof FASTENER_SIZES)[string] | undefined {
  return Object.hasOwn(FASTENER_SIZES, size) ? FASTENER_SIZES[size] : undefined;
}

function socketScrew(name: string, lengthMm: number): Omit<HardwareItem, 'id'> | undefined {
  const size = fastener(name);
  if (size === undefined || lengthMm <= 0) return undefined;
  const key = `${name}x${lengthMm}`;
  const published = Object.hasOwn(SCREW_G, key) ? SCREW_G[key] : undefined;
  return {
    name: `socket-head screw ISO 4762 ${name} × ${lengthMm}`,
    massG: published ?? socketScrewMassG(size, lengthMm),
    massFrom: published === undefined ? 'computed from the sizes of ISO 4762' : 'a published table of weights',
    magnetic: true,
  };
}

function nut(name: string, form: string): Omit<HardwareItem, 'id'> | undefined {
  const size = fastener(name);
  if (size === undefined) return undefined;
  const heights: Readonly<Record<string, readonly [number | undefined, string]>> = {
    '': [size.nutM, 'nut ISO 4032'],
    thin: [size.thinNutM, 'thin nut ISO 4035'],
    lock: [size.lockNutM, 'lock nut DIN 985'],
  };
  const [heightMm, title] = heights[form] ?? [undefined, ''];
  if (heightMm === undefined) return undefined;
  return {
    name: `${title} ${name}`,
    massG: nutMassG(size, heightMm),
    massFrom: 'computed from its sizes without chamfers, a few per cent high',
    magnetic: true,
  };
}

function washer(name: string): Omit<HardwareItem, 'id'> | undefined {
  const size = fastener(name);
  if (size === undefined) return undefined;
  return {
    name: `washer ISO 7089 ${name}`,
    massG: washerMassG(size),
    massFrom: 'computed from the sizes of ISO 7089',
    magnetic: true,
  };
}

function threadedRod(name: string, lengthMm: number): Omit<HardwareItem, 'id'> | undefined {
  const size = fastener(name);
  if (size === undefined) return undefined;
  return {
    name: `threaded rod ${name}, ${lengthMm} mm`,
    massG: threadedRodMassG(size, lengthMm),
    massFrom: 'computed with the pitch diameter',
    magnetic: true,
  };
}

function bearing(number: string, shielded: boolean): Omit<HardwareItem, 'id'> | undefined {
  const massG = Object.hasOwn(BEARING_G, number) ? BEARING_G[number]![shielded ? 1 : 0] : undefined;
  if (massG === undefined) return undefined;
  return {
    name: `ball bearing ${number}, ${shielded ? 'two shields' : 'open'}`,
    massG,
    massFrom: "a bearing maker's catalogue",
    magnetic: true,
  };
}

function rod(metal: string, diameterMm: number, lengthMm: number): Omit<HardwareItem, 'id'> {
  return {
    name: `${metal} rod ${diameterMm} mm, ${lengthMm} mm long`,
    massG: disc(diameterMm) * lengthMm * ROD_G_PER_MM3[metal]!,
    massFrom: `computed with ${(ROD_G_PER_MM3[metal]! * 1000).toFixed(2)} g/cm³`,
    magnetic: metal === 'steel',
  };
}

function magnet(form: string, volumeMm3: number): Omit<HardwareItem, 'id'> {
  return {
    name: `neodymium magnet, ${form} mm`,
    massG: volumeMm3 * NEODYMIUM_G_PER_MM3,
    massFrom: 'computed with 7.50 g/cm³',
    magnetic: true,
    note: 'Strong magnets pinch and shatter; keep them from children, pacemakers and hot plates (above about 80 °C they lose strength).',
  };
}
