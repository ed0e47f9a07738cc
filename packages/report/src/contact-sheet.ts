import type { Plan } from '@stonehand/model';
import { layerCount, planNames } from './plan-names.ts';
import { PLATE_FRAME_MM, plateSvg } from './plate-svg.ts';
import { fitText, num, svgDocument, svgText } from './svg.ts';
import { countOf, durationText, massText } from './words.ts';

const GAP_MM = 16;
const TITLE_MM = 16;
const CAPTION_MM = 34;

/**
 * All plates of a plan on one drawing, to one scale (a unit is a millimetre), each with its ruler, names and figures; printers in
 * the plan's order. Where a name does not fit its outline, the caption has the key.
 * @param columns plates side by side; default: as many as make the sheet about as wide as an A page lying down
 */
export function contactSheetSvg(plan: Plan, { columns }: Readonly<{ columns?: number }> = {}): string {
  const names = planNames(plan);
  const rank = new Map(plan.printers.map(({ id }, i) => [id, i]));
  const plates = [...plan.plates].sort((a, b) => (rank.get(a.printerId) ?? 0) - (rank.get(b.printerId) ?? 0));
  const cells = plates.flatMap((plate) => {
    const printer = names.printer(plate.printerId);
    if (printer === undefined) return [];
    const drawing = plateSvg({
      plate,
      printer,
      piece: names.piece,
      name: names.pieceName,
      recipe: names.recipe(plate.recipeId),
      materialIndex: names.materialIndex,
    });
    const heightMm = printer.plateSizeMm[1] + PLATE_FRAME_MM.top + PLATE_FRAME_MM.bottom;
    return [{ plate, drawing, widthMm: drawing.widthMm, heightMm }];
  });
  if (cells.length === 0) return svgDocument([0, 0, 200, 30], 'no plates', svgText(6, 20, 'No plate was made up.'));
  const cellW = Math.max(...cells.map(({ widthMm }) => widthMm)) + GAP_MM;
  const cellH = Math.max(...cells.map(({ heightMm }) => heightMm)) + CAPTION_MM + GAP_MM;
  const across =
    columns ?? Math.max(1, Math.min(cells.length, Math.round(Math.sqrt((Math.SQRT2 * cells.length * cellH) / cellW))));
  const body = cells.map(({ plate, drawing, widthMm, heightMm }, i) => {
    const x = (i % across) * cellW;
    // Plates of a row stand on one line, whatever their depth.
    const y = TITLE_MM + Math.floor(i / across) * cellH + (cellH - CAPTION_MM - GAP_MM - heightMm);
    const recipe = names.recipe(plate.recipeId);
    const layers = recipe === undefined ? '' : `, ${countOf(layerCount(plate.heightMm, recipe), 'layer')}`;
    const under = y + heightMm;
    const key = drawing.key.map((k) => `${k.number} ${k.name}`).join(', ');
    const room = widthMm - PLATE_FRAME_MM.left;
    const left = x + PLATE_FRAME_MM.left;
    return [
      nested(drawing.svg, x, y, widthMm, heightMm),
      svgText(left, under + 6, fitText(`${plate.name}, ${names.printerName(plate.printerId)}`, room, 11), {
        size: 11,
        strong: true,
      }),
      svgText(
        left,
        under + 17,
        fitText(`${massText(plate.massG, plan.unitsShown)}, ${durationText(plate.durationS)}${layers}`, room, 9),
        { size: 9, soft: true },
      ),
      key === '' ? '' : svgText(left, under + 27, fitText(key, room, 8), { size: 8, soft: true }),
    ].join('');
  });
  const rows = Math.ceil(cells.length / across);
  const width = across * cellW - GAP_MM;
  const height = TITLE_MM + rows * cellH;
  const title = `${plan.name}: ${countOf(cells.length, 'plate')}, to one scale, rulers in mm`;
  const head = svgText(0, 11, title, { size: 13, strong: true });
  return svgDocument([-6, 0, width + 12, height], title, head + body.join(''));
}

/** A drawing as a part of another, at a place and size of its own. */
function nested(svg: string, x: number, y: number, width: number, height: number): string {
  return svg.replace('<svg ', `<svg x="${num(x)}" y="${num(y)}" width="${num(width)}" height="${num(height)}" `);
}
