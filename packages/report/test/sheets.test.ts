import type { Piece, Plan, Plate } from '@stonehand/model';
import { contactSheetSvg, layerCount, planNames, platePng, renderTravellers } from '@stonehand/report';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { WEEKEND } from './fixture.ts';
import { rectangle } from './shapes.ts';

const names = planNames(WEEKEND);
const count = (text: string, what: RegExp): number => (text.match(what) ?? []).length;

describe('the sheets that travel with the plates', () => {
  const html = renderTravellers({ plan: WEEKEND });

  test('are one page a plate, those that start first come first', () => {
    expect(count(html, /<section class="sheet">/g)).toBe(WEEKEND.plates.length);
    const titles = [...html.matchAll(/<h1>([^<]+)<\/h1>/g)].map((m) => m[1]!.toLowerCase());
    const starts = titles.map((title) => {
      const plate = WEEKEND.plates.find(({ name }) => name.toLowerCase() === title)!;
      return names.runOfPlate(plate.id)?.start ?? '9';
    });
    expect(starts).toEqual([...starts].sort());
  });

  test('have a box to tick, a layer to write and a mass to compare for every copy', () => {
    for (const plate of WEEKEND.plates) {
      const sheet = renderTravellers({ plan: WEEKEND, plateIds: [plate.id] });
      const rows = sheet.slice(sheet.indexOf('class="outcome"'));
      expect(count(rows, /<i class="box">/g)).toBe(2 * plate.placed.length);
      expect(count(rows, /#\d+<\/span>/g)).toBe(plate.placed.length);
    }
  });

  test('say layers, recipe, spool and the moment of the end', () => {
    const plate = WEEKEND.plates.find(({ id }) => names.runOfPlate(id) !== undefined)!;
    const recipe = names.recipe(plate.recipeId)!;
    const sheet = renderTravellers({ plan: WEEKEND, plateIds: [plate.id] });
    expect(sheet).toContain(`<tr><th>layers</th><td>${layerCount(plate.heightMm, recipe)}</td>`);
    expect(sheet).toContain(`<h2>Recipe ${recipe.id}</h2>`);
    for (const { spoolId } of names.runOfPlate(plate.id)!.spools) expect(sheet).toContain(spoolId);
    expect(sheet).toMatch(/<th>ends<\/th><td>about /);
  });

  test('say what is put in after which layer, and what follows, each as often as it is there', () => {
    const plate = WEEKEND.plates[0]!;
    const partId = names.piece(plate.placed[0]!.copyId.split('#')[0]!)!.partId;
    const recipe = names.recipe(plate.recipeId)!;
    const { item } = WEEKEND.hardware[0]!;
    const plan: Plan = {
      ...WEEKEND,
      parts: WEEKEND.parts.map((part) =>
        part.id === partId
          ? {
              ...part,
              putIn: [{ itemId: item.id, atMm: 2 }],
              finishing: [{ what: 'sand the rim', handsOnMin: 20, waitMin: 60 }],
            }
          : part,
      ),
    };
    const sheet = renderTravellers({ plan, plateIds: [plate.id] });
    // Height over layer height: a 0.2 mm recipe reaches 2 mm with its tenth layer.
    const layer = 1 + Math.ceil((2 - recipe.firstLayerMm) / recipe.layerMm - 1e-6);
    expect(sheet).toMatch(new RegExp(`after layer ${layer}, at 2 mm: [^<]*`));
    expect(sheet).toMatch(/sand the rim \(20 min, wait (60 min|1 h)\)/);
  });

  test('let no markup of a name through and need no network', () => {
    const plan = { ...WEEKEND, name: '<script>x</script>' };
    const sheet = renderTravellers({ plan });
    expect(sheet).not.toContain('<script');
    expect(sheet.replaceAll('http://www.w3.org/2000/svg', '')).not.toMatch(/https?:|url\(/);
  });
});

describe('the contact sheet', () => {
  const svg = contactSheetSvg(WEEKEND);

  test('has every plate once, all to one scale: a unit is a millimetre in each', () => {
    const parts = [
      ...svg.matchAll(/<svg x="[^"]+" y="[^"]+" width="([\d.]+)" height="([\d.]+)"[^>]* viewBox="([^"]+)"/g),
    ];
    expect(parts.length).toBe(WEEKEND.plates.length);
    for (const [, width, height, view] of parts) {
      const [, , w, h] = view!.split(' ').map(Number);
      expect(Number(width) / w!).toBeCloseTo(1, 3);
      expect(Number(height) / h!).toBeCloseTo(1, 3);
    }
  });

  test('no two plates overlap on it', () => {
    const boxes = [...svg.matchAll(/<svg x="([^"]+)" y="([^"]+)" width="([\d.]+)" height="([\d.]+)"/g)].map((m) =>
      m.slice(1).map(Number),
    ) as [number, number, number, number][];
    boxes.forEach(([x, y, w, h], i) => {
      for (const [u, v, a, b] of boxes.slice(i + 1))
        expect(x + w <= u || u + a <= x || y + h <= v || v + b <= y).toBe(true);
    });
  });
});

describe('a plate as pixels', () => {
  const printer = WEEKEND.printers[0]!;
  const base = WEEKEND.pieces[0]!;
  const piece: Piece = { ...base, footprint: rectangle(60, 30) };
  const plate: Plate = {
    ...WEEKEND.plates[0]!,
    printerId: printer.id,
    placed: [{ copyId: `${base.id}#1`, xMm: 40, yMm: 50, turnDeg: 0 }],
  };
  const draw = (pxPerMm: number) => platePng({ plate, printer, piece: () => piece, name: () => 'x' }, { pxPerMm });

  test('shows a rectangle at its place and to scale: coloured pixels are its area, outline included', () => {
    for (const pxPerMm of [2, 4]) {
      const image = decode(draw(pxPerMm));
      let coloured = 0;
      for (let k = 0; k < image.data.length; k += 3) {
        const [r, g, b] = [image.data[k]!, image.data[k + 1]!, image.data[k + 2]!];
        // The first category is a blue: far from grey, unlike ruler, margin and letters.
        if (Math.max(r, g, b) - Math.min(r, g, b) > 20) coloured++;
      }
      // The outline is as thick as half a millimetre and lies half outside; the name is drawn in ink over a few pixels.
      const mm2 = coloured / pxPerMm ** 2;
      expect(mm2).toBeGreaterThan(60 * 30 - 60);
      expect(mm2).toBeLessThan(61 * 31 + 10);
    }
  });

  test('the same plate gives the same bytes', () => {
    expect(draw(3)).toEqual(draw(3));
  });
});
