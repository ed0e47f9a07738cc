import type { Joint, Vec2, Vec3 } from '@stonehand/model';
import { type Contact, contactsOf } from './contacts.ts';
import type { CutPiece } from './cut-mesh.ts';
import { LUG_THICK_MM, type Lug, lugPlaces, pointOf } from './lug-places.ts';
import { type Pin, pinPlaces } from './pin-places.ts';
import type { Plane } from './plane.ts';
import type { Region } from './regions.ts';

export type JointWish = 'auto' | 'flange' | 'dowel' | 'key' | 'butt' | 'none';

export type JointOptions = Readonly<{
  /** pieces are named `${partId}/a` in the joints; bare a, b … without */
  partId?: string;
  wish?: JointWish;
  /** free space around a pin or key, on each side; what material and printer need */
  gapPerSideMm?: number;
  /** taken off each cut face for glue */
  glueGapMm?: number;
  /** material that must stay between a joint and the outside */
  leastWallMm?: number;
  /** of the filament that pins a flange */
  filamentMm?: number;
  /** stock of which dowels are cut, thickest first */
  rodsMm?: readonly number[];
  regions?: readonly Region[];
  showSide?: Vec3;
}>;

/** A joint with what its solid is made from. */
export type JointDesign = Readonly<{ joint: Joint; contact: Contact; lug?: Lug; pin?: Pin }>;

// Common practice, no source, as is what is said of flanges in lug-places.ts.
export const GLUE_GAP_MM = 0.1;
export const PIN_GAP_MM = 0.1;
export const LEAST_WALL_MM = 0.8;
const FILAMENT_MM = 1.75;
const RODS_MM = [8, 6, 5, 4, 3];
const KEYS_MM = [16, 12, 10, 8, 6];
/** a rod's bore goes so many diameters deep and keeps a share of the diameter as wall around it */
const DEPTH_DIAMETERS = 2.5;
const WALL_DIAMETERS = 0.75;
const FILAMENT_DEPTH_DIAMETERS = 4;
/** beyond the pin's end at the bottom of each bore, for glue and burrs */
export const SPARE_DEPTH_MM = 0.5;
/** A section thinner than this in the mean is a wall: it is held along its length, not at two points. */
const THIN_MM = 6;
const AREA_PER_PIN_MM2 = 3000;
const MOST_PINS = 4;

/**
 * The joints of every pair of pieces that touch in a cut: flanges with pins on thin walls, dowels of rod (or of filament)
 * where the section has room, printed keys on request, else plain faces with a gap for glue. Nothing is claimed by this
 * alone: the solids are made, and checked, by joinPieces.
 */
export function chooseJoints(
  pieces: readonly CutPiece[],
  planes: readonly Plane[],
  options: JointOptions = {},
): JointDesign[] {
  if (options.wish === 'none') return [];
  return contactsOf(pieces, planes).flatMap((contact) => jointsAt(contact, planes, options, () => true));
}

