import type { Limits, Vec3 } from '@stonehand/model';
import { hull2 } from '@stonehand/orient';

/** What limits ask of a pile of masses: all grams, the grams that have a place, and their first moment Σ m·c. */
export type State = Readonly<{ allG: number; placedG: number; firstGMm: Vec3 }>;

/** all·allG + placed·placedG + first·firstGMm + constant: linear in the masses, so that choices among them stay linear. */
export type Linear = Readonly<{ all: number; placed: number; first: Vec3; constant: number }>;

/**
 * A limit in two forms: the figure that people read, and what must hold of the masses: every row at most 0, and the
 * length of `across` at most `reach`.
 */
export type LimitForm = Readonly<{
  limit: string;
  unit: string;
  allowed: number;
  /** 1 for an upper limit, −1 for a lower one */
  side: 1 | -1;
  value: (state: State) => number;
  rows: readonly Linear[];
  cone?: Readonly<{ across: readonly Linear[]; reach: Linear }>;
  /** the axis of a moment */
  about?: Readonly<{ atMm: Vec3; axis: Vec3 }>;
}>;

/** Standard gravity, exact by definition (3rd CGPM 1901), in newtons on a gram. */
const N_PER_G = 9.80665e-3;
const DOWN: Vec3 = [0, 0, -1];

/** The stated limits, in the order in which they are read. */
export function limitForms(limits: Limits): LimitForm[] {
  const { massG, centreMm, centreNear, moments = [], tipping, down = DOWN } = limits;
  const forms: LimitForm[] = [];
  if (massG !== undefined)
    forms.push({
      limit: 'mass at most',
      unit: 'g',
      allowed: massG,
      side: 1,
      value: ({ allG }) => allG,
      rows: [linear({ all: 1, constant: -massG })],
    });
  for (const [k, axis] of ['x', 'y', 'z'].entries()) {
    const least = centreMm?.min?.[k] ?? undefined;
    const most = centreMm?.max?.[k] ?? undefined;
    if (least !== undefined) forms.push(centreForm(`centre ${axis} at least`, k, least, -1));
    if (most !== undefined) forms.push(centreForm(`centre ${axis} at most`, k, most, 1));
  }
  if (centreNear !== undefined) forms.push(nearForm(centreNear));
  for (const moment of moments) forms.push(momentForm(moment, down));
  if (tipping !== undefined) forms.push(tippingForm(tipping, down));
  return forms;
}

export function linearValue({ all, placed, first, constant }: Linear, { allG, placedG, firstGMm }: State): number {
  return all * allG + placed * placedG + dot(first, firstGMm) + constant;
}

function linear({ all = 0, placed = 0, first = [0, 0, 0], constant = 0 }: Partial<Linear>): Linear {
  return { all, placed, first, constant };
}

/** f·(Σ m·c − at·Σ m): the first moment along f, taken from a point. */
function moment(f: Vec3, atMm: Vec3, more: Partial<Linear> = {}): Linear {
  return linear({ ...more, first: f, placed: -dot(f, atMm) + (more.placed ?? 0) });
}

function centreForm(limit: string, k: number, allowed: number, side: 1 | -1): LimitForm {
  const first: [number, number, number] = [0, 0, 0];
  first[k] = side;
  const row = linear({ first, placed: -side * allowed });
  return { limit, unit: 'mm', allowed, side, value: ({ placedG, firstGMm }) => firstGMm[k] / placedG, rows: [row] };
}

function nearForm({ atMm, axis, radiusMm }: NonNullable<Limits['centreNear']>): LimitForm {
  const across = (axis === undefined ? UNITS : acrossOf(axis)).map((unit) => moment(unit, atMm));
  return {
    limit: axis === undefined ? 'centre from its point at most' : 'centre from its axis at most',
    unit: 'mm',
    allowed: radiusMm,
    side: 1,
    value: (state) => Math.hypot(...across.map((form) => linearValue(form, state))) / state.placedG,
    rows: [],
    cone: { across, reach: linear({ placed: radiusMm }) },
  };
}

