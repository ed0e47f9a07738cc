import type { Ring } from '@stonehand/model';
import { encode } from 'fast-png';
import { categoryRgb } from './colours.ts';
import { labelSpot, placeRing } from './outline.ts';
import { pixelText, pixelTextWidth } from './pixel-text.ts';
import { pieceOfCopy } from './plan-names.ts';
import type { PlateDrawing } from './plate-svg.ts';

export type PlatePngOptions = Readonly<{ pxPerMm?: number }>;

type Rgb = readonly [number, number, number];
type Canvas = Readonly<{ width: number; height: number; data: Uint8Array }>;

const INK: Rgb = [29, 28, 26];
const SOFT: Rgb = [89, 86, 80];
const LINE: Rgb = [200, 196, 186];
const KEPT: Rgb = [236, 232, 222];
const FRAME_MM = { left: 21, top: 4, right: 8, bottom: 14 } as const;
// Between filled pixels and their outline, by share of the colour laid over white.
const FILL = 0.22;

/**
 * A plate seen from above as PNG bytes, to scale, for programs that show no SVG: outline, margin, places kept free, ruler, outlines
 * of the copies in their material's colour, names where they fit. The same plate gives the same bytes.
 */
export function platePng(drawing: PlateDrawing, { pxPerMm = 3 }: PlatePngOptions = {}): Uint8Array {
  const { printer, plate } = drawing;
  const [wideMm, deepMm] = printer.plateSizeMm;
  const width = Math.round((wideMm + FRAME_MM.left + FRAME_MM.right) * pxPerMm);
  const height = Math.round((deepMm + FRAME_MM.top + FRAME_MM.bottom) * pxPerMm);
  const canvas: Canvas = { width, height, data: new Uint8Array(3 * width * height).fill(255) };
  const place = ([x, y]: readonly [number, number]): [number, number] => [
    (x + FRAME_MM.left) * pxPerMm,
    (deepMm - y + FRAME_MM.top) * pxPerMm,
  ];
  const onScreen = (rings: readonly Ring[]): [number, number][][] => rings.map((ring) => ring.map(place));
  for (const area of printer.keepOut) fill(canvas, onScreen([area]), KEPT, 1);
  outline(canvas, onScreen([printer.usable]), LINE, 1);
  outline(canvas, onScreen([printer.plate]), INK, 1);
  ruler(canvas, wideMm, deepMm, place, pxPerMm);
  for (const placed of plate.placed) {
    const piece = drawing.piece(pieceOfCopy(placed.copyId));
    const rings = (piece?.footprint ?? []).map((ring) => placeRing(ring, placed.turnDeg, placed.xMm, placed.yMm));
    if (rings.length === 0) continue;
    const rgb = categoryRgb(drawing.materialIndex?.(piece?.materialId ?? '') ?? 0);
    fill(canvas, onScreen(rings), rgb, FILL);
    outline(canvas, onScreen(rings), rgb, Math.max(1, Math.round(pxPerMm / 2)));
    label(canvas, drawing.name(placed.copyId), rings, place, pxPerMm);
  }
  return encode({ width, height, data: canvas.data, channels: 3, depth: 8 });
}

function set(canvas: Canvas, x: number, y: number, rgb: Rgb, share: number): void {
  if (x < 0 || y < 0 || x >= canvas.width || y >= canvas.height) return;
  const at = 3 * (y * canvas.width + x);
  for (let c = 0; c < 3; c++) canvas.data[at + c] = Math.round(canvas.data[at + c]! * (1 - share) + rgb[c]! * share);
}

