import { type MeshFile, massProperties, topology } from '@stonehand/mesh';
import { expect } from 'vitest';
import type { ReferenceMesh } from './reference-meshes.ts';

/** Counts exactly as the reference libraries (VTK, CGAL, Open3D, numpy) have them. */
export function expectSameCounts(file: MeshFile, expected: ReferenceMesh): void {
  const t = topology(file.mesh);
  expect({
    triangles: file.mesh.triangles.length / 3,
    unique_vertices: file.mesh.positions.length / 3,
    collapsed_faces: t.collapsedTriangles,
    duplicate_faces: t.duplicateTriangles,
    zero_area_faces: massProperties(file.mesh).flatTriangles - t.collapsedTriangles,
    edges: t.edges,
    boundary_edges: t.boundaryEdges,
    nonmanifold_edges: t.nonManifoldEdges,
    misoriented_edges: t.misorientedEdges,
    unbalanced_edges: t.unbalancedEdges,
    euler: t.euler,
    components_by_vertex: t.components,
    watertight: t.closed,
    orientation_consistent: t.orientationConsistent,
    volume_defined: t.volumeDefined,
  }).toEqual({
    triangles: expected.triangles,
    unique_vertices: expected.unique_vertices,
    collapsed_faces: expected.collapsed_faces,
    duplicate_faces: expected.duplicate_faces,
    zero_area_faces: expected.zero_area_faces,
    edges: expected.edges,
    boundary_edges: expected.boundary_edges,
    nonmanifold_edges: expected.nonmanifold_edges,
    misoriented_edges: expected.misoriented_edges,
    unbalanced_edges: expected.unbalanced_edges,
    euler: expected.euler,
    components_by_vertex: expected.components_by_vertex,
    watertight: expected.watertight,
    orientation_consistent: expected.orientation_consistent,
    volume_defined: expected.volume_defined,
  });
}

/**
 * Volume, area, box, centre and tensor within `share` of the size of the body: of the value for volume and area, of the
 * diagonal for lengths, of the largest entry for the tensor.
 */
export function expectSameFigures(file: MeshFile, expected: ReferenceMesh, share: number): void {
  const mass = massProperties(file.mesh);
  const { min, max } = expected.bbox;
  const diagonal = Math.hypot(max[0]! - min[0]!, max[1]! - min[1]!, max[2]! - min[2]!);
  within(mass.areaMm2, expected.area, share * expected.area, 'area');
  for (let i = 0; i < 3; i++) {
    within(mass.boxMm.min[i]!, min[i]!, share * diagonal, `box min ${i}`);
    within(mass.boxMm.max[i]!, max[i]!, share * diagonal, `box max ${i}`);
  }
  if (expected.volume === null) return;
  within(mass.volumeMm3, expected.volume, share * Math.abs(expected.volume), 'volume');
  const centre = expected.center_of_mass!;
  const tensor = expected.inertia_about_com!;
  for (let i = 0; i < 3; i++) within(mass.centreMm![i]!, centre[i]!, share * diagonal, `centre ${i}`);
  const largest = Math.max(...tensor.flat().map(Math.abs));
  const places = [
    [0, 0],
    [1, 1],
    [2, 2],
    [0, 1],
    [1, 2],
    [2, 0],
  ] as const;
  places.forEach(([row, column], i) => {
    within(mass.inertiaMm5![i]!, tensor[row]![column]!, share * largest, `tensor ${row}${column}`);
  });
}

export function within(value: number, expected: number, tolerance: number, what: string): void {
  expect(Math.abs(value - expected), `${what}: ${value} instead of ${expected}`).toBeLessThanOrEqual(tolerance);
}
