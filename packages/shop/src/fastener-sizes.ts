/**
 * Metric fasteners, mm. pitch, ISO 4032, ISO 4035, ISO 7089 and ISO 4762 sizes as an open CAD library of fasteners and an open
 * library of standard parts give them (they agree); DIN 985 heights from memory (no size below M3).
 */
export interface FastenerSize {
  readonly diameter: number;
  readonly pitch: number;
  /** ISO 4032 across flats and height, ISO 4035 and DIN 985 heights */
  readonly nutS: number;
  readonly nutM: number;
  readonly thinNutM: number;
  readonly lockNutM?: number;
  /** ISO 7089 hole, outside, thickness */
  readonly washer: readonly [number, number, number];
  /** ISO 4762 head diameter and height, key, depth of socket */
  readonly head: readonly [number, number];
  readonly key: number;
  readonly socket: number;
}

export const FASTENER_SIZES: Readonly<Record<string, FastenerSize>> = {
  M2: {
    diameter: 2,
    pitch: 0.4,
    nutS: 4,
    nutM: 1.6,
    thinNutM: 1.2,
    washer: [2.2, 5, 0.3],
    head: [3.8, 2],
    key: 1.5,
    socket: 1,
  },
  'M2.5': {
    diameter: 2.5,
    pitch: 0.45,
    nutS: 5,
    nutM: 2,
    thinNutM: 1.6,
    washer: [2.7, 6, 0.5],
    head: [4.5, 2.5],
    key: 2,
    socket: 1.1,
  },
  M3: {
    diameter: 3,
    pitch: 0.5,
    nutS: 5.5,
    nutM: 2.4,
    thinNutM: 1.8,
    lockNutM: 4,
    washer: [3.2, 7, 0.5],
    head: [5.5, 3],
    key: 2.5,
    socket: 1.3,
  },
  M4: {
    diameter: 4,
    pitch: 0.7,
    nutS: 7,
    nutM: 3.2,
    thinNutM: 2.2,
    lockNutM: 5,
    washer: [4.3, 9, 0.8],
    head: [7, 4],
    key: 3,
    socket: 2,
  },
  M5: {
    diameter: 5,
    pitch: 0.8,
    nutS: 8,
    nutM: 4.7,
    thinNutM: 2.7,
    lockNutM: 5,
    washer: [5.3, 10, 1],
    head: [8.5, 5],
    key: 4,
    socket: 2.5,
  },
  M6: {
    diameter: 6,
    pitch: 1,
    nutS: 10,
    nutM: 5.2,
    thinNutM: 3.2,
    lockNutM: 6,
    washer: [6.4, 12, 1.6],
    head: [10, 6],
    key: 5,
    socket: 3,
  },
  M8: {
    diameter: 8,
    pitch: 1.25,
    nutS: 13,
    nutM: 6.8,
    thinNutM: 4,
    lockNutM: 8,
    washer: [8.4, 16, 1.6],
    head: [13, 8],
    key: 6,
    socket: 4,
  },
};

/** Carbon steel, g/mm³ (7.85 g/cm³, common practice). */
export const STEEL_G_PER_MM3 = 0.00785;

// A thread weighs about as much as a plain rod of its pitch diameter, d − 0.6495·P (ISO 724).
function pitchDiameter(size: FastenerSize): number {
  return size.diameter - 0.6495 * size.pitch;
}

/** Hexagon less threaded hole; without chamfers, so a few per cent high. */
export function nutMassG(size: FastenerSize, heightMm: number): number {
  const flat = (Math.sqrt(3) / 2) * size.nutS ** 2;
  return (flat - disc(pitchDiameter(size))) * heightMm * STEEL_G_PER_MM3;
}

export function washerMassG(size: FastenerSize): number {
  const [hole, outside, thick] = size.washer;
  return (disc(outside) - disc(hole)) * thick * STEEL_G_PER_MM3;
}

/** Head less socket, and a shank of the pitch diameter. */
export function socketScrewMassG(size: FastenerSize, lengthMm: number): number {
  const head = disc(size.head[0]) * size.head[1] - (Math.sqrt(3) / 2) * size.key ** 2 * size.socket;
  return (head + disc(pitchDiameter(size)) * lengthMm) * STEEL_G_PER_MM3;
}

export function threadedRodMassG(size: FastenerSize, lengthMm: number): number {
  return disc(pitchDiameter(size)) * lengthMm * STEEL_G_PER_MM3;
}

/** Area of a circle, mm². */
export function disc(diameterMm: number): number {
  return (Math.PI / 4) * diameterMm ** 2;
}
