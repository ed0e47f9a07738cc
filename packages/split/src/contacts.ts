import { halfEdgeTwins } from '@stonehand/mesh';
import type { Mesh, Vec2, Vec3 } from '@stonehand/model';
import { type Circle, type Face, faceIn, inscribedCircles } from './contact-region.ts';
import type { CutPiece } from './cut-mesh.ts';
import { type Plane, planeFrame, signedDistances, unit } from './plane.ts';

/** Two pieces that touch in a cut: lower on the side against the normal. */
export type Contact = Readonly<{
  plane: Plane;
  lower: CutPiece;
  upper: CutPiece;
  lowerFace: Face;
  upperFace: Face;
  /** circles inside both faces, largest first */
  circles: readonly Circle[];
  areaMm2: number;
  /** of the lower piece's face */
  lineMm: number;
}>;

/** Every pair of pieces that touch in one of the planes. */
export function contactsOf(pieces: readonly CutPiece[], planes: readonly Plane[]): Contact[] {
  const contacts: Contact[] = [];
  for (const stated of planes) {
    const plane: Plane = { normal: unit(stated.normal), offsetMm: stated.offsetMm };
    const faced = pieces.map((piece) => ({
      piece,
      below: faceIn(piece.mesh, plane, 1),
      above: faceIn(piece.mesh, plane, -1),
    }));
    for (const { piece: lower, below } of faced) {
      if (below.triangles.length === 0) continue;
      for (const { piece: upper, above } of faced) {
        if (above.triangles.length === 0 || upper === lower) continue;
        if (contacts.some((c) => c.lower === lower && c.upper === upper)) continue;
        const circles = inscribedCircles(below, above);
        if (circles.length === 0) continue;
        const areaMm2 = Math.min(areaOf(below), areaOf(above));
        contacts.push({
          plane,
          lower,
          upper,
          lowerFace: below,
          upperFace: above,
          circles,
          areaMm2,
          lineMm: lineOf(below),
        });
      }
    }
  }
  return contacts;
}

/** In which planes a piece ends, and on which side of each it lies. */
export function sidesOf(
  piece: CutPiece,
  planes: readonly Plane[],
): readonly Readonly<{ plane: Plane; side: 1 | -1 }>[] {
  return planes.flatMap((stated) => {
    const plane: Plane = { normal: unit(stated.normal), offsetMm: stated.offsetMm };
    const distances = signedDistances(piece.mesh, plane);
    // A plane on one piece only may run through another; only pieces wholly on one side end in it.
    const above = distances.some((d) => d > 0);
    const below = distances.some((d) => d < 0);
    if (above === below || !distances.some((d) => d === 0)) return [];
    return [{ plane, side: below ? (1 as const) : (-1 as const) }];
  });
}

/** One place on the outline of a cut face: where, which way is out of the material, how the wall leans there. */
export type WallPlace = Readonly<{
  at: Vec2;
  out: Vec2;
  /** the wall's surface moves so far along `out` for each mm along the plane's normal */
  slope: number;
}>;

const STEP_MM = 3;

/** The outline of a piece's cut face, an entry for every few millimetres of it. */
export function wallPlaces(mesh: Mesh, plane: Plane, side: 1 | -1): WallPlace[] {
  const distances = signedDistances(mesh, plane);
  const [u, v] = planeFrame(plane.normal);
  const { positions: p, triangles: t, originMm: o } = mesh;
  const twins = halfEdgeTwins(mesh);
  const inPlane = (k: number): boolean =>
    distances[t[k]] === 0 &&
    distances[t[k + 1]] === 0 &&
    distances[t[k + 2]] === 0 &&
    side * facing(mesh, k, plane.normal) > 0;
  const flat = (i: number): Vec2 => {
    const [x, y, z] = [p[3 * i] + o[0], p[3 * i + 1] + o[1], p[3 * i + 2] + o[2]];
    return [u[0] * x + u[1] * y + u[2] * z, v[0] * x + v[1] * y + v[2] * z];
  };
  const places: WallPlace[] = [];
  for (let k = 0; k < t.length; k += 3) {
    if (!inPlane(k)) continue;
    for (let e = 0; e < 3; e++) {
      const twin = twins[k + e];
      if (twin < 0) continue;
      const wall = twin - (twin % 3);
      if (inPlane(wall)) continue;
      const a = flat(t[k + e]);
      const b = flat(t[k + ((e + 1) % 3)]);
      const edgeMm = Math.hypot(b[0] - a[0], b[1] - a[1]);
      if (edgeMm < 1e-6) continue;
      // Material lies to the left of the lower piece's outline, seen along the normal; to the right of the upper one's.
      const out: Vec2 = [(side * (b[1] - a[1])) / edgeMm, (-side * (b[0] - a[0])) / edgeMm];
      const n = normalOf(mesh, wall);
      const along = n[0] * plane.normal[0] + n[1] * plane.normal[1] + n[2] * plane.normal[2];
      const across = [0, 1, 2].reduce((sum, d) => sum + n[d] * (out[0] * u[d] + out[1] * v[d]), 0);
      if (across < 0.3) continue;
      const steps = Math.ceil(edgeMm / STEP_MM);
      for (let i = 0; i < steps; i++) {
        const share = (i + 0.5) / steps;
        places.push({
          at: [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])],
          out,
          slope: -along / across,
        });
      }
    }
  }
  return places;
}

function facing(mesh: Mesh, k: number, n: Vec3): number {
  const m = normalOf(mesh, k);
  return m[0] * n[0] + m[1] * n[1] + m[2] * n[2];
}

function normalOf({ positions: p, triangles: t }: Mesh, k: number): Vec3 {
  const [a, b, c] = [3 * t[k], 3 * t[k + 1], 3 * t[k + 2]];
  const [bx, by, bz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
  const [cx, cy, cz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
  const x = by * cz - bz * cy;
  const y = bz * cx - bx * cz;
  const z = bx * cy - by * cx;
  const length = Math.hypot(x, y, z);
  return length > 0 ? [x / length, y / length, z / length] : [0, 0, 0];
}

function areaOf({ triangles: t }: Face): number {
  let twice = 0;
  for (let k = 0; k < t.length; k += 6) {
    twice += Math.abs((t[k + 2] - t[k]) * (t[k + 5] - t[k + 1]) - (t[k + 3] - t[k + 1]) * (t[k + 4] - t[k]));
  }
  return twice / 2;
}

function lineOf({ edges: e }: Face): number {
  let sum = 0;
  for (let k = 0; k < e.length; k += 4) sum += Math.hypot(e[k + 2] - e[k], e[k + 3] - e[k + 1]);
  return sum;
}
