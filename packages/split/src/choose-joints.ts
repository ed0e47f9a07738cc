import type { Joint, Mesh, Vec2, Vec3 } from '@stonehand/model';
import { type Circle, distanceToEdges, type Face, faceIn, inscribedCircles } from './contact-region.ts';
import type { CutPiece } from './cut-mesh.ts';
import { type Plane, planeFrame, unit } from './plane.ts';
import { sectionOf } from './section.ts';

export type JointOptions = Readonly<{
  /** pieces are named `${partId}/a` in the joints; bare a, b … without */
  partId?: string;
  /** designed gap for glue or slide, a side */
  gapPerSideMm?: number;
  /** propose dowels where the section is thick enough; only for callers that also cut them with boreDowels */
  dowels?: boolean;
}>;

// Common practice, no source: glue gap 0.1 mm a side; a bore keeps 3/4 of the pin's diameter of material around it and is
// 2.5 diameters deep; metric pins.
const GLUE_GAP_MM = 0.1;
const PINS_MM = [8, 6, 5, 4, 3];
export const WALL_DIAMETERS = 0.75;
export const DEPTH_DIAMETERS = 2.5;

/**
 * The joint of every pair of pieces that touch in a cut: 'butt' (plain faces with a gap for glue) at the thickest place of
 * the contact, or two dowels where asked for and where the material is thick and deep enough on both sides. Nothing is
 * claimed that is not there: dowels exist only after boreDowels.
 * @returns axis along the plane's normal; a dowel's diameterMm is the pin's, lengthMm the pin's whole length
 */
export function chooseJoints(
  pieces: readonly CutPiece[],
  planes: readonly Plane[],
  { partId, gapPerSideMm = GLUE_GAP_MM, dowels = false }: JointOptions = {},
): Joint[] {
  const joints: Joint[] = [];
  const nameOf = (piece: CutPiece): string => (partId === undefined ? piece.id : `${partId}/${piece.id}`);
  for (const stated of planes) {
    const plane: Plane = { normal: unit(stated.normal), offsetMm: stated.offsetMm };
    const below = facesOf(pieces, plane, 1);
    const above = facesOf(pieces, plane, -1);
    for (const lower of below) {
      for (const upper of above) {
        const circles = inscribedCircles(lower.face, upper.face);
        if (circles.length === 0) continue;
        const between = [nameOf(lower.piece), nameOf(upper.piece)];
        const pins = dowels ? pinsFor(circles, lower.piece.mesh, upper.piece.mesh, plane) : [];
        const common = { between, axis: plane.normal, gapPerSideMm };
        const base = `${lower.piece.id}-${upper.piece.id}`;
        if (joints.some((joint) => joint.between[0] === between[0] && joint.between[1] === between[1])) continue;
        if (pins.length === 0) joints.push({ id: base, kind: 'butt', atMm: pointOf(plane, circles[0].at), ...common });
        pins.forEach(({ at, diameterMm }, i) => {
          joints.push({
            id: `${base}-${i + 1}`,
            kind: 'dowel',
            atMm: pointOf(plane, at),
            ...common,
            diameterMm,
            lengthMm: 2 * DEPTH_DIAMETERS * diameterMm,
          });
        });
      }
    }
  }
  return joints;
}

function facesOf(
  pieces: readonly CutPiece[],
  plane: Plane,
  side: 1 | -1,
): readonly Readonly<{ piece: CutPiece; face: Face }>[] {
  return pieces
    .map((piece) => ({ piece, face: faceIn(piece.mesh, plane, side) }))
    .filter(({ face }) => face.triangles.length > 0);
}

type Pin = Readonly<{ at: Vec2; diameterMm: number }>;

/** The thickest two pins that find their places, as far apart as they can be; a single one locks no turn, so it comes second. */
function pinsFor(circles: readonly Circle[], below: Mesh, above: Mesh, plane: Plane): readonly Pin[] {
  let single: readonly Pin[] = [];
  for (const diameterMm of PINS_MM) {
    const need = diameterMm * (0.5 + WALL_DIAMETERS);
    const roomy = circles.filter((circle) => circle.radiusMm >= need);
    const deep = (circle: Circle): boolean => isDeep(circle.at, need, diameterMm, below, above, plane);
    const first = farthestFirst(roomy, meanOf(roomy)).slice(0, MOST_TRIED).find(deep);
    if (first === undefined) continue;
    const second = farthestFirst(roomy, first.at)
      .filter((circle) => distance(circle.at, first.at) >= LEAST_APART_DIAMETERS * diameterMm)
      .slice(0, MOST_TRIED)
      .find(deep);
    if (second !== undefined) return [first, second].map(({ at }) => ({ at, diameterMm }));
    if (single.length === 0) single = [{ at: first.at, diameterMm }];
  }
  return single;
}
const MOST_TRIED = 100;
const LEAST_APART_DIAMETERS = 3;

function farthestFirst(circles: readonly Circle[], from: Vec2): Circle[] {
  return [...circles].sort(
    (a, b) =>
      distance(b.at, from) - distance(a.at, from) || b.radiusMm - a.radiusMm || a.at[0] - b.at[0] || a.at[1] - b.at[1],
  );
}

function meanOf(circles: readonly Circle[]): Vec2 {
  let x = 0;
  let y = 0;
  for (const { at } of circles) {
    x += at[0] / circles.length;
    y += at[1] / circles.length;
  }
  return [x, y];
}

const distance = (a: Vec2, b: Vec2): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** The bore keeps its wall at its bottom and half way, on both sides of the cut. */
function isDeep(at: Vec2, needMm: number, diameterMm: number, below: Mesh, above: Mesh, plane: Plane): boolean {
  const depthMm = DEPTH_DIAMETERS * diameterMm;
  return [depthMm + WALL_DIAMETERS * diameterMm, depthMm / 2].every(
    (d) =>
      hasRoom(below, { ...plane, offsetMm: plane.offsetMm - d }) &&
      hasRoom(above, { ...plane, offsetMm: plane.offsetMm + d }),
  );

  function hasRoom(mesh: Mesh, level: Plane): boolean {
    const section = sectionOf(mesh, level);
    if (section === undefined) return false;
    let winding = 0;
    const edges: number[] = [];
    for (const ring of section.rings) {
      ring.forEach(([bx, by], i) => {
        const [ax, ay] = ring[(i + ring.length - 1) % ring.length];
        edges.push(ax, ay, bx, by);
        const left = (bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax);
        if (ay <= at[1] && by > at[1] && left > 0) winding++;
        if (ay > at[1] && by <= at[1] && left < 0) winding--;
      });
    }
    return winding > 0 && distanceToEdges(edges, at) >= needMm;
  }
}

function pointOf(plane: Plane, at: Vec2): Vec3 {
  const [u, v] = planeFrame(plane.normal);
  const n = plane.normal;
  const along = (d: 0 | 1 | 2): number => at[0] * u[d] + at[1] * v[d] + plane.offsetMm * n[d];
  return [along(0), along(1), along(2)];
}
