import { affineOf, rotationOfTurns } from '@stonehand/base';
import { findBores, testPiece } from '@stonehand/inspect';
import { halfEdgeTwins, massProperties, transformMesh } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { tube } from './solids.ts';

// A seat of 22.1 in a hub of 60: the piece is the box around it.
const hub = (turns: readonly [number, number, number]): Mesh =>
  transformMesh(tube(11.05, 30, 12, 72), affineOf(rotationOfTurns(turns), [40, -20, 15]));

describe('a test piece around a bore', () => {
  test.each([[[0, 0, 0]], [[30, 70, 10]]] as const)(
    'of a part turned by %j is closed, keeps the bore to 1e-6, and is the box that was asked for',
    (turns) => {
      const mesh = hub(turns);
      const seat = findBores(mesh).find(({ kind }) => kind === 'bore')!;
      const piece = testPiece(mesh, seat, { aroundMm: 4 });
      expect([...halfEdgeTwins(piece)].every((twin) => twin >= 0)).toBe(true);
      const again = findBores(piece).find(({ kind }) => kind === 'bore')!;
      for (const key of ['cornersMm', 'flatsMm', 'depthMm'] as const) expect(again[key]).toBeCloseTo(seat[key], 6);
      for (let k = 0; k < 3; k++) expect(again.atMm[k]).toBeCloseTo(seat.atMm[k]!, 6);
      // A square of bore + 2 · 4 less the regular 72-gon, 12 high: the planes beyond its ends miss the hub.
      const polygon = 36 * 11.05 ** 2 * Math.sin((2 * Math.PI) / 72);
      const side = seat.cornersMm + 8;
      expect(massProperties(piece).volumeMm3).toBeCloseTo((side ** 2 - polygon) * 12, 3);
    },
  );
});
