import type { Placement, Vec3 } from './geometry.ts';

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
  /** no light may show through */
  opaque?: boolean;
  /** bought items put in during the print, at a height above the plate */
  putIn?: readonly Readonly<{ itemId: string; atMm: number }>[];
  note?: string;
}>;

export type MountedItem = Readonly<{ itemId: string; quantity: number; places: readonly Vec3[] }>;

/** What an assembly must keep: only the members that are stated. */
export type Limits = Readonly<{
  massG?: number;
  /** where the centre of mass may lie, in the assembly's own axes */
  centreMm?: Readonly<{ min?: readonly (number | null)[]; max?: readonly (number | null)[] }>;
}>;

export type Assembly = Readonly<{
  id: string;
  name: string;
  parts: readonly PartSpec[];
  hardware: readonly MountedItem[];
  children: readonly Readonly<{ assembly: Assembly; place: Placement }>[];
  joints: readonly Joint[];
  limits: Limits;
}>;
