import { StonehandError } from '@stonehand/base';
import type { Mesh, Placement, Vec3 } from '@stonehand/model';
import type { Manifold, ManifoldToplevel } from 'manifold-3d';

/** Two placed solids against each other. */
export type Contact = Readonly<{
  /** of what both fill */
  overlapMm3: number;
  /** middle of the overlap's box */
  overlapAtMm?: Vec3;
  /** least distance; 0 where they overlap; the search length where they are further apart */
  gapMm: number;
}>;

/** The least clearance over a movement, and where it is met. */
export type Sweep = Readonly<{
  leastMm: number;
  /** of the movement, where the clearance is least: degrees or mm */
  leastAt: number;
  /** where they first touch when moving from the start; absent when they never do */
  firstContactAt?: number;
  /** largest overlap met, and where */
  overlapMm3: number;
  overlapAt?: number;
}>;

/** Solids that live outside JavaScript's memory; `free` gives them back. */
export type Solids = Readonly<{
  contact: (a: Mesh, b: Mesh, searchMm?: number) => Contact;
  sweep: (fixed: Mesh, moving: Mesh, movement: Movement) => Sweep;
}>;

export type Movement = Readonly<{
  kind: 'turning' | 'sliding';
  atMm: Vec3;
  axis: Vec3;
  /** degrees or mm */
  from: number;
  to: number;
  steps?: number;
}>;

/** Nothing further apart than this is in question at a joint. */
const SEARCH_MM = 50;
/** A degree of a lever of 100 mm is 1.7 mm: finer than most clearances change; the least is then refined. */
const STEPS = 48;
const REFINEMENTS = 24;

/**
 * Opens the solid kernel (manifold-3d, loaded on first use): exact overlap of closed meshes and their least distance. Single precision inside: about 1e-5 of the
 * size.
 */
export async function loadSolids(): Promise<Solids> {
  const { default: open } = await import('manifold-3d');
  const library = await open();
  library.setup();
  return {
    contact: (a, b, searchMm = SEARCH_MM) => withSolids(library, [a, b], ([p, q]) => contactOf(p!, q!, searchMm)),
    sweep: (fixed, moving, movement) => withSolids(library, [fixed, moving], ([p, q]) => sweepOf(p!, q!, movement)),
  };
}

function withSolids<T>(
  library: ManifoldToplevel,
  meshes: readonly Mesh[],
  work: (solids: readonly Manifold[]) => T,
): T {
  const solids: Manifold[] = [];
  try {
    for (const mesh of meshes) solids.push(solidOf(library, mesh));
    return work(solids);
  } finally {
    for (const solid of solids) solid.delete();
  }
}

function solidOf(library: ManifoldToplevel, { positions, triangles, originMm }: Mesh): Manifold {
  const vertProperties = Float32Array.from(positions, (x, i) => x + originMm[i % 3]!);
  const mesh = new library.Mesh({ numProp: 3, vertProperties, triVerts: Uint32Array.from(triangles) });
  try {
    return new library.Manifold(mesh);
  } catch (cause) {
    throw new StonehandError(
      'MESH_OPEN',
      'a part at this joint is not a closed solid',
      'Mend its mesh first: stonehand measure --repair',
      {
        cause,
      },
    );
  }
}

function contactOf(a: Manifold, b: Manifold, searchMm: number): Contact {
  const common = a.intersect(b);
  try {
    const overlapMm3 = common.volume();
    if (!(overlapMm3 > 0)) return { overlapMm3: 0, gapMm: leastGap(a, b, searchMm) };
    const { min, max } = common.boundingBox();
    return {
      overlapMm3,
      overlapAtMm: [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, (min[2] + max[2]) / 2],
      gapMm: 0,
    };
  } finally {
    common.delete();
  }
}

/** The kernel looks at every pair of triangles within the search length: it grows from a small one, since most gaps asked about are small. */
function leastGap(a: Manifold, b: Manifold, searchMm: number): number {
  for (let reach = Math.min(0.5, searchMm); ; reach = Math.min(4 * reach, searchMm)) {
    const gapMm = a.minGap(b, reach);
    if (gapMm < reach || reach === searchMm) return gapMm;
  }
}

