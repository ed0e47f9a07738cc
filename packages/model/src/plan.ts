import type { Joint, Limits } from './assembly.ts';
import type { Figure, Search } from './figures.ts';
import type { BeadKind, Box, Placement, Ring, Tensor, Vec2, Vec3 } from './geometry.ts';
import type { PieceRecipes, PlateSaving } from './offers.ts';
import type { Reading } from './reading.ts';
import type { HardwareItem, Material, PresenceKind, Printer, Recipe, Spool } from './shop.ts';

/** RFC 3339 with offset. */
export type Instant = string;

/** Which way up. posed point = rotation · mesh point + offsetMm; the posed box minimum is 0,0,0. rotation: 9 numbers, row-major. */
export type Pose = Readonly<{
  id: string;
  rotation: readonly number[];
  offsetMm: Vec3;
  sizeMm: Vec3;
  heightMm: number;
  supportMm3: number;
  scarMm2: number;
  contactMm2: number;
  overhangMm2: number;
  /** how far it may lean before it tips over, from the contact hull and the centre of mass */
  tipDeg: number;
  /** area of the faces that lie on the plate */
  plateMm2?: number;
  /** of scarMm2, what lies on faces to show, or without any said, on faces seen from outside: by samples, for choosing */
  shownScarMm2?: number;
  /** of contactMm2, what is held up by columns that stand on the part itself; the rest stands on the plate */
  onPartMm2?: number;
  /** places that begin in mid-air */
  islands?: number;
  reason: string;
  /** what it is best at among the listed ones, and what it costs beside the way it was modelled */
  why?: string;
  /** another listed pose that is no worse in anything and better in something */
  beatenBy?: string;
}>;

/** Faces in need of support that hang together, and what holding them up takes. */
export type SupportCause = Readonly<{
  volumeMm3: number;
  /** of what the whole way up needs, 0 to 1 */
  share: number;
  areaMm2: number;
  /** in mesh coordinates */
  boxMm: Box;
  /** size along and across on the plate, and height of its lowest point above the plate */
  sizeMm: Vec2;
  atHeightMm: number;
  /** level like a ceiling, or slanted */
  level: boolean;
}>;

/** What is actually printed: id "part" or "part/b"; copies "part#2", "part/b#2". */
export type Piece = Readonly<{
  id: string;
  partId: string;
  meshHash: string;
  quantity: number;
  materialId: string;
  recipeId: string;
  pose: Pose;
  /** outlines of the posed piece's shadow on the plate, without brim; outer rings and holes */
  footprint: readonly Ring[];
  /** part's mesh coordinates = partFromPiece · piece's mesh coordinates */
  partFromPiece: Placement;
  joints: readonly Joint[];
}>;

export type Amount = Readonly<{ kind: BeadKind; volumeMm3: number; massG: number; durationS: number; pathMm: number }>;

/** One piece × recipe × printer × material. layerS is before slowing to the recipe's least seconds per layer. */
export type Estimate = Readonly<{
  pieceId: string;
  printerId: string;
  recipeId: string;
  materialId: string;
  mode: 'full' | 'quick' | 'rank';
  /** how far quick and rank may be from full, as shares: plastic, length of walls, seconds */
  bound?: Readonly<{ mass: number; wall: number; time: number }>;
  massG: Figure;
  durationS: Figure;
  filamentMm: number;
  byKind: readonly Amount[];
  layerS: readonly number[];
  layerG: readonly number[];
  peakFlowMm3S: number;
  /** of the printed plastic without support and brim, in posed coordinates */
  centreMm: Vec3;
  inertiaGMm2: Tensor;
  /** grams that stay in the part: massG less support, brim and purge */
  partG: number;
  price?: number;
  /** what the record taught: the factors by which the figures differ from the model's own; layerS is not corrected */
  massFactor?: number;
  timeFactor?: number;
}>;

/** posed piece turned by turnDeg counter-clockwise about its own origin, then moved by x, y. */
export type Placed = Readonly<{ copyId: string; xMm: number; yMm: number; turnDeg: number }>;

