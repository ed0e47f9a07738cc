import { StonehandError } from '@stonehand/base';
import type { ClipPaths, ClipperModule } from './clipper-module.ts';
import { NO_RINGS, type Rings, sameRings } from './rings.ts';

/** 0.01 µm: the sum of a part's perimeters then agrees to 1e-8 with double arithmetic (6e-5 on a grid of 0.1 µm). */
export const UNITS_PER_MM = 1e5;
/** Coordinates are handed over as 32-bit halves; beyond this a number would lose its upper half. */
const FARTHEST_MM = 2 ** 31 / UNITS_PER_MM;

/** Three 64-bit numbers a point (x, y, 0), written as 32-bit halves: making BigInts took a sixth of the clipper's time. */
export function toClipper(clipper: ClipperModule, rings: Rings): ClipPaths {
  const paths = new clipper.Paths64();
  const { xyMm: xy, ringStart } = rings;
  for (let r = 0; r < ringStart.length - 1; r++) {
    const start = ringStart[r];
    const n = ringStart[r + 1] - start;
    const halves = new Int32Array(6 * n);
    for (let i = 0; i < n; i++) {
      const x = Math.round(xy[2 * (start + i)] * UNITS_PER_MM);
      const y = Math.round(xy[2 * (start + i) + 1] * UNITS_PER_MM);
      if (!(Math.abs(x) < 2 ** 31 && Math.abs(y) < 2 ** 31)) throw tooFar(xy[2 * (start + i)], xy[2 * (start + i) + 1]);
      halves[6 * i] = x;
      halves[6 * i + 1] = x >> 31;
      halves[6 * i + 2] = y;
      halves[6 * i + 3] = y >> 31;
    }
    const path = new clipper.Path64();
    path.assign(new BigInt64Array(halves.buffer));
    paths.push_back(path);
    path.delete();
  }
  return paths;
}

function tooFar(x: number, y: number): StonehandError {
  return new StonehandError(
    'GEOMETRY_FAILED',
    `an outline point lies at ${x}, ${y} mm; layers can be worked on up to ${Math.floor(FARTHEST_MM)} mm from the origin`,
    'Check the unit of the file and move the part near the origin.',
  );
}

export type RingReader = (paths: ClipPaths) => Rings;

/**
 * Reads rings out of the clipper. A handle for each ring, as its bindings give, costs more than copying the ring: the lists are read from
 * its memory where a trial on two known rings shows that they lie there as expected (begin and end of a vector, 32-bit).
 */
export function ringReader(clipper: ClipperModule): RingReader {
  const known: Rings = {
    xyMm: Float64Array.of(0, 0, 7.25, -1, 3, 9, -5.5, 2, 4, 4, 1, 8, 2, -3),
    ringStart: Uint32Array.of(0, 3, 7),
  };
  const trial = toClipper(clipper, known);
  const fromMemory: RingReader = (paths) => readMemory(clipper, paths);
  const asExpected = addressOf(trial) !== undefined && sameRings(fromMemory(trial), known, 0);
  trial.delete();
  return asExpected ? fromMemory : readHandles;
}

function addressOf(paths: ClipPaths): number | undefined {
  return (paths as { $$?: { ptr?: number } }).$$?.ptr;
}

const POINT_BYTES = 24;

function readMemory(clipper: ClipperModule, paths: ClipPaths): Rings {
  const { buffer } = clipper.HEAPU8;
  const words = new Int32Array(buffer);
  const list = (addressOf(paths) as number) >> 2;
  const from = words[list] >> 2;
  const n = ((words[list + 1] >> 2) - from) / 3;
  if (!(n > 0)) return NO_RINGS;
  const ringStart = new Uint32Array(n + 1);
  for (let r = 0; r < n; r++) {
    ringStart[r + 1] = ringStart[r] + (words[from + 3 * r + 1] - words[from + 3 * r]) / POINT_BYTES;
  }
  const xyMm = new Float64Array(2 * ringStart[n]);
  let at = 0;
  for (let r = 0; r < n; r++) {
    const end = words[from + 3 * r + 1] >> 2;
    for (let i = words[from + 3 * r] >> 2; i < end; i += POINT_BYTES / 4) {
      xyMm[at++] = words[i] / UNITS_PER_MM;
      xyMm[at++] = words[i + 2] / UNITS_PER_MM;
    }
  }
  return { xyMm, ringStart };
}

/** The same ring by ring, as the bindings give them. */
export function readHandles(paths: ClipPaths): Rings {
  const n = paths.size();
  if (n === 0) return NO_RINGS;
  const views: Int32Array[] = [];
  const ringStart = new Uint32Array(n + 1);
  for (let r = 0; r < n; r++) {
    const path = paths.get(r);
    const view = path.view();
    // Copied before the handle goes: the view shows the clipper's own memory.
    views.push(new Int32Array(view.buffer, view.byteOffset, 2 * view.length).slice());
    ringStart[r + 1] = ringStart[r] + view.length / 3;
    path.delete();
  }
  const xyMm = new Float64Array(2 * ringStart[n]);
  let at = 0;
  for (const halves of views) {
    for (let i = 0; i < halves.length; i += 6) {
      xyMm[at++] = halves[i] / UNITS_PER_MM;
      xyMm[at++] = halves[i + 2] / UNITS_PER_MM;
    }
  }
  return { xyMm, ringStart };
}
