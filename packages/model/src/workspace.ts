import type { Assembly } from './assembly.ts';
import type { Amount, Placed } from './plan.ts';
import type { HardwareItem, Hours, Material, Printer, Recipe, Spool } from './shop.ts';

export type UnitsShown = 'metric' | 'US';

/** The kind of joint asked for in a cut; absent, it is chosen by what the section allows. */
export type CutJoint = 'flange' | 'dowel' | 'key' | 'butt' | 'none';

/** A chosen pose, cut or plate that a later search must not move. */
export type Accepted = Readonly<{
  poses: Readonly<Record<string, Readonly<{ rotation: readonly number[]; note?: string }>>>;
  /** by part id: cutting planes, unit normal and offset along it, in mesh coordinates; `on` cuts only the piece of that name at that moment */
  cuts: Readonly<
    Record<
      string,
      readonly Readonly<{
        normal: readonly [number, number, number];
        offsetMm: number;
        on?: string;
        joint?: CutJoint;
      }>[]
    >
  >;
  plates: readonly Readonly<{ printerId: string; placed: readonly Placed[] }>[];
}>;

/** One line of ledger.jsonl. `at` is RFC 3339; unknown members of newer versions are kept as they are. */
export type LedgerEntry = Readonly<{
  version: number;
  at: string;
  what: 'started' | 'done' | 'failed' | 'weighed' | 'spoolChanged' | 'forecast' | 'have' | 'broken';
  runId?: string;
  plateId?: string;
  printerId?: string;
  copyIds?: readonly string[];
  /** copies of a failed run that are good all the same */
  savedIds?: readonly string[];
  layer?: number;
  massG?: number;
  /** interval of massG, where a spool was weighed whole */
  lowG?: number;
  highG?: number;
  durationS?: number;
  spoolId?: string;
  /** what a run draws (started) or drew (done, failed) from each spool, purge included */
  spools?: readonly Readonly<{ spoolId: string; massG: number }>[];
  note?: string;
  /** pieces as they were printed, so that exactly the same can be printed again */
  snapshot?: unknown;
  /** what the model said when this was written, for prints that are no part of the workspace */
  expected?: Readonly<{ materialId: string; recipeId: string; durationS: number; byKind: readonly Amount[] }>;
}>;

/** A question of `check` that was answered on purpose. */
export type Settled = Readonly<{ what: string; files: readonly string[]; part?: string; why?: string }>;

/** Everything a workspace says, checked and with defaults filled in. */
export type Workspace = Readonly<{
  root: string;
  name: string;
  timeZone: string;
  unitsShown: UnitsShown;
  seed: number;
  deadline?: string;
  /** put behind prices */
  currency?: string;
  /** where plans are written, relative to the root; default reports */
  reportsFolder?: string;
  /** what plates are made for: the least expected hours with reprints (surest, the default), or the fewest plates */
  platesAim?: 'surest' | 'fewest';
  defaults: Readonly<{ materialId: string; recipeId: string }>;
  printers: readonly Printer[];
  materials: readonly Material[];
  recipes: readonly Recipe[];
  spools: readonly Spool[];
  hardware: readonly HardwareItem[];
  hours: Hours;
  assemblies: readonly Assembly[];
  accepted: Accepted;
  ledger: readonly LedgerEntry[];
  /** absent: none */
  settled?: readonly Settled[];
  /** what was assumed because nothing said otherwise, for the first lines of a report */
  assumed: readonly string[];
}>;