/** The joints of one contact, made of designs that `holdsIn` agrees to: the kernel, when there is one. */
export function jointsAt(
  contact: Contact,
  planes: readonly Plane[],
  options: JointOptions,
  holdsIn: (design: JointDesign) => boolean,
): JointDesign[] {
  const { wish = 'auto', gapPerSideMm = PIN_GAP_MM, leastWallMm = LEAST_WALL_MM, filamentMm = FILAMENT_MM } = options;
  const thin = (2 * contact.areaMm2) / contact.lineMm < THIN_MM;
  const flanges = (): JointDesign[] => {
    const rules = {
      planes,
      regions: options.regions ?? [],
      ...(options.showSide === undefined ? {} : { showSide: options.showSide }),
      pinRadiusMm: filamentMm / 2 + gapPerSideMm,
      leastWallMm,
    };
    const lugs = lugPlaces(contact, rules, (lug) => holdsIn(flangeOf(contact, lug, 0, options)));
    return lugs.length < 2 ? [] : lugs.map((lug, i) => flangeOf(contact, lug, i, options));
  };
  const pins = (sizesMm: readonly number[], depth: number, wall: number): JointDesign[] =>
    pinPlaces(
      contact,
      {
        sizesMm,
        boreRadiusMm: (mm) => mm / 2 + gapPerSideMm,
        depthMm: (mm) => depth * mm + SPARE_DEPTH_MM,
        leastWallMm: (mm) => Math.max(leastWallMm, wall * mm),
        most: mostPins(contact),
      },
      (pin) => holdsIn(pinOf(contact, pin, 'dowel', 0, options)),
    ).map((pin, i) => pinOf(contact, pin, 'dowel', i, options));
  const rods = (): JointDesign[] => pins(options.rodsMm ?? RODS_MM, DEPTH_DIAMETERS, WALL_DIAMETERS);
  const strands = (): JointDesign[] => pins([filamentMm], FILAMENT_DEPTH_DIAMETERS, 0);
  const keys = (): JointDesign[] =>
    pinPlaces(
      contact,
      {
        sizesMm: KEYS_MM,
        boreRadiusMm: (mm) => (mm / 2 + gapPerSideMm) * Math.SQRT2,
        depthMm: (mm) => mm + SPARE_DEPTH_MM,
        leastWallMm: (mm) => Math.max(leastWallMm, 0.2 * mm),
        most: 2,
      },
      (pin) => holdsIn(pinOf(contact, pin, 'key', 0, options)),
    ).map((pin, i) => pinOf(contact, pin, 'key', i, options));
  const ways: Readonly<Record<JointWish, readonly (() => JointDesign[])[]>> = {
    auto: thin ? [flanges, rods, strands] : [rods, flanges, strands],
    flange: [flanges],
    dowel: [rods, strands],
    key: [keys],
    butt: [],
    none: [],
  };
  for (const way of ways[wish]) {
    const found = way();
    if (found.length > 0) return found;
  }
  return [buttOf(contact, options)];
}

const mostPins = ({ areaMm2 }: Contact): number =>
  Math.min(MOST_PINS, Math.max(2, Math.floor(areaMm2 / AREA_PER_PIN_MM2)));

function common(
  contact: Contact,
  { partId, glueGapMm = GLUE_GAP_MM }: JointOptions,
): Pick<Joint, 'between' | 'axis' | 'glueGapMm'> {
  const nameOf = (piece: CutPiece): string => (partId === undefined ? piece.id : `${partId}/${piece.id}`);
  return { between: [nameOf(contact.lower), nameOf(contact.upper)], axis: contact.plane.normal, glueGapMm };
}

const idOf = ({ lower, upper }: Contact, i: number): string => `${lower.id}-${upper.id}-${i + 1}`;

function flangeOf(contact: Contact, lug: Lug, i: number, options: JointOptions): JointDesign {
  const { gapPerSideMm = PIN_GAP_MM, leastWallMm = LEAST_WALL_MM, filamentMm = FILAMENT_MM } = options;
  return {
    contact,
    lug,
    joint: {
      id: idOf(contact, i),
      kind: 'flange',
      ...common(contact, options),
      atMm: pointOf(contact.plane, lug.pinAt, 0),
      diameterMm: filamentMm,
      lengthMm: 2 * LUG_THICK_MM,
      gapPerSideMm,
      leastWallMm,
    },
  };
}

function pinOf(contact: Contact, pin: Pin, kind: 'dowel' | 'key', i: number, options: JointOptions): JointDesign {
  const { gapPerSideMm = PIN_GAP_MM, leastWallMm = LEAST_WALL_MM } = options;
  return {
    contact,
    pin,
    joint: {
      id: idOf(contact, i),
      kind,
      ...common(contact, options),
      atMm: pointOf(contact.plane, pin.at, 0),
      diameterMm: pin.sizeMm,
      lengthMm: 2 * (pin.depthMm - SPARE_DEPTH_MM),
      gapPerSideMm,
      leastWallMm,
    },
  };
}

function buttOf(contact: Contact, options: JointOptions): JointDesign {
  const at: Vec2 = contact.circles[0].at;
  return {
    contact,
    joint: {
      id: `${contact.lower.id}-${contact.upper.id}`,
      kind: 'butt',
      ...common(contact, options),
      atMm: pointOf(contact.plane, at, 0),
    },
  };
}
