import type { Mesh, Ring } from '@stonehand/model';
import { encode } from 'fast-png';
import { cividis } from './colours.ts';
import { pixelText, pixelTextWidth } from './pixel-text.ts';
import {
  faceNormals,
  lowestZ,
  overhangDegrees,
  type Raster,
  rasterize,
  screenExtent,
  type View,
  viewDirections,
} from './raster.ts';

export type PosePngOptions = Readonly<{
  widthPx?: number;
  heightPx?: number;
  /** from the front right and above, from below where the overhangs are, or both side by side */
  view?: 'above' | 'below' | 'both';
  azimuthDeg?: number;
  elevationDeg?: number;
  /** faces that hang over further than this are coloured */
  overhangFromVerticalDeg?: number;
  scale?: boolean;
  ruler?: boolean;
  /** support columns in the mesh's coordinates, drawn see-through */
  support?: Mesh;
  /** outline of the build plate at z = 0 around the mesh, convex, with a grid of 10 mm; drawn as far as the part's surroundings */
  bed?: Ring;
}>;

// Steeper from below than from above, to see the ceilings inside hollow shells.
const BELOW_DEG = 50;
const LEVELS = 56; // steps of brightness: too fine to see, coarse enough to pack a third smaller
export const SAMPLES = 2; // 2×2 samples a pixel
export const MARGIN_PX = 5;
// Mid grey reads on white and on dark paper alike; the picture's ground is transparent.
const INK: readonly [number, number, number] = [118, 116, 112];
const PLAIN: readonly [number, number, number] = [206, 202, 194];

export type Canvas = Readonly<{ width: number; height: number; data: Uint8Array }>;

/**
 * Picture of a posed mesh (z up, standing on the plate) as PNG bytes: shaded, with faces beyond the overhang limit in a ramp of
 * their angle from vertical, the ramp's scale beside it and a ruler in mm below. Parallel projection, so the ruler holds for
 * everything that lies across the line of sight. The same mesh gives the same bytes.
 */
export function posePng(mesh: Mesh, options: PosePngOptions = {}): Uint8Array {
  const {
    widthPx = 440,
    heightPx = 220,
    view = 'both',
    azimuthDeg = 28,
    elevationDeg = 26,
    overhangFromVerticalDeg = 45,
    scale = true,
    ruler = true,
    support,
    bed,
  } = options;
  const ground = bed === undefined ? undefined : groundUnder(mesh, bed);
  const canvas: Canvas = { width: widthPx, height: heightPx, data: new Uint8Array(4 * widthPx * heightPx) };
  const normals = faceNormals(mesh);
  const overhang = overhangDegrees(mesh, normals);
  const elevations = view === 'both' ? [elevationDeg, -BELOW_DEG] : [view === 'above' ? elevationDeg : -BELOW_DEG];
  // Large pictures are shown at half size on fine screens: their letters are twice as large.
  const letter = Math.max(1, Math.round(widthPx / 240));
  const rulerPx = 8 + 7 * letter;
  const scalePx = 18 + 18 * letter;
  const panelPx = Math.floor((widthPx - (scale ? scalePx : 0)) / elevations.length);
  const drawPx = heightPx - (ruler ? rulerPx : 0);
  const directions = elevations.map((elevation) => viewDirections(azimuthDeg, elevation));
  const extents = directions.map((d) => {
    const seen = [mesh, ...(support ? [support] : []), ...(ground && d.eye[2] > 0 ? [ground.corners] : [])];
    return seen.map((m) => screenExtent(m, d)).reduce(unionOf);
  });
  // One scale for all views, so that one ruler holds.
  const pxPerMm = Math.min(
    ...extents.map(([u0, u1, v0, v1]) =>
      Math.min((panelPx - 2 * MARGIN_PX) / Math.max(1e-6, u1 - u0), (drawPx - 2 * MARGIN_PX) / Math.max(1e-6, v1 - v0)),
    ),
  );
  directions.forEach((direction, i) => {
    const [u0, u1, v0, v1] = extents[i]!;
    const shot: View = { ...direction, pxPerMm: pxPerMm * SAMPLES, midU: (u0 + u1) / 2, midV: (v0 + v1) / 2 };
    drawPanel(canvas, mesh, shot, normals, overhang, {
      left: i * panelPx,
      width: panelPx,
      height: drawPx,
      limitDeg: overhangFromVerticalDeg,
      shadow: direction.eye[2] > 0,
      ...(support && { support }),
      ...(ground && direction.eye[2] > 0 && { ground }),
    });
  });
  if (ruler) drawRuler(canvas, pxPerMm, panelPx, letter);
  if (scale) drawScale(canvas, overhangFromVerticalDeg, drawPx, scalePx, letter);
  return encode({ width: widthPx, height: heightPx, data: canvas.data, channels: 4, depth: 8 }, { zlib: { level: 6 } });
}