/** id = hash of printer and placements. */
export type Plate = Readonly<{
  id: string;
  name: string;
  printerId: string;
  materialIds: readonly string[];
  recipeId: string;
  placed: readonly Placed[];
  heightMm: number;
  usedShare: number;
  massG: Figure;
  durationS: Figure;
  /** chance that its run fails, and seconds with hands-on time, warming up and reprints until it has succeeded */
  failChance?: number;
  expectedS?: number;
  /** of several copies: what printing them together saves, as modelled */
  saving?: PlateSaving;
}>;

export type Run = Readonly<{
  id: string;
  plateId: string;
  printerId: string;
  /** the person starts working on it here */
  attendFrom: Instant;
  start: Instant;
  /** the person may leave after this (first minutes watched) */
  watchedUntil: Instant;
  end: Instant;
  unloadFrom: Instant;
  unloadEnd: Instant;
  unattended: boolean;
  /** what the person does while it runs, when that is not only being present */
  alone?: readonly ('asleep' | 'away')[];
  state: 'planned' | 'running' | 'done' | 'failed';
  spools: readonly Readonly<{ spoolId: string; massG: number }>[];
}>;

/** A plate as it went onto the printer, kept in the ledger so that exactly the same can be printed again. */
export type PlateSnapshot = Readonly<{
  plate: Plate;
  recipe: Recipe;
  pieces: readonly Readonly<{
    id: string;
    meshFile: string;
    meshHash: string;
    rotation: readonly number[];
    /** the piece's own mesh, kept beside the ledger; relative to the workspace's root */
    keptFile?: string;
  }>[];
}>;

/** What a plan keeps to of the plan before it. */
export type PlanBasis = Readonly<{
  planFrom: Instant;
  plates: readonly Plate[];
  /** what each piece was then: mesh, pose, material and recipe in one hash */
  pieces: Readonly<Record<string, string>>;
  runs: readonly Readonly<{
    runId: string;
    plateId: string;
    printerId: string;
    start: Instant;
    spoolIds: readonly string[];
  }>[];
}>;

export type FitVerdict = Readonly<{
  partId: string;
  printerId: string;
  verdict: 'asIs' | 'turned' | 'tipped' | 'split' | 'no';
  turnDeg?: number;
  pieces?: number;
  poseId?: string;
  overMm?: Vec3;
  scaleThatFits?: number;
  /** it does not fit, but would without its brim */
  fitsWithoutBrim?: boolean;
  why?: string;
  /** it cannot be printed there whatever its size: material, temperatures, layer height */
  refused?: string;
}>;

export type MassReport = Readonly<{
  assemblyId: string;
  name: string;
  massG: Figure;
  centreMm: Vec3;
  inertiaGMm2: Tensor;
  printedG: number;
  boughtG: number;
  /** paint, glue, wiring and what else is stated, together and by kind */
  extraG?: number;
  byExtraG?: Readonly<Record<string, number>>;
  /** of printedG, what stood on a scale */
  weighedG?: number;
  /** everything with a place, for drawings: in this assembly's axes */
  bodies?: readonly MassBody[];
  /** the limits as they are stated, for drawings */
  stated?: Limits;
  byMaterialG: Readonly<Record<string, number>>;
  byPartG: Readonly<Record<string, number>>;
  children: readonly MassReport[];
  limits: readonly Readonly<{
    limit: string;
    unit: string;
    value: Figure;
    allowed: number;
    margin: number;
    chance?: number;
    /** about the axis of a moment's limit, g·mm² */
    inertiaGMm2?: number;
  }>[];
  /** what has no place or no mass and is therefore not in the centre */
  missing: readonly string[];
}>;

export type MassBody = Readonly<{
  kind: 'printed' | 'bought' | 'extra';
  /** part, bought item or what it is */
  id: string;
  massG: number;
  centreMm: Vec3;
  /** of a printed part: from its mesh's coordinates */
  place?: Placement;
}>;

/** needG: everything that will be drawn, middle value and 90 % level as `high`; shelfG: usable grams on the shelf. */
export type Buy = Readonly<{
  materialId: string;
  needG: Figure;
  shelfG: number;
  /** whole spools to buy */
  spools: number;
  price?: number;
  /** what needG is made of, in expected grams */
  netG?: number;
  supportG?: number;
  purgeG?: number;
  failuresG?: number;
  /** grams on the shelf that no run can use whole */
  strandedG?: number;
  /** begin of the first run that the shelf is not enough for */
  neededAt?: Instant;
  leadDays?: number;
  /** local date; late when it is over already */
  orderBy?: string;
  late?: boolean;
}>;

