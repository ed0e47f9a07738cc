import type { LayerPaths, Material, Printer } from '@stonehand/model';
import { BEAD_KINDS, beadAreaMm2 } from '@stonehand/slice';
import { motionOf, runEnd } from './estimate-paths.ts';
import { PathTimer } from './path-seconds.ts';

/**
 * Mean speed of each path in mm/s, stops and corners included: its length over its seconds, by the same motion as estimatePaths, before a layer is slowed
 * to its least seconds. Beads that follow each other without a stop share one speed. A path without length has speed 0.
 */
export function pathSpeeds(
  paths: LayerPaths,
  { printer, material }: Readonly<{ printer: Printer; material: Material }>,
): Float32Array {
  const flowMm3S = Math.min(printer.flowMm3S, material.flowMm3S);
  const timer = new PathTimer();
  const speeds = new Float32Array(paths.kind.length);
  for (let i = 0; i < paths.topMm.length; i++) {
    const heightMm = paths.topMm[i] - (i === 0 ? paths.bottomMm : paths.topMm[i - 1]);
    for (let p = paths.layerStart[i]; p < paths.layerStart[i + 1]; ) {
      const run = runEnd(paths, p, paths.layerStart[i + 1]);
      const kind = BEAD_KINDS[paths.kind[p]];
      let broadestMm2 = 0;
      for (let q = p; q < run && kind !== 'travel'; q++)
        broadestMm2 = Math.max(broadestMm2, beadAreaMm2(paths.widthMm[q], heightMm));
      const closed = paths.closed[p] === 1;
      const motion = motionOf(kind, broadestMm2, flowMm3S, i === 0, printer);
      const seconds = timer.seconds(paths.xyMm, paths.pathStart[p], paths.pathStart[run], closed, motion);
      const lengthMm = lengthOf(paths.xyMm, paths.pathStart[p], paths.pathStart[run], closed);
      speeds.fill(seconds > 0 ? lengthMm / seconds : 0, p, run);
      p = run;
    }
  }
  return speeds;
}

function lengthOf(xy: Float32Array, from: number, to: number, closed: boolean): number {
  let sum = 0;
  for (let i = from; i < (closed ? to : to - 1); i++) {
    const j = i + 1 === to ? from : i + 1;
    sum += Math.hypot(xy[2 * j] - xy[2 * i], xy[2 * j + 1] - xy[2 * i + 1]);
  }
  return sum;
}
