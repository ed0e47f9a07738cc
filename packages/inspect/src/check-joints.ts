import { seededRandom } from '@stonehand/base';
import type { Finding, Joint, Mesh, Vec3 } from '@stonehand/model';
import { type Bore, findBores } from './find-bores.ts';
import { surfaceArea } from './surface-moments.ts';
import { surfaceSamples } from './surface-samples.ts';
import { buildTree, isInside, type Nearest, nearestPoint, type TriangleTree } from './triangle-tree.ts';

export type JointCheck = Readonly<{
  jointId: string;
  between: readonly string[];
  /** a pair of bore and boss on the joint's axis, when one part holds one and the other the other */
  fit?: Readonly<{
    bore: Bore;
    boss: Bore;
    bored: string;
    /** half the difference of the diameters as drawn, corner to corner */
    gapPerSideMm: number;
    /** half the difference of what really meets: the bore's flats and the boss's corners; what prints is smaller still */
    freeGapPerSideMm: number;
    /** how far the two axes lie apart */
    offAxisMm: number;
  }>;
  /** least distance between the two parts near the joint; 0 where they touch or overlap */
  distanceMm: number;
  /** deepest place found of one part inside the other, near the joint */
  overlapMm: number;
  overlapAtMm?: Vec3;
  /** a place thinner than this may have been missed */
  blindMm: number;
  findings: readonly Finding[];
}>;

export type JointOptions = Readonly<{
  samples?: number;
  seed?: number /** how much of the joint's surroundings is looked at */;
  reachMm?: number /** a gap may differ by this from the stated one */;
  gapToleranceMm?: number;
}>;

/** Kinds that are meant to press or to be joined: a small overlap is no fault of them. */
const TIGHT: ReadonlySet<Joint['kind']> = new Set(['pushFit', 'weld', 'butt']);
const TOUCH_MM = 0.02; // below the noise of printed numbers; overlap up to this is touching

/**
 * Whether declared joints go together as modelled: meshes in the assembly's axes, by the names in joint.between. Near each joint the surfaces
 * are sampled for distance and overlap (depth = distance to the other's surface from inside it), and a bore and a boss on its axis
 * are measured. Sampling can miss what is narrower than blindMm. Parts without a mesh give a note, not an error.
 */
export function checkJoints(
  joints: readonly Joint[],
  meshes: ReadonlyMap<string, Mesh>,
  options: JointOptions = {},
): JointCheck[] {
  const known = new Map<string, Part>();
  const part = (name: string): Part | undefined => {
    const mesh = meshes.get(name);
    if (mesh === undefined) return undefined;
    let made = known.get(name);
    if (made === undefined) {
      made = { name, mesh, tree: buildTree(mesh), bores: findBores(mesh) };
      known.set(name, made);
    }
    return made;
  };
  return joints.map((joint) => checkJoint(joint, part(joint.between[0] ?? ''), part(joint.between[1] ?? ''), options));
}

type Part = Readonly<{ name: string; mesh: Mesh; tree: TriangleTree; bores: readonly Bore[] }>;

function checkJoint(
  joint: Joint,
  a: Part | undefined,
  b: Part | undefined,
  { samples = 4000, seed = 1, reachMm, gapToleranceMm = 0.05 }: JointOptions,
): JointCheck {
  const base = { jointId: joint.id, between: joint.between };
  if (a === undefined || b === undefined) {
    const missing = joint.between.filter((_, i) => (i === 0 ? a : b) === undefined).join(' and ') || 'its parts';
    return {
      ...base,
      distanceMm: 0,
      overlapMm: 0,
      blindMm: 0,
      findings: [finding('JOINT_UNPLACED', 'note', joint, `${missing} has no mesh or no place here: not checked`)],
    };
  }
  const reach = reachMm ?? Math.max(10, joint.diameterMm ?? 0, joint.lengthMm ?? 0);
  const near = meeting(joint, a, b, reach, samples, seed);
  const fit = fitOf(joint, a, b);
  return { ...base, ...(fit === undefined ? {} : { fit }), ...near, findings: judge(joint, near, fit, gapToleranceMm) };
}

type Meeting = Pick<JointCheck, 'distanceMm' | 'overlapMm' | 'overlapAtMm' | 'blindMm'>;

