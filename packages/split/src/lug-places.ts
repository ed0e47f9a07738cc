import type { Vec2, Vec3 } from '@stonehand/model';
import { hull2 } from '@stonehand/orient';
import { distanceToEdges, type Face, holds } from './contact-region.ts';
import { type Contact, sidesOf, type WallPlace, wallPlaces } from './contacts.ts';
import { type Plane, planeFrame } from './plane.ts';
import { middleOf, type Region } from './regions.ts';

/**
 * A piece of flange on the hidden side of a thin wall, one on each piece, face to face in the cut, with a bore for a pin
 * through both. It leans with the wall.
 */
export type Lug = Readonly<{
  at: Vec2;
  out: Vec2;
  slope: number;
  /** thickness of the wall it stands on, in the cut */
  wallMm: number;
  /** how far it stands out of the wall, and how deep it is rooted in it */
  deepMm: number;
  rootMm: number;
  pinAt: Vec2;
}>;

export type LugRules = Readonly<{
  planes: readonly Plane[];
  regions: readonly Region[];
  showSide?: Vec3;
  pinRadiusMm: number;
  leastWallMm: number;
}>;

// Common practice, no source: flanges as thick as a wall, room for a pin with a wall around it, one every few centimetres.
export const LUG_HALF_WIDTH_MM = 6.5;
export const LUG_THICK_MM = 3;
const SPACING_MM = 40;
const MOST_LUGS = 12;
const MOST_TRIES = 48;
const NEIGHBOUR_MM = 5;
const THINNEST_MM = 1.6;
const THICKEST_MM = 9;
const STEEPEST = 1;
/** The root and the wall kept outside it reach a little beyond the wall's middle, so that both surfaces may wave. */
const ROOT_SHARE = 0.55;
const LEAST_ROOT_MM = 0.4;
const FREE_BEYOND_MM = 2;
const CLEAR_MM = 1;
/** Facing the side to show by more than this cosine, a lug would be seen; a choice, no source. */
const SHOWN_COSINE = 0.35;

/** Places for lugs on one contact, spread out; none where the wall is too thick or too thin or there is no hidden side. */
export function lugPlaces(contact: Contact, rules: LugRules, holdsIn: (lug: Lug) => boolean): Lug[] {
  const { plane, lower, upper, lowerFace, upperFace } = contact;
  const hull = hull2(outlinePoints(lowerFace));
  const fences = [lower, upper].flatMap((piece) =>
    sidesOf(piece, rules.planes).filter((side) => !same(side.plane, plane)),
  );
  const lugs = wallPlaces(lower.mesh, plane, 1).flatMap((place): Lug[] => {
    const wallMm = wallAt(lowerFace, place);
    if (wallMm < THINNEST_MM || wallMm > THICKEST_MM || Math.abs(place.slope) > STEEPEST) return [];
    const aside = Math.abs(place.slope) * LUG_THICK_MM;
    const deepMm = Math.max(8, 2 * (rules.pinRadiusMm + rules.leastWallMm + aside));
    const lug: Lug = {
      ...place,
      wallMm,
      deepMm,
      rootMm: Math.max(LEAST_ROOT_MM, ROOT_SHARE * wallMm - rules.leastWallMm),
      pinAt: step(place.at, place.out, deepMm / 2),
    };
    const inside = step(place.at, place.out, -0.4 * wallMm);
    const fits =
      lug.rootMm + rules.leastWallMm < wallMm &&
      holds(upperFace, inside) &&
      isHidden(lug, hull, plane, rules.showSide) &&
      hasRoom(lug, lowerFace) &&
      hasRoom(lug, upperFace) &&
      keepsWithin(lug, plane, fences) &&
      missesRegions(lug, plane, rules.regions);
    return fits ? [lug] : [];
  });
  return spreadOut(lugs, holdsIn);
}

function wallAt({ edges }: Face, { at, out }: WallPlace): number {
  let nearest = Infinity;
  for (let k = 0; k < edges.length; k += 4) {
    const [ax, ay] = [edges[k] - at[0], edges[k + 1] - at[1]];
    const [dx, dy] = [edges[k + 2] - edges[k], edges[k + 3] - edges[k + 1]];
    // at − s·out = a + r·d
    const det = out[0] * dy - out[1] * dx;
    if (Math.abs(det) < 1e-12) continue;
    const s = -(ax * dy - ay * dx) / det;
    const r = (ax * out[1] - ay * out[0]) / -det;
    if (s > 0.02 && s < nearest && r >= -1e-9 && r <= 1 + 1e-9) nearest = s;
  }
  return nearest;
}

function isHidden({ at, out, deepMm }: Lug, hull: Float64Array, plane: Plane, showSide?: Vec3): boolean {
  if (showSide !== undefined) {
    const [u, v] = planeFrame(plane.normal);
    const shown = [0, 1, 2].reduce((sum, d) => sum + showSide[d] * (out[0] * u[d] + out[1] * v[d]), 0);
    if (shown > SHOWN_COSINE) return false;
  }
  const [x, y] = step(at, out, deepMm + CLEAR_MM);
  for (let i = 0; i < hull.length; i += 2) {
    const j = (i + 2) % hull.length;
    const [dx, dy] = [hull[j] - hull[i], hull[j + 1] - hull[i + 1]];
    const inMm = (dx * (y - hull[i + 1]) - dy * (x - hull[i])) / Math.hypot(dx, dy);
    if (inMm < CLEAR_MM) return false;
  }
  return true;
}

