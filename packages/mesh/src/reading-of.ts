import type { Box, Finding, Reading, Tensor, Vec3 } from '@stonehand/model';
import { massProperties } from './mass-properties.ts';
import type { MeshFile } from './mesh-file.ts';
import { meshFindings } from './mesh-findings.ts';
import { meshHash } from './mesh-hash.ts';
import { topology } from './topology.ts';
import { unitToMm } from './unit-to-mm.ts';

export type ReadingOptions = Readonly<{
  /** unit of the mesh's numbers: micron, mm, cm, m, in, ft or a long form */
  unit: string;
  unitFrom: Reading['unitFrom'];
  /**
   * quick (default): holes, facing, bodies, copies, size; full: also self-intersections, overlapping bodies and thin
   * walls, at about three seconds per million triangles
   */
  depth?: 'quick' | 'full';
  /** with depth full: tell of walls thinner than this; none are looked for without it */
  thinMm?: number;
}>;

/**
 * The measured facts of one file in mm. Volume, centre and tensor are given only where the surface defines them; those of a
 * mesh that is wholly inside out are given as if it were turned back, and a finding says so.
 * meshHash is of the mesh as it is in the file, before any scaling by the unit.
 * @param file the name to show
 * @throws StonehandError UNIT_INVALID
 */
export function readingOf(file: string, meshFile: MeshFile, options: ReadingOptions): Reading {
  const { unit, unitFrom, depth = 'quick', thinMm } = options;
  const { mesh, format } = meshFile;
  const f = unitToMm(unit);
  const edges = topology(mesh);
  const mass = massProperties(mesh);
  const asked = { unit, unitFrom, depth, ...(thinMm !== undefined && { thinMm }) };
  const findings = [...meshFindings(mesh, edges, mass, asked), ...meshFile.notes];
  const solid = edges.volumeDefined && mass.centreMm !== undefined && mass.inertiaMm5 !== undefined;
  const sign = mass.volumeMm3 < 0 ? -1 : 1;
  return {
    file,
    format,
    meshHash: meshHash(mesh),
    unit,
    unitFrom,
    triangles: mesh.triangles.length / 3,
    vertices: mesh.positions.length / 3,
    ...(solid && {
      volumeMm3: sign * mass.volumeMm3 * f ** 3,
      centreMm: scaledPoint(mass.centreMm, f),
      inertiaMm5: scaledTensor(mass.inertiaMm5, sign * f ** 5),
    }),
    areaMm2: mass.areaMm2 * f ** 2,
    boxMm: scaledBox(mass.boxMm, f),
    closed: edges.closed,
    volumeDefined: edges.volumeDefined,
    orientationConsistent: edges.orientationConsistent,
    boundaryEdges: edges.boundaryEdges,
    nonManifoldEdges: edges.nonManifoldEdges,
    misorientedEdges: edges.misorientedEdges,
    components: edges.components,
    euler: edges.euler,
    grade: gradeOf(findings),
    findings,
    ...(meshFile.items !== undefined && { items: meshFile.items }),
  };
}

function gradeOf(findings: readonly Finding[]): Reading['grade'] {
  if (findings.some((finding) => finding.severity === 'stop')) return 'untrusted';
  return findings.some((finding) => finding.severity === 'doubt') ? 'doubtful' : 'sound';
}

function scaledPoint(p: Vec3, f: number): Vec3 {
  return [p[0] * f, p[1] * f, p[2] * f];
}

function scaledBox(box: Box, f: number): Box {
  return { min: scaledPoint(box.min, f), max: scaledPoint(box.max, f) };
}

function scaledTensor([xx, yy, zz, xy, yz, zx]: Tensor, f: number): Tensor {
  return [xx * f, yy * f, zz * f, xy * f, yz * f, zx * f];
}