function meeting(joint: Joint, a: Part, b: Part, reach: number, samples: number, seed: number): Meeting {
  const sides = [sideOf(joint, a, b, reach, samples, seed), sideOf(joint, b, a, reach, samples, seed)];
  const deepest = sides[0].overlapMm >= sides[1].overlapMm ? sides[0] : sides[1];
  return {
    distanceMm: deepest.overlapMm > 0 ? 0 : Math.min(sides[0].distanceMm, sides[1].distanceMm),
    overlapMm: deepest.overlapMm,
    ...(deepest.overlapAtMm === undefined ? {} : { overlapAtMm: deepest.overlapAtMm }),
    blindMm: Math.max(sides[0].blindMm, sides[1].blindMm),
  };
}

/** Samples and corners of one part within reach of the joint, against the other part. */
function sideOf({ atMm }: Joint, one: Part, other: Part, reach: number, samples: number, seed: number): Meeting {
  const o = one.mesh.originMm;
  const local = nearbyTriangles(one.mesh, [atMm[0] - o[0], atMm[1] - o[1], atMm[2] - o[2]], reach);
  if (local.triangles.length === 0)
    return { distanceMm: distanceFrom(one, other, samples, seed), overlapMm: 0, blindMm: 0 };
  const even = surfaceSamples(local, samples, seededRandom(seed));
  const points = [even, cornersOf(local)];
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  const shift = [0, 1, 2].map((k) => o[k] - other.mesh.originMm[k]);
  let distance = Number.POSITIVE_INFINITY;
  let overlap = 0;
  let at: Vec3 | undefined;
  for (const list of points) {
    for (let i = 0; i < list.length; i += 3) {
      const q: Vec3 = [list[i] + shift[0], list[i + 1] + shift[1], list[i + 2] + shift[2]];
      const d = Math.sqrt(nearestPoint(other.tree, q[0], q[1], q[2], hit).distance2);
      distance = Math.min(distance, d);
      // Only what could be deeper than the deepest yet is worth the rays.
      if (d <= Math.max(overlap, TOUCH_MM) || !isInside(other.tree, q)) continue;
      overlap = d;
      at = [list[i] + o[0], list[i + 1] + o[1], list[i + 2] + o[2]];
    }
  }
  const areaMm2 = surfaceArea(local);
  return {
    distanceMm: distance,
    overlapMm: overlap,
    ...(at === undefined ? {} : { overlapAtMm: at }),
    blindMm: 2 * Math.sqrt(areaMm2 / samples),
  };
}

/** For a part that has nothing near the joint: how far it is from the other at all. */
function distanceFrom(one: Part, other: Part, samples: number, seed: number): number {
  const points = surfaceSamples(one.mesh, samples, seededRandom(seed));
  const hit: Nearest = { distance2: 0, x: 0, y: 0, z: 0, triangle: -1 };
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < points.length; i += 3) {
    const [x, y, z] = [0, 1, 2].map((k) => points[i + k] + one.mesh.originMm[k] - other.mesh.originMm[k]);
    least = Math.min(least, nearestPoint(other.tree, x, y, z, hit).distance2);
  }
  return Math.sqrt(least);
}

/** The part of the mesh whose triangles come within reach of a point. */
function nearbyTriangles(mesh: Mesh, at: Vec3, reach: number): Mesh {
  const { positions: p, triangles: t } = mesh;
  const kept: number[] = [];
  for (let k = 0; k < t.length; k += 3) {
    let gap2 = 0;
    for (let i = 0; i < 3; i++) {
      const [x, y, z] = [p[3 * t[k] + i], p[3 * t[k + 1] + i], p[3 * t[k + 2] + i]];
      const d = Math.max(Math.min(x, y, z) - at[i], at[i] - Math.max(x, y, z), 0);
      gap2 += d * d;
    }
    if (gap2 <= reach * reach) kept.push(t[k], t[k + 1], t[k + 2]);
  }
  return { ...mesh, triangles: Uint32Array.from(kept) };
}

function cornersOf({ positions: p, triangles }: Mesh): Float64Array {
  const used = [...new Set(triangles)].slice(0, 20_000);
  const out = new Float64Array(3 * used.length);
  used.forEach((v, i) => {
    for (let k = 0; k < 3; k++) out[3 * i + k] = p[3 * v + k];
  });
  return out;
}

const COAXIAL = Math.cos((2 * Math.PI) / 180);