export type Panel = Readonly<{
  left: number;
  width: number;
  height: number;
  limitDeg: number;
  shadow: boolean;
  support?: Mesh;
  ground?: Ground;
  /** faces with a colour of their own */
  colourOf?: (face: number) => Rgb | undefined;
}>;
export type Rgb = readonly [number, number, number];

/** One shaded view into its part of the canvas; gives what is seen where, SAMPLES times as fine. */
export function drawPanel(
  canvas: Canvas,
  mesh: Mesh,
  view: View,
  normals: Float32Array,
  overhang: Float32Array,
  panel: Panel,
): Raster {
  const w = panel.width * SAMPLES;
  const h = panel.height * SAMPLES;
  const seen = rasterize(mesh, view, w, h);
  const shadow = panel.shadow ? rasterize(mesh, view, w, h, lowestZ(mesh)) : undefined;
  const held = panel.support === undefined ? undefined : rasterize(panel.support, view, w, h);
  const heldNormals = panel.support === undefined ? undefined : faceNormals(panel.support);
  const sample = new Float32Array(4 * w * h); // premultiplied
  const stepMm = 1 / view.pxPerMm;
  for (let at = 0; at < w * h; at++) {
    const face = seen.face[at]!;
    if (face === 0) {
      if (panel.ground !== undefined) groundInk(sample, at, w, h, view, panel.ground);
      if (shadow !== undefined && shadow.face[at] !== 0) sample[4 * at + 3] = Math.max(0.16, sample[4 * at + 3]!);
      if (held !== undefined && held.face[at] !== 0) veil(sample, at, view, heldNormals!, held.face[at]! - 1);
      continue;
    }
    shade(sample, at, face - 1, view, normals, overhang, panel.limitDeg, panel.colourOf?.(face - 1));
    const ink = edgeInk(seen, normals, at, w, h, stepMm);
    if (ink < 1) for (let k = 0; k < 3; k++) sample[4 * at + k]! *= ink;
    sample[4 * at + 3] = 1;
    if (held !== undefined && held.face[at] !== 0 && held.depth[at]! > seen.depth[at]!) {
      veil(sample, at, view, heldNormals!, held.face[at]! - 1);
    }
  }
  reduce(sample, w, canvas, panel);
  return seen;
}

/** The bed around a part: its outline, and the rectangle of it that is drawn. */
type Ground = Readonly<{ bed: Ring; low: readonly [number, number]; high: readonly [number, number]; corners: Mesh }>;

const AROUND_MM = 25;
const GRID_MM = 10;

function groundUnder(mesh: Mesh, bed: Ring): Ground {
  const low: [number, number] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const high: [number, number] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < mesh.positions.length; i += 3) {
    for (const k of [0, 1] as const) {
      low[k] = Math.min(low[k], mesh.positions[i + k]!);
      high[k] = Math.max(high[k], mesh.positions[i + k]!);
    }
  }
  for (const k of [0, 1] as const) {
    low[k] = Math.max(low[k] - AROUND_MM, Math.min(...bed.map((p) => p[k])));
    high[k] = Math.min(high[k] + AROUND_MM, Math.max(...bed.map((p) => p[k])));
  }
  const positions = Float32Array.from([low[0], low[1], 0, high[0], low[1], 0, high[0], high[1], 0, low[0], high[1], 0]);
  return {
    bed,
    low,
    high,
    corners: { positions, triangles: Uint32Array.from([0, 1, 2, 0, 2, 3]), originMm: [0, 0, 0] },
  };
}

