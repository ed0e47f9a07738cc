import type { LayerLoops, LayerPaths } from '@stonehand/model';
import { BEAD_KINDS } from '@stonehand/slice';

/**
 * Independent check of bead paths: beads are painted on a grid as rounded strokes of their width and compared with the section
 * they were made from, painted by counting crossings along each row. Nothing of the packages' polygon code is used.
 */
export type RasterOptions = Readonly<{
  /** size of a pixel; the grid of a layer has (size / pixel)² of them */
  pixelMm?: number;
  /** beads may reach this far beyond the section */
  slackMm?: number;
}>;

export type LayerRaster = Readonly<{
  layer: number;
  sectionMm2: number;
  /** bead pixels farther than slackMm outside the section */
  outsideMm2: number;
  /** the farthest of them, up to 1 mm */
  farthestMm: number;
  /** section pixels that no bead covers */
  uncoveredMm2: number;
}>;

const PART_KINDS = new Set(['outerPerimeter', 'innerPerimeter', 'solid', 'bridge', 'infill']);

export function rasterLayer(
  loops: LayerLoops,
  paths: LayerPaths,
  layer: number,
  options: RasterOptions = {},
): LayerRaster {
  const { pixelMm = 0.05, slackMm = 0.05 } = options;
  const grid = gridOf(loops, layer, pixelMm);
  const section = paintSection(loops, layer, grid);
  const beads = paintBeads(paths, layer, grid);
  let inside = 0;
  let uncovered = 0;
  let outside = 0;
  let farthest = 0;
  for (let i = 0; i < section.length; i++) {
    if (section[i] === 1) {
      inside++;
      if (beads[i] === 0) uncovered++;
    } else if (beads[i] === 1) {
      const d = distanceToSection(section, grid, i, pixelMm);
      if (d > farthest) farthest = d;
      if (d > slackMm + pixelMm) outside++;
    }
  }
  const px2 = pixelMm * pixelMm;
  return {
    layer,
    sectionMm2: inside * px2,
    outsideMm2: outside * px2,
    farthestMm: farthest,
    uncoveredMm2: uncovered * px2,
  };
}

type Grid = Readonly<{ x0: number; y0: number; nx: number; ny: number; pixelMm: number }>;

function gridOf(loops: LayerLoops, layer: number, pixelMm: number): Grid {
  let [x0, y0, x1, y1] = [1e9, 1e9, -1e9, -1e9];
  for (let i = loops.loopStart[loops.layerStart[layer]]; i < loops.loopStart[loops.layerStart[layer + 1]]; i++) {
    x0 = Math.min(x0, loops.xyMm[2 * i]);
    x1 = Math.max(x1, loops.xyMm[2 * i]);
    y0 = Math.min(y0, loops.xyMm[2 * i + 1]);
    y1 = Math.max(y1, loops.xyMm[2 * i + 1]);
  }
  if (x1 < x0) return { x0: 0, y0: 0, nx: 0, ny: 0, pixelMm };
  const marginMm = 1.5;
  const nx = Math.ceil((x1 - x0 + 2 * marginMm) / pixelMm);
  const ny = Math.ceil((y1 - y0 + 2 * marginMm) / pixelMm);
  return { x0: x0 - marginMm, y0: y0 - marginMm, nx, ny, pixelMm };
}

