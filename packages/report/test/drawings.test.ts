import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  filamentSvg,
  fitRows,
  layerSvg,
  massSvg,
  planNames,
  plateSvg,
  posePng,
  renderBuy,
  renderFit,
  renderSummary,
  renderWeigh,
  timelineSvg,
} from '@stonehand/report';
import { describe, expect, test } from 'vitest';
import { MESHES, WEEKEND } from './fixture.ts';

// What people look at, kept as files: a change shows in review as a change of a drawing or a text. Renewed with `vitest run packages/report -u`.
const folder = join(import.meta.dirname, 'drawings');
const names = planNames(WEEKEND);

/** Drawings as standing alone, so that a viewer opens them; a line for each element, so that a diff can be read. */
const drawing = (svg: string): string => `${svg.replaceAll('><', '>\n<')}\n`;

describe('drawings of the weekend are as they were reviewed', () => {
  test('a plate', async () => {
    const plate = WEEKEND.plates[0]!;
    const { svg } = plateSvg({
      plate,
      printer: names.printer(plate.printerId)!,
      piece: names.piece,
      name: names.pieceName,
      recipe: names.recipe(plate.recipeId),
      materialIndex: names.materialIndex,
    });
    await expect(drawing(svg)).toMatchFileSnapshot(join(folder, 'plate.svg'));
  });

  test('the timeline, lying and upright', async () => {
    await expect(drawing(timelineSvg(WEEKEND))).toMatchFileSnapshot(join(folder, 'timeline.svg'));
    await expect(drawing(timelineSvg(WEEKEND, { upright: true }))).toMatchFileSnapshot(
      join(folder, 'timeline-upright.svg'),
    );
  });

  test('mass and filament', async () => {
    await expect(drawing(massSvg(WEEKEND.mass, WEEKEND.unitsShown))).toMatchFileSnapshot(join(folder, 'mass.svg'));
    await expect(drawing(filamentSvg(WEEKEND))).toMatchFileSnapshot(join(folder, 'filament.svg'));
  });

  test('the layers of a piece', async () => {
    const estimate = WEEKEND.estimates[0]!;
    await expect(drawing(layerSvg({ estimate, recipe: names.recipe(estimate.recipeId) }))).toMatchFileSnapshot(
      join(folder, 'layers.svg'),
    );
  });

  test('a piece as it lies, to the byte', () => {
    const file = join(folder, 'pose.png');
    const png = posePng(MESHES.get('heron/head/skull')!);
    if (!existsSync(file)) writeFileSync(file, png); // deleted to be renewed
    expect(Buffer.from(png).equals(readFileSync(file))).toBe(true);
  });
});

describe.each([80, 120])('terminal texts of the weekend at %i columns are as they were reviewed', (width) => {
  const texts: Readonly<Record<string, string>> = {
    plan: renderSummary(WEEKEND, { width }),
    fit: renderFit({ rows: fitRows(WEEKEND), printers: WEEKEND.printers }, { width }),
    buy: renderBuy(WEEKEND, { width }),
    weigh: renderWeigh(WEEKEND.mass, { width }),
  };
  test.each(Object.entries(texts))('%s', async (name, text) => {
    await expect(text).toMatchFileSnapshot(join(folder, `${name}-${width}.txt`));
  });
});
