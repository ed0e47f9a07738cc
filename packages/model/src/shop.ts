import type { ByKind, Ring, Vec2 } from './geometry.ts';

export type InfillPattern = 'lines' | 'grid' | 'gyroid';

/** How a piece is printed. Angles as people state them: degrees from vertical beyond which a face needs support. */
export type Recipe = Readonly<{
  id: string;
  layerMm: number;
  firstLayerMm: number;
  beadWidthMm: number;
  perimeters: number;
  roofLayers: number;
  floorLayers: number;
  infillShare: number;
  infillPattern: InfillPattern;
  overhangFromVerticalDeg: number;
  bridgeMm: number;
  support: 'none' | 'auto';
  supportShare: number;
  brimMm: number;
  leastLayerS: number;
}>;

export type Need = 'enclosure' | 'hardNozzle' | 'slowFeed';

/** Origin at the front left of the build plate's box, x right, y back. */
export type Printer = Readonly<{
  id: string;
  name?: string;
  /** outline of the build plate */
  plate: Ring;
  /** where pieces with their brim may lie: the plate less the margin */
  usable: Ring;
  keepOut: readonly Ring[];
  plateSizeMm: Vec2;
  marginMm: number;
  heightMm: number;
  nozzleMm: number;
  nozzleMaxC: number;
  plateMaxC: number;
  has: readonly Need[];
  speedMmS: ByKind;
  accelMmS2: ByKind;
  /** the first layer is never faster than this */
  firstLayerMmS: number;
  /** speed kept through a right angle */
  cornerSpeedMmS: number;
  flowMm3S: number;
  pullBackS: number;
  layerChangeS: number;
  warmUpS: number;
  coolDownS: number;
  /** changing spool or material */
  changeS: number;
  unattended: boolean;
  /** when it may run alone, where that is not at all times: while the person is asleep at home, or away */
  aloneWhile?: readonly ('asleep' | 'away')[];
  /** it does not run in the quiet hours */
  loud?: boolean;
  longestRunS: number;
  failPerStart: number;
  failPerHour: number;
  /** chance that one piece comes loose and spoils its neighbours; absent: a usual value */
  failPerPiece?: number;
  /** diameters as this printer makes them: holes come out smaller, outsides larger, by so much as measured */
  allowance?: Readonly<{ holeMm: number; outsideMm: number }>;
  outOfService?: readonly Readonly<{ from: string; to: string; why?: string }>[];
}>;

export type Material = Readonly<{
  id: string;
  name?: string;
  kind: string;
  colour: string;
  densityGPerCm3: number;
  diameterMm: number;
  nozzleC: number;
  plateC: number;
  shrinkShare: number;
  flowMm3S: number;
  pricePerKg?: number;
  spoolG: number;
  leadDays?: number;
  dryS: number;
  needs: readonly Need[];
  /** kinds it can be welded to with its solvent */
  joins: readonly string[];
  solvent?: string;
  /** who makes up for shrinkage; it must be done once, never twice */
  shrinkBy?: 'model' | 'slicing' | 'nobody';
  /** filler and paint on a finished face, mm a side */
  coatMm?: number;
  /** from this thickness on no light shows through, as the owner tried it */
  opaqueMm?: number;
}>;

/** What is left on a spool; an interval where it was weighed with an empty spool of unsure mass. */
export type Spool = Readonly<{
  id: string;
  materialId: string;
  netG: number;
  lowG: number;
  highG: number;
  lot?: string;
  from: string;
  /** mass of the empty spool, lowest and highest, where that is known */
  emptyG?: readonly [number, number];
  /** known to be dry, or known not to be: then its first run waits for the drying; absent: nobody said */
  dry?: boolean;
}>;

export type Weekday = 'mon' | 'tue' | 'wed' | 'thu' | 'fri' | 'sat' | 'sun';
export type PresenceKind = 'present' | 'asleep' | 'away';
/** Minutes of the local day, 0 … 1440; a span never crosses midnight (loading splits those that do). */
export type DaySpan = Readonly<{ fromMin: number; toMin: number; kind: PresenceKind }>;
/** What the person can do when; uncovered time is `otherwise`. */
export type Hours = Readonly<{
  timeZone: string;
  otherwise: PresenceKind;
  weekly: Readonly<Record<Weekday, readonly DaySpan[]>>;
  /** by local date YYYY-MM-DD, instead of that weekday */
  exceptions: Readonly<Record<string, readonly DaySpan[]>>;
  /** of every local day: when loud printers stand still */
  quiet?: readonly Readonly<{ fromMin: number; toMin: number }>[];
  watchS: number;
  startWorkS: number;
  unloadWorkS: number;
}>;

/** A bought item. */
export type HardwareItem = Readonly<{
  id: string;
  name: string;
  massG: number;
  massFrom?: string;
  magnetic: boolean;
  price?: number;
  leadDays?: number;
  note?: string;
  size?: HardwareSize;
}>;

/** What of a bought item sits in a part. Diameters, or across flats of a hexagon. */
export type HardwareSize = Readonly<{
  shape: 'round' | 'hexagon';
  outsideMm: number;
  /** of a ring: what a boss goes into */
  insideMm?: number;
  heightMm?: number;
  /** diameters of a hole that it passes freely, least and most */
  clearanceMm?: readonly [number, number];
  /** it pulls steel */
  magnet?: boolean;
  from: string;
}>;
