import { applyAffine } from '@stonehand/base';
import type { MassBody, MassReport, UnitsShown, Vec2, Vec3 } from '@stonehand/model';
import { hull2 } from '@stonehand/orient';
import { categoryColour } from './colours.ts';
import { num, svgDocument, svgLine, svgRect, svgText } from './svg.ts';
import { placeText } from './words.ts';

/** By part id, points round its mesh in the mesh's own coordinates: enough of them to draw an outline. */
export type Shapes = Readonly<Record<string, readonly Vec3[]>>;

export type BalanceOptions = Readonly<{ shapes?: Shapes; units?: UnitsShown; widthPx?: number }>;

/** A view by what lies to the right and upwards in it, as multiples of x, y, z. */
type View = Readonly<{ name: string; right: Vec3; up: Vec3 }>;
const VIEWS: readonly View[] = [
  { name: 'from the side', right: [1, 0, 0], up: [0, 0, 1] },
  { name: 'from the front', right: [0, 1, 0], up: [0, 0, 1] },
  { name: 'from above', right: [1, 0, 0], up: [0, 1, 0] },
];
const GAP = 26;
const HEAD = 24;
const FOOT = 30;
const MOST_PANEL_PX = 420;

/**
 * Where an assembly balances, in three views of one scale: outlines of its parts, bought items as discs as large as they are
 * heavy, the centre of mass with its interval, and the limits it must keep: the box or ring of the centre, axes, feet.
 */
export function balanceSvg(
  report: MassReport,
  { shapes = {}, units = 'metric', widthPx = 1040 }: BalanceOptions = {},
): string {
  const narrow = widthPx < 600;
  const bodies = report.bodies ?? [];
  const box = boxOf(report, bodies, shapes);
  const sides = VIEWS.map((view) => ({ view, ...extent(view, box) }));
  const across = narrow ? Math.max(...sides.map(({ w }) => w)) : sides.reduce((sum, { w }) => sum + w, 0);
  const pxPerMm = Math.min(
    (widthPx - (narrow ? 0 : 2 * GAP)) / across,
    MOST_PANEL_PX / Math.max(...sides.map(({ h }) => h)),
  );
  const tallest = Math.max(...sides.map(({ h }) => h)) * pxPerMm;
  const panels: string[] = [];
  let x = 0;
  let y = 0;
  for (const { view, left, bottom, w, h } of sides) {
    const panelPx = { w: w * pxPerMm, h: h * pxPerMm };
    const top = y + HEAD + (narrow ? 0 : tallest - panelPx.h);
    const at = (point: Vec3): Vec2 => [
      x + (dot(view.right, point) - left) * pxPerMm,
      top + panelPx.h - (dot(view.up, point) - bottom) * pxPerMm,
    ];
    panels.push(
      svgText(x, y + 13, view.name, { soft: true, size: 12 }),
      panel(report, bodies, shapes, view, at, pxPerMm, box),
    );
    if (narrow) y += HEAD + panelPx.h + 14;
    else x += panelPx.w + GAP;
  }
  const bottom = narrow ? y : HEAD + tallest + 8;
  panels.push(ruler(pxPerMm, bottom + 14, units), legend(narrow ? 0 : 150, bottom + (narrow ? 36 : 18), narrow));
  const height = bottom + FOOT + (narrow ? 44 : 0);
  const label = `${report.name}: centre of mass at ${placeText(report.centreMm, units)} in three views, with its limits`;
  return svgDocument([0, 0, widthPx, height], label, panels.join(''));
}

type Box = Readonly<{ min: readonly number[]; max: readonly number[] }>;

function boxOf(report: MassReport, bodies: readonly MassBody[], shapes: Shapes): Box {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  const add = (point: readonly (number | null)[]): void => {
    for (let k = 0; k < 3; k++) {
      const value = point[k];
      if (value === null || value === undefined) continue;
      min[k] = Math.min(min[k]!, value);
      max[k] = Math.max(max[k]!, value);
    }
  };
  add(report.centreMm);
  for (const body of bodies) {
    add(body.centreMm);
    for (const point of outlinePoints(body, shapes)) add(point);
  }
  const { centreMm, centreNear, moments = [], tipping } = report.stated ?? {};
  for (const corner of [centreMm?.min, centreMm?.max]) if (corner !== undefined) add(corner);
  for (const point of [...moments.map(({ atMm }) => atMm), ...(tipping?.pointsMm ?? [])]) add(point);
  if (centreNear !== undefined) for (const s of [-1, 1]) add(centreNear.atMm.map((v) => v + s * centreNear.radiusMm));
  const room = 0.04 * Math.max(20, ...max.map((v, k) => v - min[k]!));
  return { min: min.map((v) => v - room), max: max.map((v) => v + room) };
}

function outlinePoints({ id, place }: MassBody, shapes: Shapes): Vec3[] {
  return place === undefined ? [] : (shapes[id] ?? []).map((point) => applyAffine(place, point));
}

