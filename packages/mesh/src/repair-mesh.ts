import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { bodiesOf } from './bodies.ts';
import { closeHoles } from './close-holes.ts';
import { dropCollapsed, dropCopies } from './drop-triangles.ts';
import { many } from './finding-places.ts';
import { massProperties } from './mass-properties.ts';
import { nestingOf, swallowedBodies } from './nesting.ts';
import { selfIntersections } from './self-intersections.ts';
import { type Topology, topology } from './topology.ts';
import { turnBodies, unifyFacing } from './unify-facing.ts';
import { uniteBodies } from './unite-bodies.ts';
import { weldCracks } from './weld-cracks.ts';

export type RepairStep = Readonly<{
  what: 'weld' | 'dropCollapsed' | 'dropCopies' | 'unifyFacing' | 'closeHoles' | 'turnBodies' | 'unite';
  /** vertices merged, triangles dropped or turned, holes closed, bodies turned or united */
  count: number;
  /** one sentence, to be shown */
  says: string;
}>;

export type RepairCounts = Readonly<{
  triangles: number;
  boundaryEdges: number;
  nonManifoldEdges: number;
  misorientedEdges: number;
  collapsedTriangles: number;
  duplicateTriangles: number;
  components: number;
  closed: boolean;
  /** in the cube of the mesh's unit; absent where the surface does not define one */
  volume?: number;
}>;

export type Repair = Readonly<{
  /** the very mesh that was given when nothing was to be done */
  mesh: Mesh;
  steps: readonly RepairStep[];
  before: RepairCounts;
  after: RepairCounts;
  /** what could not be mended, or wants a look; sentences to be shown */
  left: readonly string[];
  /** where bodies were united: the mesh just before, to compare volumes with */
  apart?: Mesh;
}>;

export type RepairOptions = Readonly<{
  /** never (default), or make overlapping bodies one; needs the package manifold-3d */
  unite?: 'never' | 'overlapping';
  /** unit of the mesh's numbers, for the sentences */
  unit?: string;
}>;

/**
 * Mends what can be mended without a person: cracks, collapsed and doubled triangles, facing, holes, bodies inside out, and on
 * request overlapping bodies. A step that would leave more faults than before is not taken; a sound mesh comes back
 * as it is, the same object. Vertices are not moved except onto each other within a crack.
 */
export async function repairMesh(mesh: Mesh, { unite = 'never', unit }: RepairOptions = {}): Promise<Repair> {
  const steps: RepairStep[] = [];
  const left: string[] = [];
  const before = topology(mesh);
  let current = mesh;
  let state = before;
  const take = (next: Mesh, step: RepairStep): boolean => {
    if (next === current) return false;
    const faults = topology(next);
    if (isWorse(faults, state)) return false;
    current = next;
    state = faults;
    steps.push(step);
    return true;
  };
  mendTriangles(mesh, (next) => next(current), take);
  const holes = closeHoles(current);
  const filled = take(holes.mesh, {
    what: 'closeHoles',
    count: holes.closed,
    says: `${many(holes.closed, 'hole', 'holes')} closed with ${many(holes.added, 'triangle', 'triangles')}.`,
  });
  if (filled && holes.largestShare > LARGE_SHARE) {
    left.push(
      `The largest filling is ${Math.round(100 * holes.largestShare)} % of the surface: look whether a face was missing or the model is a sheet.`,
    );
  }
  const turned = turnBodies(current);
  take(turned.mesh, {
    what: 'turnBodies',
    count: turned.turned,
    says: `${many(turned.turned, 'body', 'bodies')} turned round to face outwards.`,
  });
  const apart = current;
  if (unite === 'overlapping') await uniteOverlapping(current, take, left, unit === undefined ? '' : ` ${unit}³`);
  const united = current !== apart;
  current = withoutUnused(current, mesh);
  return {
    mesh: current,
    steps,
    before: countsOf(before, mesh),
    after: countsOf(state, current),
    left: [...left, ...faultsLeft(state)],
    ...(united && { apart }),
  };
}

type Take = (next: Mesh, step: RepairStep) => boolean;

