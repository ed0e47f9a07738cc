import type { Fault } from './figures.ts';
import type { Box, Tensor, Vec3 } from './geometry.ts';

/** Something wrong or doubtful about a mesh, with place, consequence and the reading's figures that it spoils. */
export type Finding = Readonly<{
  code: string;
  severity: 'note' | 'doubt' | 'stop';
  count: number;
  atMm?: Vec3;
  says: string;
  remedy?: string;
  spoils: readonly string[];
}>;

/** Area and outline length of one cut at a height. */
export type Section = Readonly<{ zMm: number; areaMm2: number; perimeterMm: number }>;

/** The measured facts of one mesh, in mm. */
export type Reading = Readonly<{
  file: string;
  format: string;
  meshHash: string;
  unit: string;
  unitFrom: 'file' | 'stated' | 'assumed';
  triangles: number;
  vertices: number;
  volumeMm3?: number;
  areaMm2: number;
  boxMm: Box;
  centreMm?: Vec3;
  inertiaMm5?: Tensor;
  closed: boolean;
  volumeDefined: boolean;
  orientationConsistent: boolean;
  boundaryEdges: number;
  nonManifoldEdges: number;
  misorientedEdges: number;
  components: number;
  euler: number;
  grade: 'sound' | 'doubtful' | 'untrusted';
  findings: readonly Finding[];
  sections?: readonly Section[];
  secondReading?: SecondReading;
  /** in a plan: the part whose mesh this is, as it is printed */
  partId?: string;
  /** the item of the file that this is the reading of */
  item?: string;
  /** what the file asks to be built, where that is more than one thing */
  items?: readonly BuildItem[];
  mended?: Mending;
}>;

/**
 * One of several things that a file asks to be built. `item` addresses it; copies that are only moved and turned are counted.
 * `reading` is filled in where each is measured by itself.
 */
export type BuildItem = Readonly<{ item: string; quantity: number; reading?: MeasureRow }>;

/** How a mesh was mended before planning, where the workspace allows it. Sentences are to be shown. */
export type Mending = Readonly<{
  steps: readonly string[];
  /** what could not be mended, or wants a look */
  left: readonly string[];
  /** enclosed by the mended surface */
  volumeMm3?: number;
  /** areas of its slices, what overlaps counted once, times their distance */
  slicesMm3?: number;
}>;

/** `measure --json`: always one row per file, in order. */
export type MeasureRow = Reading | Readonly<{ file: string; error: Fault }>;

/** What an independent library says of the same file, and which of the two to believe. */
export type SecondReading = Readonly<{
  library: string;
  volumeMm3?: number;
  areaMm2?: number;
  boxMm?: Box;
  closed?: boolean;
  differs: readonly string[];
  believe: 'either' | 'first' | 'second' | 'neither';
  why: string;
}>;
