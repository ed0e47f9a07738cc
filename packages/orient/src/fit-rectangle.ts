import { farthestCorner, norm, reach, type TurnedHull } from './turned-hull.ts';

/** turnRad: the turn nearest to 0 that fits, or the best one; scale: largest at any turn; bestRad: the turn of that scale. */
export type TurnFit = Readonly<{ fits: boolean; turnRad: number; bestRad: number; scale: number }>;

/** A nanometre: float32 coordinates of a part as long as the plate are coarser, and no plate is this exact. */
export const FIT_SLACK_MM = 1e-6;

/**
 * Turns at which a convex polygon fits an upright rectangle, exactly. Between two turns at which an edge lies along an
 * axis, the same corners are the extremes, so both extents are one cosine each, A·cos(turn − φ), and concave: the turns
 * that fit end where an extent equals the rectangle's side or at such an event, the best scale lies at an event or where
 * the two ratios are equal. All of these are tried; nothing is sampled.
 * @param wideMm, deepMm sides of the rectangle, > 0
 */
export function fitRectangle(hull: TurnedHull, wideMm: number, deepMm: number): TurnFit {
  const events = axisEvents(hull);
  const turns: number[] = [0, Math.PI / 2];
  for (let k = 0; k < events.length; k++) {
    const from = events[k];
    const to = events[k + 1] ?? events[0] + Math.PI;
    const mid = (from + to) / 2;
    const across = extentWave(hull, 0, mid);
    const along = extentWave(hull, Math.PI / 2, mid);
    turns.push(halfTurn(from));
    for (const turn of [
      ...whereEquals(across, wideMm),
      ...whereEquals(along, deepMm),
      // across/wide = along/deep: a·cos + b·sin = 0 at two opposite turns.
      Math.atan2(along.c * wideMm - across.c * deepMm, across.s * deepMm - along.s * wideMm),
    ]) {
      const inside = from + modPi(turn - from);
      if (inside <= to) turns.push(halfTurn(inside));
    }
  }
  turns.sort((a, b) => Math.abs(a) - Math.abs(b) || b - a);
  let bestRad = 0;
  let scale = 0;
  let turnRad: number | undefined;
  for (const turn of turns) {
    const w = extent(hull, 0, turn);
    const d = extent(hull, Math.PI / 2, turn);
    if (turnRad === undefined && w <= wideMm + FIT_SLACK_MM && d <= deepMm + FIT_SLACK_MM) turnRad = turn;
    const s = Math.min(wideMm / w, deepMm / d);
    if (s > scale * (1 + 1e-12)) {
      scale = s;
      bestRad = turn;
    }
  }
  return { fits: turnRad !== undefined, turnRad: turnRad ?? bestRad, bestRad, scale };
}

/** Size of the turned hull along the fixed direction `rad`. */
export function extent(hull: TurnedHull, rad: number, turnRad: number): number {
  return reach(hull, rad, turnRad) + reach(hull, rad + Math.PI, turnRad);
}

/** Turns in [0, π), ascending, at which an edge of the hull lies along x or y. */
function axisEvents(hull: TurnedHull): number[] {
  const events: number[] = [];
  for (const normal of hull.normalRad) {
    const turn = modPi(-normal);
    events.push(turn, modPi(turn + Math.PI / 2));
  }
  return events.sort((a, b) => a - b);
}

/** The extent along `rad` near the turn `mid`, as c·cos(turn) + s·sin(turn). */
function extentWave(hull: TurnedHull, rad: number, mid: number): { c: number; s: number } {
  const i = farthestCorner(hull, rad - mid);
  const j = farthestCorner(hull, rad + Math.PI - mid);
  const x = hull.x[i] - hull.x[j];
  const y = hull.y[i] - hull.y[j];
  const cos = Math.cos(rad);
  const sin = Math.sin(rad);
  return { c: x * cos + y * sin, s: x * sin - y * cos };
}

function whereEquals(wave: { c: number; s: number }, value: number): number[] {
  const size = Math.hypot(wave.c, wave.s);
  if (size < value) return [];
  const middle = Math.atan2(wave.s, wave.c);
  const half = Math.acos(value / size);
  return [middle - half, middle + half];
}

function modPi(rad: number): number {
  const turn = norm(rad);
  return turn >= Math.PI ? turn - Math.PI : turn;
}

/** A half turn changes no extent: the same turn in (−π/2, π/2]. */
function halfTurn(rad: number): number {
  const turn = modPi(rad);
  return turn > Math.PI / 2 ? turn - Math.PI : turn;
}