function mendTriangles(mesh: Mesh, on: <T>(step: (current: Mesh) => T) => T, take: Take): void {
  const cracks = on(weldCracks);
  take(cracks.mesh, {
    what: 'weld',
    count: cracks.merged,
    says: `${many(cracks.merged, 'vertex', 'vertices')} along cracks merged with the nearest other, at most ${cracks.tolerance.toPrecision(2)} away.`,
  });
  const flat = on(dropCollapsed);
  take(flat.mesh, {
    what: 'dropCollapsed',
    count: flat.dropped,
    says: `${many(flat.dropped, 'triangle', 'triangles')} with two corners at one point dropped.`,
  });
  const copies = on(dropCopies);
  take(copies.mesh, {
    what: 'dropCopies',
    count: copies.dropped,
    says: `${many(copies.dropped, 'triangle', 'triangles')} dropped that stood twice or walled off the inside of a body.`,
  });
  const facing = on(unifyFacing);
  take(facing.mesh, {
    what: 'unifyFacing',
    count: facing.turned,
    says: `${facing.turned} of ${many(mesh.triangles.length / 3, 'triangle', 'triangles')} turned to face as their neighbours do.`,
  });
}

const LARGE_SHARE = 0.1;

/** More edges that are not shared by two triangles facing alike, or more triangles that count for nothing. */
function isWorse(next: Topology, than: Topology): boolean {
  return faultsOf(next) > faultsOf(than) || next.unbalancedEdges > than.unbalancedEdges;
}

function faultsOf(t: Topology): number {
  return t.boundaryEdges + t.nonManifoldEdges + t.misorientedEdges + t.duplicateTriangles;
}

async function uniteOverlapping(mesh: Mesh, take: Take, left: string[], cubed: string): Promise<void> {
  const edges = topology(mesh);
  if (edges.components < 2 || !overlaps(mesh, edges)) return;
  try {
    const united = await uniteBodies(mesh);
    take(united.mesh, {
      what: 'unite',
      count: united.from,
      says: `${united.from} bodies were united into ${united.to}: the volume is ${united.volume.toPrecision(6)}${cubed}; by columns ${united.columnsAfter.toPrecision(6)}${cubed}, before it ${united.columnsBefore.toPrecision(6)}${cubed} with overlaps counted once.`,
    });
  } catch (error) {
    if (!(error instanceof StonehandError)) throw error;
    left.push(`Overlapping bodies were not united: ${error.message}.`);
  }
}

function overlaps(mesh: Mesh, edges: Topology): boolean {
  const bodies = bodiesOf(mesh, edges.twins);
  if (swallowedBodies(bodies, nestingOf(mesh, bodies)).length > 0) return true;
  let found = false;
  selfIntersections(mesh, {
    onPair: (s, t, crosses) => {
      if (crosses && bodies.bodyOf[s] !== bodies.bodyOf[t]) found = true;
    },
  });
  return found;
}

function withoutUnused(current: Mesh, given: Mesh): Mesh {
  if (current === given) return given;
  const { positions, triangles } = current;
  const place = new Int32Array(positions.length / 3).fill(-1);
  for (const v of triangles) place[v] = 0;
  let count = 0;
  for (let v = 0; v < place.length; v++) if (place[v] === 0) place[v] = count++;
  if (count === place.length) return current;
  const kept = positions instanceof Float32Array ? new Float32Array(3 * count) : new Float64Array(3 * count);
  for (let v = 0; v < place.length; v++) {
    if (place[v] >= 0) kept.set(positions.subarray(3 * v, 3 * v + 3), 3 * place[v]);
  }
  return { ...current, positions: kept, triangles: triangles.map((v) => place[v]) };
}

function countsOf(t: Topology, mesh: Mesh): RepairCounts {
  return {
    triangles: mesh.triangles.length / 3,
    boundaryEdges: t.boundaryEdges,
    nonManifoldEdges: t.nonManifoldEdges,
    misorientedEdges: t.misorientedEdges,
    collapsedTriangles: t.collapsedTriangles,
    duplicateTriangles: t.duplicateTriangles,
    components: t.components,
    closed: t.closed,
    ...(t.volumeDefined && { volume: massProperties(mesh).volumeMm3 }),
  };
}

function faultsLeft(t: Topology): string[] {
  const left: string[] = [];
  if (t.boundaryEdges > 0)
    left.push(`${many(t.boundaryEdges, 'edge still has', 'edges still have')} a triangle on one side only.`);
  if (t.misorientedEdges > 0)
    left.push(`At ${many(t.misorientedEdges, 'edge', 'edges')} neighbours still face opposite ways.`);
  if (t.nonManifoldEdges > 0)
    left.push(`${many(t.nonManifoldEdges, 'edge is', 'edges are')} shared by three or more triangles.`);
  return left;
}
