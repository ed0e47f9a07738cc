import type { LayerLoops } from '@stonehand/model';

/** Signed area in mm² of the closed loop of points start … end − 1 of x, y pairs; positive counter-clockwise. */
export function loopArea(xyMm: ArrayLike<number>, start: number, end: number): number {
  if (end - start < 3) return 0;
  // About the first point: far from the origin the products would lose the digits that a small loop needs.
  const ox = xyMm[2 * start];
  const oy = xyMm[2 * start + 1];
  let sum = 0;
  let px = xyMm[2 * end - 2] - ox;
  let py = xyMm[2 * end - 1] - oy;
  for (let i = start; i < end; i++) {
    const x = xyMm[2 * i] - ox;
    const y = xyMm[2 * i + 1] - oy;
    sum += px * y - x * py;
    px = x;
    py = y;
  }
  return sum / 2;
}

/** Length in mm of the closed loop of points start … end − 1. */
export function loopLength(xyMm: ArrayLike<number>, start: number, end: number): number {
  let sum = 0;
  let px = xyMm[2 * end - 2];
  let py = xyMm[2 * end - 1];
  for (let i = start; i < end; i++) {
    const dx = xyMm[2 * i] - px;
    const dy = xyMm[2 * i + 1] - py;
    sum += Math.sqrt(dx * dx + dy * dy);
    px += dx;
    py += dy;
  }
  return sum;
}

/** Area of layer i by winding: holes count down, bodies that overlap count twice, a mesh turned inside out is negative. */
export function layerAreaMm2(loops: LayerLoops, layer: number): number {
  let sum = 0;
  for (let l = loops.layerStart[layer]; l < loops.layerStart[layer + 1]; l++) {
    sum += loopArea(loops.xyMm, loops.loopStart[l], loops.loopStart[l + 1]);
  }
  return sum;
}

/** Length of all outlines of layer i, holes included. */
export function layerPerimeterMm(loops: LayerLoops, layer: number): number {
  let sum = 0;
  for (let l = loops.layerStart[layer]; l < loops.layerStart[layer + 1]; l++) {
    sum += loopLength(loops.xyMm, loops.loopStart[l], loops.loopStart[l + 1]);
  }
  return sum;
}
