import { massProperties, topology } from '@stonehand/mesh';
import { hollowMesh, type Level } from '@stonehand/split';
import { describe, expect, test } from 'vitest';
import { box } from './solids.ts';

const square = (from: number, to: number): Level['rings'][number] => [
  [from, from],
  [to, from],
  [to, to],
  [from, to],
];

describe('a hollowed mesh', () => {
  test('a cube of 20 with a stepped room of 12³ and 8 × 8 × 2 over it loses just that, and stays closed', async () => {
    const hollow = await hollowMesh(box([20, 20, 20]), [
      { bottomMm: 4, topMm: 10, rings: [square(4, 16)] },
      { bottomMm: 10, topMm: 16, rings: [square(4, 16)] },
      { bottomMm: 16, topMm: 18, rings: [square(6, 14)] },
    ]);
    expect(massProperties(hollow).volumeMm3).toBeCloseTo(8000 - 12 ** 3 - 8 * 8 * 2, 3);
    expect(topology(hollow)).toMatchObject({ boundaryEdges: 0, nonManifoldEdges: 0, misorientedEdges: 0 });
  });
  test('nothing to take out leaves the part as it is; a room beyond the part is refused', async () => {
    const whole = box([20, 20, 20]);
    expect(await hollowMesh(whole, [{ bottomMm: 2, topMm: 3, rings: [] }])).toBe(whole);
    await expect(hollowMesh(whole, [{ bottomMm: 4, topMm: 10, rings: [square(4, 25)] }])).rejects.toMatchObject({
      code: 'GEOMETRY_FAILED',
    });
  });
});