/** The bore of one part and the boss of the other that lie on the joint's axis and suit each other best. */
function fitOf(joint: Joint, a: Part, b: Part): JointCheck['fit'] {
  let best: JointCheck['fit'];
  for (const [holder, inner] of [
    [a, b],
    [b, a],
  ] as const) {
    for (const bore of holder.bores) {
      if (bore.kind !== 'bore' || !onAxis(joint, bore)) continue;
      for (const boss of inner.bores) {
        if (boss.kind !== 'boss' || !onAxis(joint, boss) || !overlapAlong(joint, bore, boss)) continue;
        const gapPerSideMm = (bore.cornersMm - boss.cornersMm) / 2;
        if (Math.abs(gapPerSideMm) > 0.25 * bore.cornersMm) continue; // too unlike to be meant for each other
        if (best !== undefined && Math.abs(gapPerSideMm) >= Math.abs(best.gapPerSideMm)) continue;
        best = {
          bore,
          boss,
          bored: holder.name,
          gapPerSideMm,
          freeGapPerSideMm: (bore.flatsMm - boss.cornersMm) / 2,
          offAxisMm: offAxis(joint.axis, bore.atMm, boss.atMm),
        };
      }
    }
  }
  return best;
}

function onAxis(joint: Joint, bore: Bore): boolean {
  const [x, y, z] = joint.axis;
  const length = Math.hypot(x, y, z);
  if (!(length > 0)) return false;
  const cos = Math.abs(x * bore.axis[0] + y * bore.axis[1] + z * bore.axis[2]) / length;
  return cos >= COAXIAL && offAxis(joint.axis, joint.atMm, bore.atMm) <= Math.max(0.5, 0.1 * bore.cornersMm);
}

/** Distance between two points square to an axis. */
function offAxis([x, y, z]: Vec3, p: Vec3, q: Vec3): number {
  const length = Math.hypot(x, y, z);
  const d = [q[0] - p[0], q[1] - p[1], q[2] - p[2]];
  const along = (d[0] * x + d[1] * y + d[2] * z) / length;
  return Math.sqrt(Math.max(0, d[0] * d[0] + d[1] * d[1] + d[2] * d[2] - along * along));
}

function overlapAlong({ axis }: Joint, bore: Bore, boss: Bore): boolean {
  const length = Math.hypot(axis[0], axis[1], axis[2]);
  const along =
    Math.abs(
      axis[0] * (bore.atMm[0] - boss.atMm[0]) +
        axis[1] * (bore.atMm[1] - boss.atMm[1]) +
        axis[2] * (bore.atMm[2] - boss.atMm[2]),
    ) / length;
  return along < (bore.depthMm + boss.depthMm) / 2;
}

function judge(joint: Joint, near: Meeting, fit: JointCheck['fit'], gapToleranceMm: number): Finding[] {
  const out: Finding[] = [];
  const mm = (v: number): string => `${v.toFixed(2)} mm`;
  const wanted = joint.gapPerSideMm;
  if (near.overlapMm > TOUCH_MM && !(TIGHT.has(joint.kind) && near.overlapMm <= 0.3)) {
    out.push(
      finding(
        'JOINT_OVERLAP',
        'stop',
        joint,
        `${joint.between.join(' and ')} run into each other by ${mm(near.overlapMm)} at this joint`,
        near.overlapAtMm,
      ),
    );
  }
  if (fit !== undefined && wanted !== undefined && Math.abs(fit.gapPerSideMm - wanted) > gapToleranceMm) {
    out.push(
      finding(
        'JOINT_GAP',
        'doubt',
        joint,
        `the gap is ${mm(fit.gapPerSideMm)} a side as drawn, ${mm(wanted)} is stated`,
      ),
    );
  }
  if (fit === undefined && near.overlapMm === 0 && near.distanceMm > (wanted ?? 0) + Math.max(0.5, gapToleranceMm)) {
    out.push(
      finding(
        'JOINT_APART',
        'doubt',
        joint,
        `${joint.between.join(' and ')} are ${mm(near.distanceMm)} apart where they should meet`,
      ),
    );
  }
  if ((joint.kind === 'turning' || joint.kind === 'sliding') && fit !== undefined && fit.freeGapPerSideMm < 0.05) {
    out.push(
      finding(
        'JOINT_BINDS',
        'doubt',
        joint,
        `only ${mm(fit.freeGapPerSideMm)} a side is free between flats and corners: it will bind, holes print small`,
      ),
    );
  }
  return out;
}

function finding(
  code: string,
  severity: Finding['severity'],
  joint: Joint,
  says: string,
  atMm: Vec3 = joint.atMm,
): Finding {
  return { code, severity, count: 1, atMm, says: `joint ${joint.id}: ${says}`, spoils: [] };
}