function extent({ right, up }: View, { min, max }: Box): { left: number; bottom: number; w: number; h: number } {
  const span = (axis: Vec3): readonly [number, number] => {
    const k = axis.findIndex((v) => v !== 0);
    return [min[k]!, max[k]!];
  };
  const [left, rightmost] = span(right);
  const [bottom, top] = span(up);
  return { left, bottom, w: rightmost - left, h: top - bottom };
}

const INK = 'var(--ink,#1d1c1a)';
const ACCENT = 'var(--accent,#3a3f9f)';
const LINE = 'var(--line,#d9d4c8)';

function panel(
  report: MassReport,
  bodies: readonly MassBody[],
  shapes: Shapes,
  view: View,
  at: (point: Vec3) => Vec2,
  pxPerMm: number,
  box: Box,
): string {
  const out: string[] = [];
  const mostG = Math.max(1, ...bodies.map(({ massG }) => massG));
  const [x0, y1] = at(vec(box.min));
  const [x1, y0] = at(vec(box.max));
  out.push(svgRect(x0, y0, x1 - x0, y1 - y0, 'none', ` stroke="${LINE}"`));
  for (const body of bodies) {
    const points = outlinePoints(body, shapes).map(at);
    if (points.length < 3) continue;
    out.push(outline(points));
  }
  out.push(limitMarks(report, view, at, pxPerMm, box));
  for (const { kind, massG, centreMm } of bodies) {
    if (kind === 'printed') continue;
    const [x, y] = at(centreMm);
    const r = Math.max(1.6, 9 * Math.sqrt(massG / mostG));
    const fill = categoryColour(kind === 'bought' ? 1 : 3);
    out.push(`<circle cx="${num(x)}" cy="${num(y)}" r="${num(r)}" fill="${fill}" fill-opacity=".55"/>`);
  }
  out.push(centreMark(report, view, at));
  return out.join('');
}

function outline(points: readonly Vec2[]): string {
  const ring = hull2(points.flat());
  let path = '';
  for (let i = 0; i < ring.length; i += 2) path += `${i === 0 ? 'M' : 'L'}${num(ring[i]!)} ${num(ring[i + 1]!)}`;
  return `<path d="${path}Z" fill="${categoryColour(4)}" fill-opacity=".14" stroke="${INK}" stroke-opacity=".35" stroke-width=".7"/>`;
}

/** The open box of the centre runs to the edge of the drawing where it has no bound. */
function limitMarks(
  { stated = {} }: MassReport,
  view: View,
  at: (point: Vec3) => Vec2,
  pxPerMm: number,
  box: Box,
): string {
  const { centreMm, centreNear, moments = [], tipping } = stated;
  const out: string[] = [];
  if (centreMm !== undefined) {
    const bound = (side: 'min' | 'max'): Vec3 => vec([0, 1, 2].map((k) => centreMm[side]?.[k] ?? box[side][k]!));
    const [xa, yb] = at(bound('min'));
    const [xb, ya] = at(bound('max'));
    out.push(
      svgRect(
        xa,
        ya,
        xb - xa,
        yb - ya,
        ACCENT,
        ` fill-opacity=".09" stroke="${ACCENT}" stroke-width="1.2" stroke-dasharray="4 3"`,
      ),
    );
  }
  if (centreNear !== undefined) {
    const { axis, radiusMm } = centreNear;
    const [x, y] = at(centreNear.atMm);
    const along = axis === undefined ? 1 : Math.abs(dot(cross(view.right, view.up), axis));
    // Seen along its axis it is a ring, from the side a strip.
    if (along > 0.99) {
      out.push(
        `<circle cx="${num(x)}" cy="${num(y)}" r="${num(radiusMm * pxPerMm)}" fill="${ACCENT}" fill-opacity=".09" stroke="${ACCENT}" stroke-width="1.2" stroke-dasharray="4 3"/>`,
      );
    }
  }
  for (const { name, atMm, axis } of moments) {
    const [x, y] = at(atMm);
    const [dx, dy] = [dot(view.right, axis), -dot(view.up, axis)];
    const length = Math.hypot(dx, dy);
    if (length < 0.1)
      out.push(`<circle cx="${num(x)}" cy="${num(y)}" r="5" fill="none" stroke="${ACCENT}" stroke-width="1.6"/>`);
    else {
      const [ex, ey] = [(22 * dx) / length, (22 * dy) / length];
      out.push(svgLine(x - ex, y - ey, x + ex, y + ey, ACCENT, 1.6, ' stroke-dasharray="9 2 2 2"'));
    }
    out.push(svgText(x + 8, y + 12, name, { size: 10, soft: true, halo: true }));
  }
  if (tipping !== undefined) {
    const feet = tipping.pointsMm.map(at);
    if (Math.abs(view.up[2]) < 0.5) out.push(ringOf(feet));
    for (const [x, y] of feet) out.push(`<path d="M${num(x)} ${num(y)}l-4 7h8z" fill="${ACCENT}"/>`);
  }
  return out.join('');
}

