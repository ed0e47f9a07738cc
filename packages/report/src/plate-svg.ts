import type { Piece, Placed, Plate, Printer, Recipe, Ring } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { escapeXml } from './escape.ts';
import { labelSpot, placeRing, simplifyRing } from './outline.ts';
import { pieceOfCopy } from './plan-names.ts';
import { num, svgDocument, svgRect, svgText, textEms } from './svg.ts';

export type PlateDrawing = Readonly<{
  plate: Plate;
  printer: Printer;
  piece: (pieceId: string) => Piece | undefined;
  name: (copyId: string) => string;
  recipe?: Recipe | undefined;
  /** number of the colour of a material, the same on all drawings */
  materialIndex?: (materialId: string) => number;
}>;

/** Room around the plate for the ruler's figures, in mm: left, top, right, bottom. Pages need it to keep all plates to one scale. */
export const PLATE_FRAME_MM = { left: 26, top: 6, right: 12, bottom: 20 } as const;

const LABEL_MM = 11;
const NUMBER_MM = 10;
const OUTLINE_TOLERANCE_MM = 0.2; // a fifth of a pixel at the page's scale

/**
 * A plate seen from above, one unit of the drawing a millimetre: outline, margin, places kept free, a ruler on two sides, the
 * outline of every copy with its brim, and its name; where a name does not fit it gets a number, and `key` says whose.
 */
export function plateSvg(drawing: PlateDrawing): {
  svg: string;
  widthMm: number;
  key: readonly Readonly<{ number: number; name: string }>[];
} {
  const { plate, printer } = drawing;
  const [width, depth] = printer.plateSizeMm;
  const flip = (y: number): number => depth - y;
  const body: string[] = [
    path([printer.plate], flip, 'fill="var(--card,#fff)" stroke="var(--ink,#1d1c1a)" stroke-width="1"'),
    path([printer.usable], flip, 'fill="none" stroke="var(--line,#d9d4c8)" stroke-dasharray="3 3"'),
  ];
  for (const area of printer.keepOut) {
    body.push(path([area], flip, 'fill="var(--grid,#ece8de)" stroke="var(--line,#d9d4c8)"'));
    const spot = labelSpot([area], 8);
    if (spot.widthMm > 34)
      body.push(svgText(spot.x, flip(spot.y) + 3, 'keep free', { anchor: 'middle', soft: true, size: 8 }));
  }
  body.push(ruler(width, depth));
  const { shapes, labels, key } = copies(drawing, flip);
  body.push(shapes, labels);
  const f = PLATE_FRAME_MM;
  const widthMm = width + f.left + f.right;
  const says = `${plate.name}: ${plate.placed.length} placed on a plate of ${num(width)} by ${num(depth)} mm, seen from above`;
  return { svg: svgDocument([-f.left, -f.top, widthMm, depth + f.top + f.bottom], says, body.join('')), widthMm, key };
}

function copies(
  drawing: PlateDrawing,
  flip: (y: number) => number,
): { shapes: string; labels: string; key: { number: number; name: string }[] } {
  const shapes: string[] = [];
  const labels: string[] = [];
  const key: { number: number; name: string }[] = [];
  const numberOf = new Map<string, number>();
  for (const placed of drawing.plate.placed) {
    const piece = drawing.piece(pieceOfCopy(placed.copyId));
    const name = drawing.name(placed.copyId);
    const rings = (piece?.footprint ?? []).map((ring) =>
      simplifyRing(placeRing(ring, placed.turnDeg, placed.xMm, placed.yMm), OUTLINE_TOLERANCE_MM),
    );
    if (rings.length === 0) continue;
    const colour = categoryColour(drawing.materialIndex?.(piece?.materialId ?? '') ?? 0);
    const brimMm = drawing.recipe?.brimMm ?? 0;
    shapes.push(`<g><title>${escapeXml(placedText(name, placed))}</title>`);
    // A brim is drawn as a wide soft stroke: the same outline, no offsetting needed to look at it.
    if (brimMm > 0)
      shapes.push(
        path(
          rings.slice(0, 1),
          flip,
          `fill="none" stroke="${colour}" stroke-opacity=".18" stroke-width="${num(2 * brimMm)}" stroke-linejoin="round"`,
        ),
      );
    shapes.push(
      path(
        rings,
        flip,
        `fill="${colour}" fill-opacity=".2" fill-rule="evenodd" stroke="${colour}" stroke-width="1.4" stroke-linejoin="round"`,
      ),
      '</g>',
    );
    const spot = labelSpot(rings, LABEL_MM);
    if (textEms(name) * LABEL_MM <= spot.widthMm + 4) {
      labels.push(
        svgText(spot.x, flip(spot.y) + LABEL_MM * 0.36, name, { anchor: 'middle', size: LABEL_MM, halo: true }),
      );
      continue;
    }
    let number = numberOf.get(name);
    if (number === undefined) {
      number = numberOf.size + 1;
      numberOf.set(name, number);
      key.push({ number, name });
    }
    labels.push(
      svgText(spot.x, flip(spot.y) + NUMBER_MM * 0.36, String(number), {
        anchor: 'middle',
        size: NUMBER_MM,
        halo: true,
        strong: true,
      }),
    );
  }
  return { shapes: shapes.join(''), labels: labels.join(''), key };
}

function placedText(name: string, placed: Placed): string {
  return `${name}, at ${num(placed.xMm)}, ${num(placed.yMm)} mm, turned ${num(placed.turnDeg)}°`;
}

function ruler(width: number, depth: number): string {
  const marks: string[] = [];
  const ink = 'var(--soft,#595650)';
  const tick = (mm: number): number => (mm % 50 === 0 ? 5 : 2.5);
  let ticks = '';
  for (let x = 0; x <= width + 1e-9; x += 10) ticks += `M${num(x)} ${num(depth)}v${tick(x)}`;
  for (let y = 0; y <= depth + 1e-9; y += 10) ticks += `M0 ${num(depth - y)}h-${tick(y)}`;
  marks.push(`<path d="${ticks}" stroke="${ink}" stroke-width="0.7"/>`);
  for (let x = 0; x <= width + 1e-9; x += 50)
    marks.push(svgText(x, depth + 15, x === 0 ? '0' : String(x), { anchor: 'middle', soft: true, size: 9 }));
  for (let y = 50; y <= depth + 1e-9; y += 50)
    marks.push(svgText(-7, depth - y + 3.2, String(y), { anchor: 'end', soft: true, size: 9 }));
  marks.push(svgText(-7, depth + 15, 'mm', { anchor: 'end', soft: true, size: 9 }));
  return marks.join('');
}

function path(rings: readonly Ring[], flip: (y: number) => number, attributes: string): string {
  const d = rings.map((ring) => `M${ring.map(([x, y]) => `${num(x)},${num(flip(y))}`).join('L')}Z`).join('');
  return d === '' ? '' : `<path d="${d}" ${attributes}/>`;
}

/** A small square of a category's colour, to stand beside its word. */
export function swatch(index: number): string {
  return `<svg class="swatch" viewBox="0 0 10 10" width="10" height="10" aria-hidden="true">${svgRect(0.5, 0.5, 9, 9, categoryColour(index), ` fill-opacity=".35" stroke="${categoryColour(index)}"`)}</svg>`;
}
