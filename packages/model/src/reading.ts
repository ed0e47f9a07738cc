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