/** Nothing of the part lies where the lug goes, nor close before its end. */
function hasRoom({ at, out, deepMm }: Lug, face: Face): boolean {
  const along: Vec2 = [-out[1], out[0]];
  for (const share of [0.5, 1]) {
    const mm = share === 1 ? deepMm + FREE_BEYOND_MM : deepMm / 2;
    for (const s of [-1, 0, 1]) {
      const q = step(step(at, out, mm), along, s * LUG_HALF_WIDTH_MM);
      if (holds(face, q) || distanceToEdges(face.edges, q) < CLEAR_MM) return false;
    }
  }
  return true;
}

function keepsWithin(lug: Lug, plane: Plane, fences: ReturnType<typeof sidesOf>): boolean {
  const along: Vec2 = [-lug.out[1], lug.out[0]];
  for (const { plane: fence, side } of fences) {
    for (const h of [-LUG_THICK_MM, LUG_THICK_MM]) {
      for (const m of [0, lug.deepMm + CLEAR_MM]) {
        for (const s of [-1, 1]) {
          const q = step(step(lug.at, lug.out, m + lug.slope * h), along, s * (LUG_HALF_WIDTH_MM + CLEAR_MM));
          const [x, y, z] = pointOf(plane, q, h);
          const f = fence.normal;
          // side 1: the piece lies below the plane.
          if (side * (f[0] * x + f[1] * y + f[2] * z - fence.offsetMm) > 0) return false;
        }
      }
    }
  }
  return true;
}

function missesRegions(lug: Lug, plane: Plane, regions: readonly Region[]): boolean {
  const p = pointOf(plane, lug.pinAt, 0);
  const reachMm = Math.hypot(lug.deepMm / 2, LUG_HALF_WIDTH_MM) + CLEAR_MM;
  return regions.every((region) => {
    if ('box' in region) {
      return p.some((v, d) => v < region.box.min[d] - reachMm || v > region.box.max[d] + reachMm);
    }
    const c = middleOf(region);
    const half = Math.hypot(...region.toMm.map((v, d) => v - region.fromMm[d])) / 2;
    const axis = region.toMm.map((v, d) => (v - region.fromMm[d]) / Math.max(1e-9, 2 * half));
    const along = axis.reduce((sum, v, d) => sum + v * (p[d] - c[d]), 0);
    const aside = Math.hypot(...axis.map((v, d) => p[d] - c[d] - along * v));
    return Math.abs(along) > half + reachMm || Math.abs(aside - region.radiusMm) > reachMm;
  });
}

/**
 * From the place farthest out, always the place farthest from those taken, until they come closer than the spacing. A place
 * that does not hold takes its neighbours with it.
 */
function spreadOut(lugs: readonly Lug[], holdsIn: (lug: Lug) => boolean): Lug[] {
  const mean: Vec2 = [0, 1].map((d) => lugs.reduce((sum, lug) => sum + lug.at[d] / lugs.length, 0)) as unknown as Vec2;
  const far = (a: Vec2, b: Vec2): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
  let left = [...lugs];
  const chosen: Lug[] = [];
  const room = (lug: Lug): number =>
    chosen.length === 0 ? far(lug.at, mean) : Math.min(...chosen.map((other) => far(lug.pinAt, other.pinAt)));
  for (let tries = 0; tries < MOST_TRIES && left.length > 0 && chosen.length < MOST_LUGS; tries++) {
    const rooms = left.map(room);
    const at = rooms.indexOf(Math.max(...rooms));
    if (chosen.length > 0 && rooms[at] < (chosen.length < 3 ? SPACING_MM / 3 : SPACING_MM)) break;
    const lug = left[at];
    if (holdsIn(lug)) chosen.push(lug);
    else left = left.filter((other) => far(other.at, lug.at) >= NEIGHBOUR_MM);
  }
  return chosen;
}

export function pointOf(plane: Plane, at: Vec2, heightMm: number): Vec3 {
  const [u, v] = planeFrame(plane.normal);
  const h = plane.offsetMm + heightMm;
  const n = plane.normal;
  const along = (d: 0 | 1 | 2): number => at[0] * u[d] + at[1] * v[d] + h * n[d];
  return [along(0), along(1), along(2)];
}

const step = ([x, y]: Vec2, [dx, dy]: Vec2, mm: number): Vec2 => [x + mm * dx, y + mm * dy];
const same = (a: Plane, b: Plane): boolean => a.offsetMm === b.offsetMm && a.normal.every((v, d) => v === b.normal[d]);

function outlinePoints({ edges }: Face): Float64Array {
  const xy = new Float64Array(edges.length / 2);
  for (let k = 0; k < edges.length; k += 4) {
    xy[k / 2] = edges[k];
    xy[k / 2 + 1] = edges[k + 1];
  }
  return xy;
}