/** Bought things that are used up: what for, and how much of it as far as it is known. */
export type Consumable = Readonly<{ what: string; uses: readonly string[]; areaMm2?: number; note?: string }>;

/** The whole remaining build on some hours. */
export type BuildForecast = Readonly<{
  printing: 'asStated' | 'likeThisWindow';
  runs: number;
  never: readonly string[];
  finish?: Instant;
  at50?: Instant;
  at80?: Instant;
  at95?: Instant;
  built?: Instant;
  chance?: number;
  windows?: number;
}>;

/** How sure the plan is, and when all of it is done. */
export type Outlook = Readonly<{
  /** that every run of the window ends within it */
  windowChance?: number;
  /** failed runs to expect in the window */
  failures: number;
  /** the run whose failures cost the finish most */
  mattersMost?: Readonly<{ runId: string; failChance: number; delayS: number; costS: number }>;
  forecasts: readonly BuildForecast[];
  whatIf?: readonly Readonly<{ what: string; plates?: number; finish?: Instant; forecast: BuildForecast }>[];
}>;

export type Plan = Readonly<{
  schemaVersion: number;
  madeBy: string;
  name: string;
  planFrom: Instant;
  planTo?: Instant;
  timeZone: string;
  unitsShown: 'metric' | 'US';
  seed: number;
  inputsHash: string;
  printers: readonly Printer[];
  materials: readonly Material[];
  recipes: readonly Recipe[];
  spools: readonly Spool[];
  hardware: readonly Readonly<{
    item: HardwareItem;
    quantity: number;
    /** local date; late when it is over already */
    orderBy?: string;
    late?: boolean;
  }>[];
  parts: readonly PartSummary[];
  readings: readonly Reading[];
  pieces: readonly Piece[];
  estimates: readonly Estimate[];
  plates: readonly Plate[];
  runs: readonly Run[];
  presence: readonly Readonly<{ from: Instant; to: Instant; kind: PresenceKind }>[];
  todo: readonly Todo[];
  searches: readonly Search[];
  fits: readonly FitVerdict[];
  /** for the runs of this window */
  buy: readonly Buy[];
  /** for everything that remains to be printed */
  buyAll: readonly Buy[];
  mass: readonly MassReport[];
  /** by part id, points round its mesh in the mesh's own coordinates, for drawings */
  shapes?: Readonly<Record<string, readonly Vec3[]>>;
  deadline?: Instant;
  finish?: Readonly<{ expected: Instant; at80?: Instant; at95?: Instant }>;
  /** that all that remains, finishing included, is done by the deadline */
  onTimeChance?: number;
  outlook?: Outlook;
  consumables?: readonly Consumable[];
  /** a word or sign for prices, as the workspace says */
  currency?: string;
  waiting: readonly Readonly<{ copyId: string; reason: string }>[];
  /** of the parts that were asked for */
  otherRecipes?: readonly PieceRecipes[];
  /** the plan before, as far as this one kept to it */
  follows?: PlanBasis;
  /** runs of the plan before that are not where they were, and why */
  moved?: readonly Readonly<{
    runId: string;
    plateId: string;
    name: string;
    was: Readonly<{ start: Instant; printerId: string }>;
    now?: Readonly<{ start: Instant; printerId: string }>;
    why: string;
  }>[];
  assumed: readonly string[];
  cautions: readonly string[];
}>;

/** What a table of parts needs to know of one, beside its reading and estimates. */
export type PartSummary = Readonly<{
  id: string;
  name: string;
  assemblyId: string;
  meshFile: string;
  quantity: number;
  materialId: string;
  recipeId: string;
  status: 'print' | 'have' | 'elsewhere';
  pieceIds: readonly string[];
  poses: readonly Pose[];
  /** what is put in during the print, and what follows it */
  putIn?: readonly Readonly<{ itemId: string; atMm: number }>[];
  finishing?: readonly Readonly<{ what: string; handsOnMin: number; waitMin: number }>[];
}>;

/** One thing a person must do, in the order of time. */
export type Todo = Readonly<{
  from: Instant;
  to: Instant;
  latestStart?: Instant;
  what: 'start' | 'unload' | 'change' | 'dry' | 'pause' | 'finish';
  printerId: string;
  runId: string;
  plateId: string;
  says: string;
}>;