/** Even–odd, row by row at the pixels' middles. */
function fill(canvas: Canvas, rings: readonly (readonly [number, number])[][], rgb: Rgb, share: number): void {
  const ys = rings.flatMap((ring) => ring.map(([, y]) => y));
  for (let y = Math.max(0, Math.floor(Math.min(...ys))); y <= Math.min(canvas.height - 1, Math.max(...ys)); y++) {
    const cuts: number[] = [];
    for (const ring of rings) {
      ring.forEach(([ax, ay], i) => {
        const [bx, by] = ring[(i + 1) % ring.length]!;
        if (ay > y + 0.5 !== by > y + 0.5) cuts.push(ax + ((y + 0.5 - ay) / (by - ay)) * (bx - ax));
      });
    }
    cuts.sort((a, b) => a - b);
    for (let k = 0; k + 1 < cuts.length; k += 2)
      for (let x = Math.ceil(cuts[k]! - 0.5); x < cuts[k + 1]! - 0.5; x++) set(canvas, x, y, rgb, share);
  }
}

function outline(canvas: Canvas, rings: readonly (readonly [number, number])[][], rgb: Rgb, thick: number): void {
  for (const ring of rings)
    ring.forEach((from, i) => {
      stroke(canvas, from, ring[(i + 1) % ring.length]!, rgb, thick);
    });
}

function stroke(
  canvas: Canvas,
  [ax, ay]: readonly [number, number],
  [bx, by]: readonly [number, number],
  rgb: Rgb,
  thick: number,
): void {
  const steps = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) * 2));
  const half = (thick - 1) / 2;
  for (let k = 0; k <= steps; k++) {
    const x = Math.floor(ax + ((bx - ax) * k) / steps - half);
    const y = Math.floor(ay + ((by - ay) * k) / steps - half);
    for (let dy = 0; dy < thick; dy++) for (let dx = 0; dx < thick; dx++) set(canvas, x + dx, y + dy, rgb, 1);
  }
}

function ruler(
  canvas: Canvas,
  wideMm: number,
  deepMm: number,
  place: (p: readonly [number, number]) => [number, number],
  pxPerMm: number,
): void {
  const dot = Math.max(1, Math.round(pxPerMm / 2));
  const tick = (mm: number): number => (mm % 50 === 0 ? 4 : 2);
  for (let x = 0; x <= wideMm; x += 10) stroke(canvas, place([x, 0]), place([x, -tick(x)]), SOFT, 1);
  for (let y = 0; y <= deepMm; y += 10) stroke(canvas, place([0, y]), place([-tick(y), y]), SOFT, 1);
  for (let x = 0; x <= wideMm; x += 50) {
    const [px, py] = place([x, -6]);
    text(canvas, String(x), px - (pixelTextWidth(String(x)) * dot) / 2, py, dot, SOFT);
  }
  for (let y = 50; y <= deepMm; y += 50) {
    const [px, py] = place([-5.5, y]);
    text(canvas, String(y), px - pixelTextWidth(String(y)) * dot, py - 3.5 * dot, dot, SOFT);
  }
  const [px, py] = place([-5.5, -6]);
  text(canvas, 'mm', px - pixelTextWidth('mm') * dot, py, dot, SOFT);
}

/** The name on up to three lines where the outline is widest; left out where not even its longest word fits. */
function label(
  canvas: Canvas,
  name: string,
  rings: readonly Ring[],
  place: (p: readonly [number, number]) => [number, number],
  pxPerMm: number,
): void {
  const dot = Math.max(1, Math.round(pxPerMm / 2));
  const spot = labelSpot(rings, 10);
  const letters = Math.floor((spot.widthMm * pxPerMm) / dot / 6);
  const lines: string[] = [];
  for (const word of name.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && `${last} ${word}`.length <= letters) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  if (lines.length > 3 || Math.max(...lines.map((line) => line.length)) > letters) return;
  const [x, y] = place([spot.x, spot.y]);
  lines.forEach((line, k) => {
    const top = y + (9 * (k - lines.length / 2) + 1) * dot;
    text(canvas, line, x - (pixelTextWidth(line) * dot) / 2, top, dot, INK);
  });
}

function text(canvas: Canvas, words: string, x: number, y: number, dot: number, rgb: Rgb): void {
  pixelText(words, (dx, dy) => {
    for (let i = 0; i < dot; i++)
      for (let j = 0; j < dot; j++) set(canvas, Math.round(x) + dx * dot + i, Math.round(y) + dy * dot + j, rgb, 1);
  });
}
