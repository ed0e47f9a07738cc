import type { Box, Vec3 } from '@stonehand/model';

/**
 * Where a cut should not go, in the part's coordinates: a round feature about its axis, or a box. `never` forbids it;
 * otherwise a cut through it costs as much as most of a piece.
 */
export type Region = Readonly<{ never?: boolean; what?: string }> &
  (Readonly<{ fromMm: Vec3; toMm: Vec3; radiusMm: number }> | Readonly<{ box: Box }>);

/** Kept free beside a feature, so that its wall is not cut either; common practice, no source. */
const BESIDE_MM = 1.5;

/** How far a region reaches along a direction. */
export function reachOf(region: Region, [nx, ny, nz]: Vec3): readonly [number, number] {
  if ('box' in region) {
    const { min, max } = region.box;
    const low =
      Math.min(nx * min[0], nx * max[0]) + Math.min(ny * min[1], ny * max[1]) + Math.min(nz * min[2], nz * max[2]);
    const high =
      Math.max(nx * min[0], nx * max[0]) + Math.max(ny * min[1], ny * max[1]) + Math.max(nz * min[2], nz * max[2]);
    return [low, high];
  }
  const { fromMm: a, toMm: b, radiusMm } = region;
  const from = nx * a[0] + ny * a[1] + nz * a[2];
  const to = nx * b[0] + ny * b[1] + nz * b[2];
  const length = Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
  const cosine = length > 0 ? (to - from) / length : 0;
  const aside = radiusMm * Math.sqrt(Math.max(0, 1 - cosine * cosine)) + BESIDE_MM;
  return [Math.min(from, to) - aside, Math.max(from, to) + aside];
}

export function middleOf(region: Region): Vec3 {
  const [a, b] = 'box' in region ? [region.box.min, region.box.max] : [region.fromMm, region.toMm];
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
}

export type Crossed = Readonly<{ never: number; others: number }>;

/** How many regions a plane goes through. */
export function crossedBy(regions: readonly Region[], normal: Vec3, offsetMm: number): Crossed {
  let never = 0;
  let others = 0;
  for (const region of regions) {
    const [low, high] = reachOf(region, normal);
    if (offsetMm <= low || offsetMm >= high) continue;
    if (region.never === true) never++;
    else others++;
  }
  return { never, others };
}