function sweepOf(fixed: Manifold, moving: Manifold, movement: Movement): Sweep {
  const { from, to, steps = STEPS } = movement;
  const at = (value: number): Contact => {
    const moved = moving.transform(columnMajor(placementAt(movement, value)));
    try {
      return contactOf(fixed, moved, SEARCH_MM);
    } finally {
      moved.delete();
    }
  };
  const values = Array.from({ length: steps + 1 }, (_, i) => from + ((to - from) * i) / steps);
  const contacts = values.map(at);
  const overlapping = contacts.findIndex(({ overlapMm3 }) => overlapMm3 > 0);
  const worst = contacts.reduce((best, { overlapMm3 }, i) => (overlapMm3 > contacts[best]!.overlapMm3 ? i : best), 0);
  if (overlapping >= 0) {
    return {
      leastMm: 0,
      leastAt: values[overlapping]!,
      firstContactAt: overlapping === 0 ? from : firstContact(at, values[overlapping - 1]!, values[overlapping]!),
      overlapMm3: contacts[worst]!.overlapMm3,
      overlapAt: values[worst]!,
    };
  }
  const least = contacts.reduce((best, { gapMm }, i) => (gapMm < contacts[best]!.gapMm ? i : best), 0);
  const refined = leastBetween(
    (value) => at(value).gapMm,
    values[Math.max(0, least - 1)]!,
    values[Math.min(steps, least + 1)]!,
  );
  const better = refined.gapMm < contacts[least]!.gapMm;
  return {
    leastMm: better ? refined.gapMm : contacts[least]!.gapMm,
    leastAt: better ? refined.at : values[least]!,
    overlapMm3: 0,
  };
}

/** Between a place that is free and one that overlaps. */
function firstContact(at: (value: number) => Contact, free: number, overlapping: number): number {
  let [low, high] = [free, overlapping];
  for (let i = 0; i < REFINEMENTS; i++) {
    const middle = (low + high) / 2;
    if (at(middle).overlapMm3 > 0) high = middle;
    else low = middle;
  }
  return high;
}

/** Golden section between the neighbours of the least step. */
function leastBetween(gap: (value: number) => number, from: number, to: number): { at: number; gapMm: number } {
  const golden = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [from, to];
  for (let i = 0; i < REFINEMENTS; i++) {
    const [p, q] = [b - golden * (b - a), a + golden * (b - a)];
    if (gap(p) < gap(q)) b = q;
    else a = p;
  }
  const at = (a + b) / 2;
  return { at, gapMm: gap(at) };
}

/** Where the moving part stands: turned about the axis through a point, or slid along it. Rodrigues' formula. */
export function placementAt({ kind, atMm, axis }: Movement, value: number): Placement {
  const length = Math.hypot(...axis);
  const [x, y, z] = [axis[0] / length, axis[1] / length, axis[2] / length];
  if (kind === 'sliding') return [1, 0, 0, value * x, 0, 1, 0, value * y, 0, 0, 1, value * z];
  const angle = (value * Math.PI) / 180;
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const t = 1 - c;
  const r = [
    t * x * x + c,
    t * x * y - s * z,
    t * x * z + s * y,
    t * x * y + s * z,
    t * y * y + c,
    t * y * z - s * x,
    t * x * z - s * y,
    t * y * z + s * x,
    t * z * z + c,
  ];
  const moved = [0, 1, 2].map(
    (i) => atMm[i]! - (r[3 * i]! * atMm[0] + r[3 * i + 1]! * atMm[1] + r[3 * i + 2]! * atMm[2]),
  );
  return [r[0]!, r[1]!, r[2]!, moved[0]!, r[3]!, r[4]!, r[5]!, moved[1]!, r[6]!, r[7]!, r[8]!, moved[2]!];
}

type Mat4 = Parameters<Manifold['transform']>[0];

function columnMajor(m: Placement): Mat4 {
  return [m[0]!, m[4]!, m[8]!, 0, m[1]!, m[5]!, m[9]!, 0, m[2]!, m[6]!, m[10]!, 0, m[3]!, m[7]!, m[11]!, 1] as Mat4;
}
