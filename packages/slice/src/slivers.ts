import type { Polygons } from './polygons.ts';
import { type Rings, ringCount, ringsAreaMm2 } from './rings.ts';

/** The region without parts narrower than widthMm: shrunk by half of it and grown back. */
export function withoutSlivers(region: Rings, widthMm: number, polygons: Polygons): Rings {
  if (ringCount(region) === 0) return region;
  const heart = polygons.offset(region, -widthMm / 2);
  if (ringCount(heart) === 0) return heart;
  const opened = polygons.offset(heart, widthMm / 2);
  // Nothing of note was narrow: keep the corners as they were.
  return ringsAreaMm2(region) - ringsAreaMm2(opened) < 0.25 * widthMm * widthMm ? region : opened;
}
