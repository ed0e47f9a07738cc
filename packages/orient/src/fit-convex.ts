import { FIT_SLACK_MM, type TurnFit } from './fit-rectangle.ts';
import { firstBasis, type HalfPlanes, largestScale } from './half-planes.ts';
import { farthestCorner, type TurnedHull } from './turned-hull.ts';

/** Below this two turns differ by less than FIT_SLACK_MM on a 1 m part. */
const LEAST_SPAN_RAD = 1e-9;
/** A relative gap between the scale found and the proven bound that ends the search. */
const SCALE_GAP = 1e-6;

/**
 * Turns at which a convex polygon fits in any convex region. At one turn the answer is a linear programme, solved
 * exactly. Over a span of turns every reach of the hull is at least a number that follows from its farthest corners at
 * both ends, and the programme with those numbers bounds the scale from above; spans that cannot hold an answer are
 * dropped with proof, the others halved, the nearest to 0 first. So "no" is proven, and the turn and scale given are
 * within LEAST_SPAN_RAD and SCALE_GAP of the true ones.
 * @param hull around the origin (the origin inside or on it)
 * @param period turns by which the region maps onto itself, a divisor of 2π
 */
export function fitConvex(hull: TurnedHull, region: HalfPlanes, period: number): TurnFit {
  let size = 0;
  for (let i = 0; i < hull.x.length; i++) size = Math.max(size, Math.hypot(hull.x[i], hull.y[i]));
  const enough = 1 - FIT_SLACK_MM / Math.max(size, 1);
  const search = scaleSearch(hull, region, size);
  const nearest = nearestTurn(search, period / 2, enough);
  const best = bestTurn(search, period / 2, nearest ?? 0);
  return { fits: nearest !== undefined, turnRad: nearest ?? best.turn, bestRad: best.turn, scale: best.scale };
}

type ScaleSearch = Readonly<{
  /** the largest scale at one turn */
  at: (turn: number) => number;
  /** at least the largest scale at any turn of the span (shorter than a quarter turn) */
  bound: (from: number, to: number) => number;
}>;

function scaleSearch(hull: TurnedHull, region: HalfPlanes, size: number): ScaleSearch {
  const n = region.nx.length;
  const angle = Float64Array.from(region.nx, (x, i) => Math.atan2(region.ny[i], x));
  const weight = new Float64Array(n);
  const basis = firstBasis(region);
  const least = 1e-9 * Math.max(size, 1);
  return {
    at: (turn) => {
      for (let i = 0; i < n; i++) {
        const rad = angle[i] - turn;
        weight[i] = Math.max(least, project(hull, farthestCorner(hull, rad), rad));
      }
      return largestScale(region, weight, basis).s;
    },
    bound: (from, to) => {
      for (let i = 0; i < n; i++) {
        const a = angle[i] - from;
        const b = angle[i] - to;
        // A corner's reach is one cosine of the turn; over less than a quarter turn from its farthest it is least at an end.
        const p = farthestCorner(hull, a);
        const q = farthestCorner(hull, b);
        const lower = Math.max(
          Math.min(project(hull, p, a), project(hull, p, b)),
          Math.min(project(hull, q, a), project(hull, q, b)),
        );
        weight[i] = Math.max(least, lower);
      }
      return largestScale(region, weight, basis).s;
    },
  };
}

function project(hull: TurnedHull, k: number, rad: number): number {
  return hull.x[k] * Math.cos(rad) + hull.y[k] * Math.sin(rad);
}

/** The turn nearest to 0 in ±half at which the scale reaches `enough`; of two equally near ones the positive. */
function nearestTurn(search: ScaleSearch, half: number, enough: number): number | undefined {
  if (search.at(0) >= enough) return 0;
  let found: number | undefined;
  for (const sign of [1, -1]) {
    const stack = spans(half).reverse();
    for (let span = stack.pop(); span !== undefined; span = stack.pop()) {
      const [near, far] = span;
      if (found !== undefined && near >= Math.abs(found)) break;
      if (search.at(sign * near) >= enough) {
        if (found === undefined || near < Math.abs(found)) found = sign * near;
        break;
      }
      const bound = sign > 0 ? search.bound(near, far) : search.bound(-far, -near);
      if (bound < enough || far - near < LEAST_SPAN_RAD) continue;
      const middle = (near + far) / 2;
      stack.push([middle, far], [near, middle]);
    }
  }
  return found;
}

function bestTurn(search: ScaleSearch, half: number, first: number): { turn: number; scale: number } {
  const best = { turn: first, scale: search.at(first) };
  const improve = (turn: number): void => {
    const scale = search.at(turn);
    if (scale > best.scale * (1 + 1e-12)) {
      best.scale = scale;
      best.turn = turn;
    }
  };
  const stack: (readonly [number, number])[] = [];
  for (const [near, far] of spans(half)) stack.push([-far, -near], [near, far]);
  for (const [from, to] of stack) improve((from + to) / 2);
  for (let span = stack.pop(); span !== undefined; span = stack.pop()) {
    const [from, to] = span;
    if (search.bound(from, to) <= best.scale * (1 + SCALE_GAP) || to - from < LEAST_SPAN_RAD) continue;
    const middle = (from + to) / 2;
    improve(from);
    improve(middle);
    stack.push([middle, to], [from, middle]);
  }
  return best;
}

/** 0 … half in equal spans of at most 1/16 of a turn. */
function spans(half: number): (readonly [number, number])[] {
  const count = Math.max(2, Math.ceil((half * 8) / Math.PI));
  return Array.from({ length: count }, (_, i) => [(half * i) / count, (half * (i + 1)) / count] as const);
}
