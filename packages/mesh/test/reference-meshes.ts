import { existsSync, readFileSync } from 'node:fs';
import { type ByteSource, bytesSource } from '@stonehand/mesh';

/** Open meshes measured by libraries that nobody here wrote; see reference.json for the versions. Never committed. */
export const REFERENCE_FOLDER: URL = new URL('../../../../shared/data/meshes/', import.meta.url);
export const REFERENCE_ABSENT: boolean = !existsSync(new URL('reference.json', REFERENCE_FOLDER));

export interface ReferenceMesh {
  readonly reader?: { readonly format: string; readonly unit?: string };
  readonly triangles: number;
  readonly unique_vertices: number;
  readonly collapsed_faces: number;
  readonly duplicate_faces: number;
  readonly zero_area_faces: number;
  readonly edges: number;
  readonly boundary_edges: number;
  readonly nonmanifold_edges: number;
  readonly misoriented_edges: number;
  readonly unbalanced_edges: number;
  readonly nonmanifold_vertices: number;
  readonly self_intersecting_pairs: number;
  readonly euler: number;
  readonly components_by_vertex: number;
  readonly watertight: boolean;
  readonly orientation_consistent: boolean;
  readonly volume_defined: boolean;
  readonly volume: number | null;
  readonly signed_volume_about_origin: number;
  readonly area: number;
  readonly bbox: { readonly min: readonly number[]; readonly max: readonly number[] };
  readonly center_of_mass?: readonly number[];
  readonly inertia_about_com?: readonly (readonly number[])[];
}

export function referenceMeshes(): ReadonlyMap<string, ReferenceMesh> {
  if (REFERENCE_ABSENT) return new Map();
  const text = readFileSync(new URL('reference.json', REFERENCE_FOLDER), 'utf8');
  const meshes = (JSON.parse(text) as { meshes: Record<string, ReferenceMesh> }).meshes;
  // Files that no reference reader could read carry no counts.
  return new Map(Object.entries(meshes).filter(([, mesh]) => mesh.triangles !== undefined));
}

export function referenceSource(file: string): ByteSource {
  return bytesSource(file, readFileSync(new URL(file, REFERENCE_FOLDER)));
}
