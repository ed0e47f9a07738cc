import type { Box, Placement, Vec3 } from './geometry.ts';

export type JointKind =
  | 'dowel'
  | 'key'
  | 'flange'
  | 'tab'
  | 'butt'
  | 'pushFit'
  | 'glue'
  | 'weld'
  | 'turning'
  | 'sliding';
export type Joint = Readonly<{
  id: string;
  kind: JointKind;
  between: readonly string[];
  atMm: Vec3;
  axis: Vec3;
  diameterMm?: number;
  lengthMm?: number;
  gapPerSideMm?: number;
  /** taken off each cut face for glue */
  glueGapMm?: number;
  /** material kept between the joint and the outside */
  leastWallMm?: number;
  /** from, to: degrees for a turning joint, mm for a sliding one */
  sweep?: readonly [number, number];
}>;

/** One printed thing as designed. Its id is unique in the workspace: "assembly/part". */
export type PartSpec = Readonly<{
  id: string;
  name: string;
  assemblyId: string;
  /** path of the mesh file, relative to the workspace's root, forward slashes */
  meshFile: string;
  /** of a file that asks for several things to be built: this one, by name or number */
  item?: string;
  /** a file named without a workspace: each thing that it asks to be built is a part */
  eachItem?: true;
  /** the mesh may be mended before planning; absent: no */
  mend?: boolean;
  unit: string;
  unitFrom: 'file' | 'stated' | 'assumed';
  scale: number;
  mirror?: 'x' | 'y' | 'z';
  quantity: number;
  spares: number;
  materialId: string;
  recipeId: string;
  status: 'print' | 'have' | 'elsewhere';
  /** stated mass of a part that is not printed here */
  massG?: number;
  pose: 'auto' | 'asModelled' | 'bestOf';
  split: 'auto' | 'never';
  printerIds?: readonly string[];
  importance: number;
  /** one for each copy in the assembly; empty when the part has no stated place */
  places: readonly Placement[];
  finishing: readonly Readonly<{ what: string; handsOnMin: number; waitMin: number }>[];
  basedOn: readonly Readonly<{ file: string; revision?: string; licence?: string; origin?: string }>[];
  /** unit vector out of the side to keep clean, in mesh coordinates */
  showSide?: Vec3;
  /** the only ways up allowed, each by what points at the plate, unit vectors in mesh coordinates */
  downs?: readonly Vec3[];
  /** it is pulled along this, a unit vector in mesh coordinates */
  load?: Vec3;
  /** its own rule: no support at all, or in these places only, mesh coordinates; else as its recipe says */
  support?: 'none' | readonly Box[];
  /** no light may show through */
  opaque?: boolean;
  /** bought items put in during the print, at a height above the plate */
  putIn?: readonly Readonly<{ itemId: string; atMm: number }>[];
  paint?: readonly PaintCoat[];
  lighten?: LightenRule;
  /** bought items that sit in its bores and pockets or on its bosses, and how tightly */
  fits?: readonly FitWish[];
  note?: string;
  /** parts with the same word lie on one plate where they fit one */
  together?: string;
  /** parts (ids) that are printed only when this one, a test piece, is off the printer */
  proves?: readonly string[];
  /** copies with the same word never share a plate */
  apart?: string;
  /** printer of single copies, by copy number */
  pins?: Readonly<Record<string, string>>;
}>;

/** share: of the whole surface; default what can be seen from outside. */
export type PaintCoat = Readonly<{ what: string; gPerM2: number; coats: number; share?: number }>;

/** What a part may be printed with when it has to become lighter. A list is what is tried besides today's value; absent: a little less of each. */
export type LightenRule = Readonly<{
  /** it stays as it is */
  keep?: true;
  recipeIds?: readonly string[];
  materialIds?: readonly string[];
  perimeters?: readonly number[];
  infillShares?: readonly number[];
  /** floors and roofs alike */
  solidLayers?: readonly number[];
  layersMm?: readonly number[];
  /** walls of this thickness all round, inside only what carries the roofs */
  wallsMm?: readonly number[];
  /** no choice goes below these */
  least?: Readonly<{ perimeters?: number; infillShare?: number; solidLayers?: number; stiffness?: number }>;
}>;

