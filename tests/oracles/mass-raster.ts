import type { LayerPaths, Tensor, Vec3 } from '@stonehand/model';
import { BEAD_KINDS } from '@stonehand/slice';

/** Mass, centre and inertia of a print as voxels: what stays in the part, no rod and no length of a path is ever used. */
export type RasterMass = Readonly<{ massG: number; centreMm: Vec3; inertiaGMm2: Tensor }>;

const REMOVED = new Set(['support', 'contact', 'brim', 'purge', 'travel']);
/** A pixel's share under a bead is counted on so many points a side. */
const FINE = 4;

/**
 * Paints every bead as a flat strip of its width on pixels, with the thickness that gives it the section of a strip with round
 * edges; pixels are voxels as high as their layer.
 */
export function massRaster(paths: LayerPaths, densityGPerCm3: number, pixelMm: number): RasterMass {
  let [m, sx, sy, sz] = [0, 0, 0, 0];
  let [xx, yy, zz, xy, yz, zx] = [0, 0, 0, 0, 0, 0];
  for (let layer = 0; layer < paths.topMm.length; layer++) {
    const bottom = layer === 0 ? paths.bottomMm : paths.topMm[layer - 1]!;
    const height = paths.topMm[layer]! - bottom;
    const z = bottom + height / 2;
    for (const [key, mm3] of volumesOf(paths, layer, height, pixelMm)) {
      const g = (mm3 * densityGPerCm3) / 1000;
      const x = (Math.floor(key / STRIDE) - HALF + 0.5) * pixelMm;
      const y = ((key % STRIDE) - HALF + 0.5) * pixelMm;
      m += g;
      sx += g * x;
      sy += g * y;
      sz += g * z;
      xx += g * (x * x + pixelMm ** 2 / 12);
      yy += g * (y * y + pixelMm ** 2 / 12);
      zz += g * (z * z + height ** 2 / 12);
      xy += g * x * y;
      yz += g * y * z;
      zx += g * z * x;
    }
  }
  const [x, y, z] = [sx / m, sy / m, sz / m];
  const [ax, ay, az] = [xx - m * x * x, yy - m * y * y, zz - m * z * z];
  return {
    massG: m,
    centreMm: [x, y, z],
    inertiaGMm2: [ay + az, ax + az, ax + ay, -(xy - m * x * y), -(yz - m * y * z), -(zx - m * z * x)],
  };
}

const STRIDE = 1 << 16;
const HALF = 1 << 15;

/** mm³ of plastic by pixel of one layer. */
function volumesOf(paths: LayerPaths, layer: number, height: number, pixelMm: number): Map<number, number> {
  const volumes = new Map<number, number>();
  for (let p = paths.layerStart[layer]!; p < paths.layerStart[layer + 1]!; p++) {
    if (REMOVED.has(BEAD_KINDS[paths.kind[p]!]!)) continue;
    const width = paths.widthMm[p]!;
    // (w − h)·h + π·(h/2)², spread over the width.
    const thick = ((width - height) * height + Math.PI * (height / 2) ** 2) / width;
    const [from, to] = [paths.pathStart[p]!, paths.pathStart[p + 1]!];
    const last = paths.closed[p] === 1 ? to : to - 1;
    for (let i = from; i < last; i++) {
      const j = i + 1 === to ? from : i + 1;
      const xy = paths.xyMm;
      strip([xy[2 * i]!, xy[2 * i + 1]!, xy[2 * j]!, xy[2 * j + 1]!], width, thick, pixelMm, volumes);
    }
  }
  return volumes;
}

function strip(
  [ax, ay, bx, by]: readonly [number, number, number, number],
  width: number,
  thick: number,
  pixelMm: number,
  volumes: Map<number, number>,
): void {
  const length = Math.hypot(bx - ax, by - ay);
  if (length === 0) return;
  const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
  const half = width / 2;
  const step = pixelMm / FINE;
  const fine = step * step * thick;
  const reachX = Math.abs(uy) * half;
  const reachY = Math.abs(ux) * half;
  const [x0, x1] = [Math.floor((Math.min(ax, bx) - reachX) / step), Math.ceil((Math.max(ax, bx) + reachX) / step)];
  const [y0, y1] = [Math.floor((Math.min(ay, by) - reachY) / step), Math.ceil((Math.max(ay, by) + reachY) / step)];
  for (let i = x0; i <= x1; i++) {
    const dx = (i + 0.5) * step - ax;
    for (let j = y0; j <= y1; j++) {
      const dy = (j + 0.5) * step - ay;
      const along = dx * ux + dy * uy;
      if (along < 0 || along >= length) continue;
      const across = dx * uy - dy * ux;
      if (across < -half || across >= half) continue;
      const key = (Math.floor(i / FINE) + HALF) * STRIDE + Math.floor(j / FINE) + HALF;
      volumes.set(key, (volumes.get(key) ?? 0) + fine);
    }
  }
}
