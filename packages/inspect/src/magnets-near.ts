import type { Vec3 } from '@stonehand/model';

export type PlacedItem = Readonly<{ itemId: string; atMm: Vec3; magnetic: boolean; magnetMm?: number }>;
export type Pull = Readonly<{ magnetId: string; itemId: string; distanceMm: number; atMm: Vec3 }>;

/** A disc pulls noticeably within about twice its diameter: common practice, no source. */
const REACH_DIAMETERS = 2;

/** Steel within reach of a magnet, nearest pair of each two kinds of item; magnets among themselves are meant so. */
export function magnetsNear(items: readonly PlacedItem[]): Pull[] {
  const nearest = new Map<string, Pull>();
  for (const magnet of items) {
    if (magnet.magnetMm === undefined) continue;
    for (const item of items) {
      if (!item.magnetic || item.magnetMm !== undefined) continue;
      const distanceMm = Math.hypot(...magnet.atMm.map((x, i) => x - item.atMm[i]!));
      const key = `${magnet.itemId}\n${item.itemId}`;
      if (distanceMm > REACH_DIAMETERS * magnet.magnetMm || distanceMm >= (nearest.get(key)?.distanceMm ?? Infinity))
        continue;
      nearest.set(key, { magnetId: magnet.itemId, itemId: item.itemId, distanceMm, atMm: item.atMm });
    }
  }
  return [...nearest.values()].sort((a, b) => a.distanceMm - b.distanceMm);
}