/** Non-zero winding at pixel centres: signed crossings of each row, swept from the left. */
function paintSection(loops: LayerLoops, layer: number, grid: Grid): Uint8Array {
  const { x0, y0, nx, ny, pixelMm } = grid;
  const change = new Int16Array((nx + 1) * ny);
  for (let l = loops.layerStart[layer]; l < loops.layerStart[layer + 1]; l++) {
    const end = loops.loopStart[l + 1];
    let [px, py] = [loops.xyMm[2 * end - 2], loops.xyMm[2 * end - 1]];
    for (let i = loops.loopStart[l]; i < end; i++) {
      const [qx, qy] = [loops.xyMm[2 * i], loops.xyMm[2 * i + 1]];
      const low = Math.max(0, Math.ceil((Math.min(py, qy) - y0) / pixelMm - 0.5));
      const high = Math.min(ny - 1, Math.ceil((Math.max(py, qy) - y0) / pixelMm - 0.5) - 1);
      for (let row = low; row <= high; row++) {
        const y = y0 + (row + 0.5) * pixelMm;
        const x = px + ((y - py) / (qy - py)) * (qx - px);
        const column = Math.min(nx, Math.max(0, Math.ceil((x - x0) / pixelMm - 0.5)));
        change[row * (nx + 1) + column] += qy > py ? -1 : 1;
      }
      [px, py] = [qx, qy];
    }
  }
  const painted = new Uint8Array(nx * ny);
  for (let row = 0; row < ny; row++) {
    let winding = 0;
    for (let column = 0; column < nx; column++) {
      winding += change[row * (nx + 1) + column];
      if (winding !== 0) painted[row * nx + column] = 1;
    }
  }
  return painted;
}

function paintBeads(paths: LayerPaths, layer: number, grid: Grid): Uint8Array {
  const painted = new Uint8Array(grid.nx * grid.ny);
  for (let p = paths.layerStart[layer]; p < paths.layerStart[layer + 1]; p++) {
    if (!PART_KINDS.has(BEAD_KINDS[paths.kind[p]])) continue;
    const from = paths.pathStart[p];
    const to = paths.pathStart[p + 1];
    for (let i = from; i < (paths.closed[p] ? to : to - 1); i++) {
      const j = i + 1 === to ? from : i + 1;
      const xy = paths.xyMm;
      paintStroke(painted, grid, xy[2 * i], xy[2 * i + 1], xy[2 * j], xy[2 * j + 1], paths.widthMm[p] / 2);
    }
  }
  return painted;
}

function paintStroke(
  painted: Uint8Array,
  grid: Grid,
  ax: number,
  ay: number,
  bx: number,
  by: number,
  radius: number,
): void {
  const { x0, y0, nx, ny, pixelMm } = grid;
  const dx = bx - ax;
  const dy = by - ay;
  const length2 = dx * dx + dy * dy;
  const low = Math.max(0, Math.floor((Math.min(ay, by) - radius - y0) / pixelMm));
  const high = Math.min(ny - 1, Math.ceil((Math.max(ay, by) + radius - y0) / pixelMm));
  const left = Math.max(0, Math.floor((Math.min(ax, bx) - radius - x0) / pixelMm));
  const right = Math.min(nx - 1, Math.ceil((Math.max(ax, bx) + radius - x0) / pixelMm));
  for (let row = low; row <= high; row++) {
    const y = y0 + (row + 0.5) * pixelMm - ay;
    for (let column = left; column <= right; column++) {
      const x = x0 + (column + 0.5) * pixelMm - ax;
      const along = length2 > 0 ? Math.min(1, Math.max(0, (x * dx + y * dy) / length2)) : 0;
      const ex = x - along * dx;
      const ey = y - along * dy;
      if (ex * ex + ey * ey <= radius * radius) painted[row * nx + column] = 1;
    }
  }
}

/** Distance to the nearest section pixel, searched in growing squares up to 1 mm. */
function distanceToSection(section: Uint8Array, grid: Grid, at: number, pixelMm: number): number {
  const row = Math.floor(at / grid.nx);
  const column = at % grid.nx;
  const most = Math.ceil(1 / pixelMm);
  let best = most + 1;
  for (let r = 1; r <= most && r < best + 1; r++) {
    for (let dy = -r; dy <= r; dy++) {
      const y = row + dy;
      if (y < 0 || y >= grid.ny) continue;
      const step = Math.abs(dy) === r ? 1 : 2 * r;
      for (let dx = -r; dx <= r; dx += step) {
        const x = column + dx;
        if (x < 0 || x >= grid.nx || section[y * grid.nx + x] === 0) continue;
        best = Math.min(best, Math.hypot(dx, dy));
      }
    }
  }
  return best * pixelMm;
}
