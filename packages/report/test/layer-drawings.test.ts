import { beadLayersSvg, layerChartSvg } from '@stonehand/report';
import { describe, expect, test } from 'vitest';

const square = (speedMmS: number, at = 0) => ({
  xyMm: [at, 0, at + 10, 0, at + 10, 10, at, 10],
  closed: true,
  widthMm: 0.45,
  speedMmS,
});
const travel = { xyMm: [0, 0, 500, 500], closed: false, widthMm: 0, speedMmS: 150 };

describe('layers coloured by speed', () => {
  const svg = beadLayersSvg({
    name: 'hub & pin',
    layers: [
      { title: 'layer 1, 0.2 mm', strokes: [square(20), travel] },
      { title: 'layer 9, 1.8 mm', strokes: [square(80), square(50, 20)] },
    ],
  });

  test('say what they show, escaped', () => {
    expect(svg).toContain('aria-label="hub &amp; pin: 2 layers, beads coloured by speed from 20 to 80 mm/s"');
  });

  test('the slowest bead is the dark end of the ramp, the fastest the light one, half way between the middle', () => {
    // Ends and middle of the published cividis table.
    expect(svg).toContain('stroke="rgb(0,34,78)"');
    expect(svg).toContain('stroke="rgb(254,232,56)"');
    expect(svg).toContain('stroke="rgb(125,124,119)"');
  });

  test('travel neither sets the scale nor the size of the picture', () => {
    // 30.45 mm of beads to 210 px; two panels and the gap between them.
    expect(svg).toContain('viewBox="-4 -2 446 ');
    expect(svg).toContain('stroke-width=".12"');
  });

  test('a crumb of a bead does not set the scale', () => {
    const crumb = { xyMm: [0, 0, 0.05, 0], closed: false, widthMm: 0.45, speedMmS: 1 };
    const drawn = beadLayersSvg({ name: 'hub', layers: [{ title: '', strokes: [square(20), square(80), crumb] }] });
    expect(drawn).toContain('from 20 to 80 mm/s');
  });

  test('no bead, no picture', () => {
    expect(beadLayersSvg({ name: 'hub', layers: [{ title: '', strokes: [travel] }] })).toBe('');
  });
});

describe('the chart of seconds and grams', () => {
  const recipe = { layerMm: 0.2, firstLayerMm: 0.3, leastLayerS: 8 };

  test('has an area for the layers and a paler one for waiting, where a layer is shorter than its least seconds', () => {
    const svg = layerChartSvg({ name: 'hub', estimate: { layerS: [30, 20, 4], layerG: [0.5, 0.3, 0.1] }, recipe });
    expect(svg).toContain('seconds and grams of 3 layers, 8 to 30 s and 0.1 to 0.5 g');
    expect(svg).toContain('waits for the least seconds');
    expect(svg.match(/<path /g)).toHaveLength(3);
    const patient = layerChartSvg({ name: 'hub', estimate: { layerS: [30, 20, 9], layerG: [0.5, 0.3, 0.1] }, recipe });
    expect(patient).not.toContain('waits');
    expect(patient.match(/<path /g)).toHaveLength(2);
  });

  test('axes end at round numbers above the largest layer', () => {
    const svg = layerChartSvg({ name: 'hub', estimate: { layerS: [37, 12], layerG: [0.21, 0.2] }, recipe });
    expect(svg).toContain('>50 s<');
    expect(svg).toContain('>0.25 g<');
  });

  test('is empty without layers', () => {
    expect(layerChartSvg({ name: 'hub', estimate: { layerS: [], layerG: [] }, recipe })).toBe('');
  });
});
