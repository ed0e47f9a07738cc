import type { Mesh, Recipe } from '@stonehand/model';

/** Axis-parallel block from the origin. */
export function block(a: number, b: number, c: number): Mesh {
  const positions = Float64Array.from({ length: 24 }, (_, n) => {
    const i = Math.floor(n / 3);
    return n % 3 === 0 ? (i & 1 ? a : 0) : n % 3 === 1 ? (i & 2 ? b : 0) : i & 4 ? c : 0;
  });
  const triangles = Uint32Array.from([
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ]);
  return { positions, triangles, originMm: [0, 0, 0] };
}

/** The recipe of check values F6. */
export function recipeOf(changes: Partial<Recipe> = {}): Recipe {
  return {
    id: 'standard',
    layerMm: 0.2,
    firstLayerMm: 0.2,
    beadWidthMm: 0.45,
    perimeters: 2,
    roofLayers: 4,
    floorLayers: 4,
    infillShare: 0.15,
    infillPattern: 'lines',
    overhangFromVerticalDeg: 45,
    bridgeMm: 10,
    support: 'auto',
    supportShare: 0.15,
    brimMm: 0,
    leastLayerS: 0,
    ...changes,
  };
}