export type FitWord = 'press' | 'snug' | 'sliding' | 'loose' | 'clearance';

/** atMm: near here, in the mesh's coordinates; without it the feature of the nearest size is meant. gapMm: a side, as printed, instead of a word. */
export type FitWish = Readonly<{
  itemId: string;
  fit: FitWord | Readonly<{ gapMm: readonly [number, number] }>;
  on: 'bore' | 'boss';
  atMm?: Vec3;
}>;

/** A height along an axis with what it may differ by, mm. */
export type Height = Readonly<{ what: string; heightMm: number; plusMm: number; minusMm: number }>;

/** Items stacked in a space: what must stay free between them. count: how many of it. */
export type Stack = Readonly<{
  id: string;
  within: Height;
  items: readonly (Height & Readonly<{ count: number; partId?: string }>)[];
  gapMm: readonly [number, number];
  /** how many of this may be put in to reach the gap */
  spacer?: Height;
}>;

export type MountedItem = Readonly<{ itemId: string; quantity: number; places: readonly Vec3[] }>;

/** Grams that are neither printed nor bought by the piece, spread evenly along a line of points (one point: all of it there). */
export type ExtraMass = Readonly<{ what: string; kind: ExtraKind; massG: number; alongMm: readonly Vec3[] }>;
export type ExtraKind = 'wiring' | 'glue' | 'paint' | 'other';

/** What the mass may turn about an axis against a holding force: a servo, a friction hinge, a hand. */
export type MomentLimit = Readonly<{
  name: string;
  atMm: Vec3;
  axis: Vec3;
  mostNmm: number;
  /** the thing turns all the way round: its heaviest position counts, not the one it is drawn in */
  swings: boolean;
}>;

/** What an assembly must keep: only the members that are stated. Everything in the assembly's own axes. */
export type Limits = Readonly<{
  massG?: number;
  /** where the centre of mass may lie */
  centreMm?: Readonly<{ min?: readonly (number | null)[]; max?: readonly (number | null)[] }>;
  /** the centre within a distance of an axis; of a point where no axis is stated */
  centreNear?: Readonly<{ atMm: Vec3; axis?: Vec3; radiusMm: number }>;
  moments?: readonly MomentLimit[];
  /** points it stands on, and how far it may lean before it tips over one of their edges */
  tipping?: Readonly<{ pointsMm: readonly Vec3[]; leastDeg: number }>;
  /** unit vector of gravity; default −z */
  down?: Vec3;
}>;

/** Where a counterweight may go and what it may be made of. */
export type BallastRule = Readonly<{
  /** a point, or a box between two corners */
  places: readonly Readonly<{ name: string; minMm: Vec3; maxMm: Vec3; mostG?: number }>[];
  /** bought items to make it of; without any, plain grams */
  itemIds: readonly string[];
  /** bought items that may be moved as one block, each of its places inside the box */
  movable: readonly Readonly<{ itemId: string; minMm: Vec3; maxMm: Vec3 }>[];
}>;

export type Assembly = Readonly<{
  id: string;
  name: string;
  /** when its parts must be printed and finished; holds for child assemblies too */
  deadline?: string;
  /** multiplies that of its parts and child assemblies */
  importance?: number;
  parts: readonly PartSpec[];
  hardware: readonly MountedItem[];
  children: readonly Readonly<{ assembly: Assembly; place: Placement }>[];
  joints: readonly Joint[];
  limits: Limits;
  stacks?: readonly Stack[];
  extras?: readonly ExtraMass[];
  /** grams of glue on a metre of glued or welded joint, for this assembly and those below that state none */
  glueGPerM?: number;
  ballast?: BallastRule;
}>;
