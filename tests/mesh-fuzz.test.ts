import { bytesSource, massProperties, readMesh, topology } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { mutated, undamaged } from './fuzz/mutate.mjs';
import { runMeshFuzz } from './fuzz/run-mesh-fuzz.mjs';

// The short form of `node tests/fuzz/mesh-fuzz.mjs`: same seed, first cases of the same series.
const CASES = 200;
const SEED = 1;

// Volume of the undamaged file in its own unit: boxes of 10 × 20 × 30, as often as the file places them.
const VOLUMES: Readonly<Record<string, number>> = {
  'stl-binary': 6000,
  'stl-text': 6000,
  obj: 6000,
  'ply-text': 6000,
  'ply-little': 6000,
  'ply-big': 6000,
  gltf: 6000e-9 * 3, // one of both nodes is twice as long
  glb: 6000e-9 * 3,
  amf: 12000,
  'amf-zip': 12000,
  '3mf': 18000,
  gzip: 6000,
  zip: 6000,
};

describe('damaged mesh files', () => {
  for (const [format, volume] of Object.entries(VOLUMES)) {
    test(`${format}: whole it is read, ${CASES} times damaged it is read or refused in one line, at once and in little memory`, async () => {
      const { name, bytes } = undamaged(format);
      const { mesh } = await readMesh(bytesSource(name, bytes));
      expect(topology(mesh).closed).toBe(true);
      expect(massProperties(mesh).volumeMm3 / volume).toBeCloseTo(1, 6); // glTF is in single precision
      expect(mutated(format, SEED, 3).bytes).toEqual(mutated(format, SEED, 3).bytes);
      const result = await runMeshFuzz(format, { seed: SEED, cases: CASES });
      const refused = Object.values(result.refused).reduce((sum, n) => sum + n, 0);
      expect({ crashes: result.crashes, hangs: result.hangs }).toEqual({ crashes: [], hangs: [] });
      expect(result.read + refused).toBe(CASES);
      expect(refused).toBeGreaterThan(CASES / 10); // else the damage would be none
      expect(result.peakRssBytes).toBeLessThan(2 ** 30);
    });
  }
});
