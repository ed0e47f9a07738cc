import { type Mark, markedPng, markRgb, renderPage } from '@stonehand/report';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { WEEKEND } from './fixture.ts';
import { box } from './shapes.ts';

const RED = [213, 94, 0] as const;
const SIZE = { widthPx: 600, heightPx: 300 };

/** Pixels of exactly this colour in the left and in the right view. */
function pixels(marks: readonly Mark[], [r, g, b]: readonly [number, number, number]): [number, number] {
  const { width, data } = decode(markedPng(box(20, 30, 10), marks, SIZE));
  const count: [number, number] = [0, 0];
  for (let at = 0; at < data.length; at += 4) {
    if (data[at] === r && data[at + 1] === g && data[at + 2] === b) count[(at / 4) % width < width / 2 ? 0 : 1]++;
  }
  return count;
}

describe('a picture with marked places', () => {
  test('shows an edge on the near side in full colour, and on the far side only faintly', () => {
    // Corners 1 and 5 of the box: an upright edge at the front right.
    const [left, right] = pixels([{ colour: RED, edges: [1, 5] }], RED);
    expect(left).toBeGreaterThan(60);
    // Where it meets the outline its ends are seen from the other side as well.
    expect(right).toBeLessThan(left / 4);
    // Corners 2 and 6: at the back left, below in the other view.
    const [front, back] = pixels([{ colour: RED, edges: [2, 6] }], RED);
    expect(back).toBeGreaterThan(60);
    expect(front).toBeLessThan(back / 4);
  });

  test('rings a point, and a group of edges that is too small to be seen as one', () => {
    const [atPoint] = pixels([{ colour: RED, points: [[20, 0, 10]] }], RED);
    expect(atPoint).toBeGreaterThan(30);
    const tiny = { ...box(20, 30, 10), positions: Float64Array.from(box(20, 30, 10).positions) };
    tiny.positions.set([20, 0, 9.9], 3 * 1);
    const ringed = decode(markedPng(tiny, [{ colour: RED, edges: [1, 5] }], SIZE));
    const alone = decode(markedPng(box(20, 30, 10), [{ colour: RED, points: [[20, 0, 9.95]] }], SIZE));
    expect(ringed.data.length).toBe(alone.data.length);
    expect(pixels([{ colour: RED, points: [[20, 0, 9.95]] }], RED)[0]).toBeGreaterThan(30);
  });

  test('fills marked faces with their colour, shaded', () => {
    const hue = ([r, g, b]: readonly number[]): number => r! - b! + (r! - g!);
    const { data } = decode(markedPng(box(20, 30, 10), [{ colour: RED, triangles: [2, 3] }], SIZE));
    let filled = 0;
    for (let at = 0; at < data.length; at += 4) {
      if (data[at + 3] === 255 && hue([data[at]!, data[at + 1]!, data[at + 2]!]) > 150) filled++;
    }
    // The top of the box as it is seen in the first view: thousands of pixels, far more than any line.
    expect(filled).toBeGreaterThan(3000);
  });

  test('is the same bytes for the same mesh and marks', () => {
    const marks = [{ colour: RED, edges: [1, 5], points: [[0, 0, 0]] as const, triangles: [1] }];
    expect(Buffer.from(markedPng(box(20, 30, 10), marks, SIZE)).equals(markedPng(box(20, 30, 10), marks, SIZE))).toBe(
      true,
    );
  });
});

describe('the page', () => {
  const doubtful = WEEKEND.readings.find(({ findings }) => findings.some(({ severity }) => severity !== 'note'))!;
  const part = WEEKEND.parts.find(({ meshFile }) => meshFile === doubtful.file)!;

  test('has a section of doubtful meshes with picture, legend in words, place and remedy; the table of parts leads there', () => {
    const png = markedPng(box(20, 30, 10), [{ colour: markRgb('holes'), edges: [1, 5] }], SIZE);
    const html = renderPage({ plan: WEEKEND, marked: { [part.id]: { png, kinds: [{ code: 'holes', count: 6 }] } } });
    expect(html).toContain('<h2 id="meshes">Meshes to look at</h2>');
    expect(html).toContain('6 edges at holes or cracks');
    expect(html).toContain(Buffer.from(png).toString('base64'));
    expect(html).toContain('href="#meshes">look at its mesh: 1 finding</a>');
  });

  test('has none where all meshes are sound', () => {
    const sound = WEEKEND.readings.map((reading) => ({ ...reading, findings: [], grade: 'sound' as const }));
    expect(renderPage({ plan: { ...WEEKEND, readings: sound } })).not.toContain('id="meshes"');
  });
});