function ringOf(points: readonly Vec2[]): string {
  const ring = hull2(points.flat());
  let path = '';
  for (let i = 0; i < ring.length; i += 2) path += `${i === 0 ? 'M' : 'L'}${num(ring[i]!)} ${num(ring[i + 1]!)}`;
  return `<path d="${path}Z" fill="${ACCENT}" fill-opacity=".07" stroke="${ACCENT}" stroke-dasharray="4 3"/>`;
}

/** The usual mark of a centre of mass, a quartered disc, and whiskers where a limit knows how unsure it is. */
function centreMark(report: MassReport, { right, up }: View, at: (point: Vec3) => Vec2): string {
  const [x, y] = at(report.centreMm);
  const r = 7;
  const out: string[] = [];
  const wing = (axis: Vec3, horizontal: boolean): void => {
    const k = axis.findIndex((v) => v !== 0);
    const figure = report.limits.find(({ limit }) => limit.startsWith(`centre ${'xyz'[k]} `))?.value;
    if (figure?.low === undefined || figure.high === undefined) return;
    const end = (value: number): Vec2 => {
      const point: number[] = [...report.centreMm];
      point[k] = value;
      return at(vec(point));
    };
    const [a, b] = [end(figure.low), end(figure.high)];
    out.push(svgLine(a[0], a[1], b[0], b[1], INK, 1.4));
    const [tx, ty] = horizontal ? [0, 4] : [4, 0];
    for (const [px, py] of [a, b]) out.push(svgLine(px - tx, py - ty, px + tx, py + ty, INK, 1.4));
  };
  wing(right, true);
  wing(up, false);
  out.push(
    `<circle cx="${num(x)}" cy="${num(y)}" r="${r}" fill="var(--card,#fff)" stroke="${INK}" stroke-width="1.4"/>`,
    `<path d="M${num(x)} ${num(y)}v-${r}a${r} ${r} 0 0 1 ${r} ${r}zM${num(x)} ${num(y)}v${r}a${r} ${r} 0 0 1 -${r} -${r}z" fill="${INK}"/>`,
  );
  return out.join('');
}

function ruler(pxPerMm: number, y: number, units: UnitsShown): string {
  const inch = units === 'US';
  const choices = inch ? [25.4, 50.8, 127, 254, 508] : [10, 20, 50, 100, 200, 500];
  const lengthMm = choices.find((mm) => mm * pxPerMm >= 60) ?? choices.at(-1)!;
  const px = lengthMm * pxPerMm;
  const text = inch ? `${Math.round(lengthMm / 25.4)} in` : `${lengthMm} mm`;
  return [
    svgLine(0, y, px, y, INK, 1.2),
    svgLine(0, y - 3, 0, y + 3, INK, 1.2),
    svgLine(px, y - 3, px, y + 3, INK, 1.2),
    svgText(px + 6, y + 4, text, { size: 11, soft: true }),
  ].join('');
}

function legend(x: number, y: number, narrow: boolean): string {
  const items: readonly (readonly [string, string])[] = [
    [
      `<circle cx="7" cy="-4" r="6" fill="var(--card,#fff)" stroke="${INK}"/><path d="M7 -4v-6a6 6 0 0 1 6 6zM7 -4v6a6 6 0 0 1 -6 -6z" fill="${INK}"/>`,
      'centre of mass',
    ],
    [
      `<rect x="0" y="-9" width="15" height="10" fill="${ACCENT}" fill-opacity=".09" stroke="${ACCENT}" stroke-dasharray="4 3"/>`,
      'where it may lie',
    ],
    [
      `<rect x="0" y="-9" width="15" height="10" fill="${categoryColour(4)}" fill-opacity=".3" stroke="${INK}" stroke-opacity=".35"/>`,
      'printed',
    ],
    [`<circle cx="7" cy="-4" r="6" fill="${categoryColour(1)}" fill-opacity=".55"/>`, 'bought'],
    [`<circle cx="7" cy="-4" r="6" fill="${categoryColour(3)}" fill-opacity=".55"/>`, 'paint, glue, wiring'],
  ];
  return items
    .map(([mark, word], i) => {
      const [column, row] = narrow ? [i % 3, Math.floor(i / 3)] : [i, 0];
      const at = x + column * (narrow ? 124 : 132);
      return `<g transform="translate(${num(at)} ${num(y + 18 * row)})">${mark}${svgText(21, 0, word, { size: 11, soft: true })}</g>`;
    })
    .join('');
}

function vec(numbers: readonly number[]): Vec3 {
  return [numbers[0]!, numbers[1]!, numbers[2]!];
}

function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
