import { StonehandError } from '@stonehand/base';
import type { Ring, Vec2 } from '@stonehand/model';
import { convexPieces } from './convex-pieces.ts';
import { fitConvex } from './fit-convex.ts';
import { extent, fitRectangle, type TurnFit } from './fit-rectangle.ts';
import { type HalfPlanes, halfPlanes } from './half-planes.ts';
import { smoothHull2 } from './hull2.ts';
import { obstaclesOf, type Place, placeAmong } from './place-among.ts';
import { reach, type TurnedHull, turnedHull } from './turned-hull.ts';

export type FitOptions = Readonly<{
  brimMm?: number;
  keepOut?: readonly Ring[];
  /** outer rings of the true shadow, in the hull's coordinates: asked where the hull would touch a kept-out area */
  outline?: readonly Ring[];
}>;
export type HullFit = Readonly<{
  fits: boolean;
  /** counter-clockwise, degrees: nearest to 0 of those that fit, else the turn at which least is missing */
  turnDeg: number;
  /** what is missing in x and y at that turn (0, 0 when it fits) */
  overMm: Vec2;
  /** the part scaled by this just fits at the best turn, brim unscaled; more than 1 when there is room */
  scaleThatFits: number;
  /** where the origin of the turned hull goes, when it fits */
  atMm?: Vec2;
  /** false where a keep-out area was in the way: then turns were tried, not proven */
  exact: boolean;
}>;

/**
 * Does the outline of a part fit on the plate at any turn about z, its brim included? Exact at any turn for a rectangle
 * (critical angles) and for any convex plate (spans of turns dropped with proof). The brim is taken off the plate, which
 * is the same thing. Keep-out areas and pockets of a plate that is not convex come last: the convex answer is placed among
 * them at chosen turns, exactly at each (see place-among.ts), so a "no" because of them is not a proof.
 * @param hullXY x, y pairs of the part's shadow (its hull is taken)
 * @param usable where parts with their brim may lie
 * @throws StonehandError USAGE when the outline or the plate is empty
 * Source: Carver 1957, Amer. Math. Monthly 64, for rectangles (tests); the methods are derived in the files named
 */
export function fitHull(
  hullXY: ArrayLike<number>,
  usable: Ring,
  { brimMm = 0, keepOut = [], outline = [] }: FitOptions = {},
): HullFit {
  const hullRing = smoothHull2(hullXY);
  const plate = smoothHull2(usable.flat());
  if (hullRing.length === 0 || plate.length < 6) {
    throw new StonehandError('USAGE', 'fitHull: the outline or the plate has no area', 'Give an outline and a plate.');
  }
  const centre = middle(hullRing);
  const hull = turnedHull(hullRing.map((v, i) => v - centre[i % 2]));
  const region = halfPlanes(plate, brimMm);
  const fit = fitAlone(hull, plate, region, brimMm);
  const answer = (turnRad: number, at: Vec2 | undefined, exact: boolean): HullFit => {
    const cos = Math.cos(turnRad);
    const sin = Math.sin(turnRad);
    return {
      fits: at !== undefined,
      turnDeg: degrees(turnRad),
      overMm: at === undefined ? missing(hull, plate, brimMm, turnRad) : [0, 0],
      scaleThatFits: fit.scale,
      ...(at && {
        atMm: [at[0] - cos * centre[0] + sin * centre[1], at[1] - sin * centre[0] - cos * centre[1]] as const,
      }),
      exact,
    };
  };
  if (!fit.fits) return answer(fit.bestRad, undefined, true);
  const obstacles = obstaclesOf(usable, plate, keepOut, brimMm);
  const turns = [fit.turnRad, fit.bestRad];
  const place =
    placeAmong(hull, region, obstacles, turns) ??
    (outline.length === 0 ? undefined : placeAmong(hull, region, obstacles, turns, piecesOf(outline, centre)));
  const exact = obstacles.length === 0 || place?.turnRad === fit.turnRad;
  return place === undefined ? answer(fit.turnRad, undefined, exact) : answer(place.turnRad, placed(place), exact);
}

function piecesOf(outline: readonly Ring[], centre: Vec2): TurnedHull[] {
  return outline
    .flatMap((ring) => convexPieces(ring))
    .map((piece) => smoothHull2(piece.map((v, i) => v - centre[i % 2])))
    .filter((piece) => piece.length >= 6)
    .map((piece) => turnedHull(piece));
}

function fitAlone(hull: TurnedHull, plate: Float64Array, region: HalfPlanes, brimMm: number): TurnFit {
  const upright = uprightSides(plate);
  if (upright === undefined) return fitConvex(hull, region, (2 * Math.PI) / symmetryOf(plate));
  const wide = upright[0] - 2 * brimMm;
  const deep = upright[1] - 2 * brimMm;
  if (wide > 0 && deep > 0) return fitRectangle(hull, wide, deep);
  return { fits: false, turnRad: 0, bestRad: 0, scale: 0 };
}

/** Sides of an axis-parallel rectangle, undefined for any other polygon. */
function uprightSides(plate: Float64Array): readonly [number, number] | undefined {
  if (plate.length !== 8) return undefined;
  const upright = plate[1] === plate[3] && plate[2] === plate[4] && plate[5] === plate[7] && plate[6] === plate[0];
  return upright ? [plate[2] - plate[0], plate[5] - plate[3]] : undefined;
}

/** How many turns within a full one map the polygon onto itself (1 when none but the full one). */
function symmetryOf(plate: Float64Array): number {
  const n = plate.length >> 1;
  const [cx, cy] = middle(plate);
  const size = Math.max(...plate.map((v, i) => Math.abs(v - (i % 2 === 0 ? cx : cy))));
  for (let times = n; times > 1; times--) {
    if (n % times !== 0) continue;
    const cos = Math.cos((2 * Math.PI) / times);
    const sin = Math.sin((2 * Math.PI) / times);
    let far = 0;
    for (let i = 0; i < n; i++) {
      const j = (i + n / times) % n;
      const x = plate[2 * i] - cx;
      const y = plate[2 * i + 1] - cy;
      far = Math.max(far, Math.hypot(cos * x - sin * y + cx - plate[2 * j], sin * x + cos * y + cy - plate[2 * j + 1]));
    }
    // 1e-12 of the size is rounding of the corners; a plate that is off by more counts as unsymmetric.
    if (far < 1e-12 * size) return times;
  }
  return 1;
}

/** What the plate's box lacks in x and y; where the box would do, what the narrowest direction of the plate lacks. */
function missing(hull: TurnedHull, plate: Float64Array, brimMm: number, turnRad: number): Vec2 {
  const box = turnedHull(plate);
  const over = (rad: number): number =>
    Math.max(0, extent(hull, rad, turnRad) + 2 * brimMm - reach(box, rad, 0) - reach(box, rad + Math.PI, 0));
  return [over(0), over(Math.PI / 2)];
}

function placed(place: Place): Vec2 {
  return [place.xMm, place.yMm];
}

function middle(xy: Float64Array): Vec2 {
  let x = 0;
  let y = 0;
  for (let i = 0; i < xy.length; i += 2) {
    x += xy[i];
    y += xy[i + 1];
  }
  return [(2 * x) / xy.length, (2 * y) / xy.length];
}

/** Quarter turns come out as whole numbers. */
function degrees(rad: number): number {
  const deg = (rad * 180) / Math.PI;
  const whole = Math.round(deg);
  return Math.abs(deg - whole) < 1e-12 * Math.max(1, Math.abs(whole)) ? whole + 0 : deg;
}