/** A faint sheet with lines each 10 mm, stronger each 50, where the eye's ray meets the bed. */
function groundInk(sample: Float32Array, at: number, w: number, h: number, view: View, ground: Ground): void {
  const u = ((at % w) + 0.5 - w / 2) / view.pxPerMm + view.midU;
  const v = (h / 2 - Math.floor(at / w) - 0.5) / view.pxPerMm + view.midV;
  // z = 0: u and v are linear in x and y alone.
  const [a, b, c, d] = [view.right[0], view.right[1], view.up[0], view.up[1]];
  const x = (u * d - v * b) / (a * d - b * c);
  const y = (a * v - c * u) / (a * d - b * c);
  const { low, high, bed } = ground;
  if (x < low[0] || x > high[0] || y < low[1] || y > high[1] || !insideConvex(bed, x, y)) return;
  const half = 0.7 / view.pxPerMm;
  const line = (value: number, step: number): boolean => Math.abs(value - step * Math.round(value / step)) < half;
  const strong = line(x, 5 * GRID_MM) || line(y, 5 * GRID_MM);
  const alpha = strong ? 0.5 : line(x, GRID_MM) || line(y, GRID_MM) ? 0.26 : 0.07;
  for (let k = 0; k < 3; k++) sample[4 * at + k] = INK[k as 0 | 1 | 2] * alpha;
  sample[4 * at + 3] = alpha;
}