// u·((c − p) × F) with F = m·g·down is (down × u)·(Σ m·c − p·Σ m)·g.
function momentForm(
  { name, atMm, axis, mostNmm, swings }: NonNullable<Limits['moments']>[number],
  down: Vec3,
): LimitForm {
  const base = {
    limit: `moment about ${name} at most`,
    unit: 'N·mm',
    allowed: mostNmm,
    side: 1 as const,
    about: { atMm, axis },
  };
  const lever = cross(down, axis);
  if (!swings) {
    const form = moment(scaled(lever, N_PER_G), atMm);
    const other = moment(scaled(lever, -N_PER_G), atMm);
    const below = (row: Linear): Linear => ({ ...row, constant: -mostNmm });
    return { ...base, value: (state) => Math.abs(linearValue(form, state)), rows: [below(form), below(other)] };
  }
  // All the way round, the arm lies once square to gravity's part across the axis.
  const pull = N_PER_G * Math.hypot(...lever);
  const across = acrossOf(axis).map((unit) => moment(scaled(unit, pull), atMm));
  return {
    ...base,
    value: (state) => Math.hypot(...across.map((form) => linearValue(form, state))),
    rows: [],
    cone: { across, reach: linear({ constant: mostNmm }) },
  };
}

/** A body leans until its centre stands over an edge of the support: tan = way to the edge / height over it. */
function tippingForm({ pointsMm, leastDeg }: NonNullable<Limits['tipping']>, down: Vec3): LimitForm {
  const up = scaled(down, -1);
  const edges = supportEdges(pointsMm, down);
  const tan = Math.tan((leastDeg * Math.PI) / 180);
  const ways = edges.map(({ atMm, inward }) => ({ way: moment(inward, atMm), height: moment(up, atMm) }));
  return {
    limit: 'lean before it tips at least',
    unit: '°',
    allowed: leastDeg,
    side: -1,
    value: (state) =>
      Math.min(...ways.map(({ way, height }) => Math.atan2(linearValue(way, state), linearValue(height, state)))) *
      (180 / Math.PI),
    rows: edges.map(({ atMm, inward }) =>
      moment([tan * up[0] - inward[0], tan * up[1] - inward[1], tan * up[2] - inward[2]], atMm),
    ),
  };
}

/** The edges of the support seen from above: a point on each, and the unit vector across it to the inside. */
function supportEdges(pointsMm: readonly Vec3[], down: Vec3): { atMm: Vec3; inward: Vec3 }[] {
  const [a, b] = acrossOf(down);
  const flat = new Float64Array(2 * pointsMm.length);
  pointsMm.forEach((point, i) => {
    flat[2 * i] = dot(a, point);
    flat[2 * i + 1] = dot(b, point);
  });
  const ring = hull2(flat);
  const edges: { atMm: Vec3; inward: Vec3 }[] = [];
  for (let i = 0; i < ring.length; i += 2) {
    const j = (i + 2) % ring.length;
    const [x, y] = [ring[j] - ring[i], ring[j + 1] - ring[i + 1]];
    const length = Math.hypot(x, y);
    const foot = pointsMm.findIndex((_, k) => flat[2 * k] === ring[i] && flat[2 * k + 1] === ring[i + 1]);
    // Counter-clockwise: the inside lies to the left of an edge.
    const inward = combined(a, -y / length, b, x / length);
    edges.push({ atMm: pointsMm[foot], inward });
  }
  return edges;
}

const UNITS: readonly Vec3[] = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];

/** Two unit vectors across an axis and each other, right-handed with it. */
function acrossOf(axis: Vec3): readonly [Vec3, Vec3] {
  const least = [0, 1, 2].reduce((best, k) => (Math.abs(axis[k]) < Math.abs(axis[best]) ? k : best), 0);
  const first = cross(axis, UNITS[least]);
  const a = scaled(first, 1 / Math.hypot(...first));
  return [a, cross(axis, a)];
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function scaled(a: Vec3, s: number): Vec3 {
  return [a[0] * s, a[1] * s, a[2] * s];
}

function combined(a: Vec3, s: number, b: Vec3, t: number): Vec3 {
  return [a[0] * s + b[0] * t, a[1] * s + b[1] * t, a[2] * s + b[2] * t];
}