function insideConvex(ring: Ring, x: number, y: number): boolean {
  return ring.every(([ax, ay], i) => {
    const [bx, by] = ring[(i + 1) % ring.length]!;
    return (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0;
  });
}

/** Sky blue of the Okabe–Ito set, see-through, a little darker where it turns away from the light. */
const SUPPORT: readonly [number, number, number] = [86, 180, 233];
const VEIL = 0.42;

function veil(sample: Float32Array, at: number, { up, eye }: View, normals: Float32Array, face: number): void {
  const [nx, ny, nz] = [normals[3 * face]!, normals[3 * face + 1]!, normals[3 * face + 2]!];
  const toUp = Math.max(0, nx * up[0] + ny * up[1] + nz * up[2]);
  const toEye = Math.abs(nx * eye[0] + ny * eye[1] + nz * eye[2]);
  const level = 0.72 + 0.16 * toEye + 0.12 * toUp;
  for (let k = 0; k < 3; k++) {
    sample[4 * at + k] = sample[4 * at + k]! * (1 - VEIL) + SUPPORT[k as 0 | 1 | 2] * level * VEIL;
  }
  sample[4 * at + 3] = sample[4 * at + 3]! * (1 - VEIL) + VEIL;
}

type Extent = ReturnType<typeof screenExtent>;

function unionOf(a: Extent, b: Extent): Extent {
  return [Math.min(a[0], b[0]), Math.max(a[1], b[1]), Math.min(a[2], b[2]), Math.max(a[3], b[3])];
}

/** Light from the upper left behind the eye, and a little of it everywhere; the inside of an open mesh is dull. */
function shade(
  sample: Float32Array,
  at: number,
  face: number,
  { right, up, eye }: View,
  normals: Float32Array,
  overhang: Float32Array,
  limitDeg: number,
  own: Rgb | undefined,
): void {
  const nx = normals[3 * face]!;
  const ny = normals[3 * face + 1]!;
  const nz = normals[3 * face + 2]!;
  const toEye = nx * eye[0] + ny * eye[1] + nz * eye[2];
  const side = toEye < 0 ? -1 : 1;
  const toRight = side * (nx * right[0] + ny * right[1] + nz * right[2]);
  const toUp = side * (nx * up[0] + ny * up[1] + nz * up[2]);
  const light = Math.max(0, 0.66 * side * toEye - 0.42 * toRight + 0.62 * toUp);
  const deg = overhang[face]!;
  let [r, g, b] = own ?? PLAIN;
  let level = 0.5 + 0.55 * light;
  if (own !== undefined) level = 0.75 + 0.3 * light;
  else if (side > 0 && deg > limitDeg) {
    [r, g, b] = cividis((deg - limitDeg) / Math.max(1, 90 - limitDeg));
    level = 0.82 + 0.22 * light; // the ramp must stay readable: little shading on it
  } else if (side < 0) level *= 0.72;
  level = Math.round(level * LEVELS) / LEVELS;
  sample[4 * at] = Math.min(255, r * level);
  sample[4 * at + 1] = Math.min(255, g * level);
  sample[4 * at + 2] = Math.min(255, b * level);
}

const CREASE_COS = 0.8; // about 37°: above the step between facets of a round body of ten sides and more

/** Darker at the outline, where one thing passes before another, and along sharp edges. */
function edgeInk(seen: Raster, normals: Float32Array, at: number, w: number, h: number, stepMm: number): number {
  const x = at % w;
  const y = (at - x) / w;
  let ink = 1;
  for (let k = 0; k < 4; k++) {
    const dx = k === 0 ? 1 : k === 1 ? -1 : 0;
    const dy = k === 2 ? 1 : k === 3 ? -1 : 0;
    if (x + dx < 0 || x + dx >= w || y + dy < 0 || y + dy >= h) continue;
    const other = at + dy * w + dx;
    const face = seen.face[other]!;
    if (face === 0) return 0.45;
    const here = seen.face[at]! - 1;
    if (face - 1 === here) continue;
    // 12 pixels of depth in one pixel across is a jump, not a slope.
    if (seen.depth[at]! - seen.depth[other]! > 12 * stepMm) return 0.55;
    const a = 3 * here;
    const b = 3 * (face - 1);
    const cos = normals[a]! * normals[b]! + normals[a + 1]! * normals[b + 1]! + normals[a + 2]! * normals[b + 2]!;
    if (cos < CREASE_COS) ink = 0.74;
  }
  return ink;
}

function reduce(sample: Float32Array, w: number, canvas: Canvas, panel: Panel): void {
  const share = 1 / (SAMPLES * SAMPLES);
  for (let y = 0; y < panel.height; y++) {
    for (let x = 0; x < panel.width; x++) {
      let r = 0;
      let g = 0;
      let b = 0;
      let a = 0;
      for (let sy = 0; sy < SAMPLES; sy++) {
        for (let sx = 0; sx < SAMPLES; sx++) {
          const at = 4 * ((SAMPLES * y + sy) * w + SAMPLES * x + sx);
          r += sample[at]!;
          g += sample[at + 1]!;
          b += sample[at + 2]!;
          a += sample[at + 3]!;
        }
      }
      if (a === 0) continue;
      const to = 4 * (y * canvas.width + panel.left + x);
      canvas.data[to] = Math.round(r / a);
      canvas.data[to + 1] = Math.round(g / a);
      canvas.data[to + 2] = Math.round(b / a);
      canvas.data[to + 3] = Math.round(255 * a * share);
    }
  }
}

/** A bar of a round number of mm, at most 45 % of a view wide. */
export function drawRuler(canvas: Canvas, pxPerMm: number, panelPx: number, letter: number): void {
  const most = (0.45 * panelPx) / pxPerMm;
  const decade = 10 ** Math.floor(Math.log10(most));
  const lengthMm = decade * (most / decade >= 5 ? 5 : most / decade >= 2 ? 2 : 1);
  if (lengthMm < 1) return;
  const x0 = MARGIN_PX;
  const x1 = Math.round(x0 + lengthMm * pxPerMm);
  const y = canvas.height - 2 - 4 * letter;
  for (let x = x0; x <= x1; x++) dot(canvas, x, y, INK);
  for (let k = 0; k <= 5; k++) {
    const x = Math.round(x0 + (k / 5) * (x1 - x0));
    for (let d = 1; d <= (k % 5 === 0 ? 4 : 2); d++) dot(canvas, x, y - d, INK);
  }
  text(canvas, x1 + 5, canvas.height - 2 - 7 * letter, `${lengthMm} mm`, letter);
}

function drawScale(canvas: Canvas, limitDeg: number, heightPx: number, scalePx: number, letter: number): void {
  const x0 = canvas.width - scalePx + 6;
  const top = 4 + 4 * letter;
  const bottom = heightPx - 8;
  for (let y = top; y <= bottom; y++) {
    const colour = cividis((bottom - y) / (bottom - top));
    for (let x = x0; x < x0 + 8; x++) dot(canvas, x, y, colour);
  }
  const label = (deg: number): void => {
    const y = Math.round(bottom - ((deg - limitDeg) / Math.max(1, 90 - limitDeg)) * (bottom - top));
    for (let x = x0 + 8; x < x0 + 10; x++) dot(canvas, x, y, INK);
    text(canvas, x0 + 12, y - Math.round(3.5 * letter), `${Math.round(deg)}°`, letter);
  };
  label(90);
  label((90 + limitDeg) / 2);
  label(limitDeg);
}

function text(canvas: Canvas, x: number, y: number, words: string, letter: number): void {
  if (x + letter * pixelTextWidth(words) > canvas.width) return;
  pixelText(words, (dx, dy) => {
    for (let sy = 0; sy < letter; sy++) {
      for (let sx = 0; sx < letter; sx++) dot(canvas, x + letter * dx + sx, y + letter * dy + sy, INK);
    }
  });
}

function dot(
  { width, height, data }: Canvas,
  x: number,
  y: number,
  [r, g, b]: readonly [number, number, number],
): void {
  if (x < 0 || y < 0 || x >= width || y >= height) return;
  const at = 4 * (y * width + x);
  data[at] = r;
  data[at + 1] = g;
  data[at + 2] = b;
  data[at + 3] = 255;
}
