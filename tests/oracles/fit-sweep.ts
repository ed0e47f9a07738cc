/**
 * The slow, plain answer to "does this convex polygon fit at some turn": try every hundredth of a degree. Between two
 * tries an extent changes by at most the polygon's diameter times half a step, which bounds what the sweep can miss.
 */
export type Sweep = Readonly<{
  /** least of max(extent x − wide, extent y − deep) over the turns tried */
  leastOverMm: number;
  /** the fitting turn nearest to 0 that was tried, degrees */
  nearestDeg: number | undefined;
  /** largest of min(wide / extent x, deep / extent y) */
  bestScale: number;
  /** how much an extent can change between a try and the nearest untried turn */
  missedMm: number;
}>;

export const STEP_DEG = 0.01;
const COUNT = 90 / STEP_DEG;
const COS = Float64Array.from({ length: 2 * COUNT + 1 }, (_, k) => Math.cos(((k - COUNT) * STEP_DEG * Math.PI) / 180));
const SIN = Float64Array.from({ length: 2 * COUNT + 1 }, (_, k) => Math.sin(((k - COUNT) * STEP_DEG * Math.PI) / 180));

export function sweepRectangle(corners: readonly (readonly [number, number])[], wide: number, deep: number): Sweep {
  const xs = Float64Array.from(corners, (p) => p[0]);
  const ys = Float64Array.from(corners, (p) => p[1]);
  let leastOverMm = Infinity;
  let nearestDeg: number | undefined;
  let bestScale = 0;
  for (let k = 0; k <= 2 * COUNT; k++) {
    const c = COS[k]!;
    const s = SIN[k]!;
    let left = Infinity;
    let right = -Infinity;
    let front = Infinity;
    let back = -Infinity;
    for (let i = 0; i < xs.length; i++) {
      const x = c * xs[i]! - s * ys[i]!;
      const y = s * xs[i]! + c * ys[i]!;
      if (x < left) left = x;
      if (x > right) right = x;
      if (y < front) front = y;
      if (y > back) back = y;
    }
    const over = Math.max(right - left - wide, back - front - deep);
    if (over < leastOverMm) leastOverMm = over;
    const deg = (k - COUNT) * STEP_DEG;
    if (over <= 0 && (nearestDeg === undefined || Math.abs(deg) < Math.abs(nearestDeg))) nearestDeg = deg;
    const scale = Math.min(wide / (right - left), deep / (back - front));
    if (scale > bestScale) bestScale = scale;
  }
  let diameter = 0;
  for (let i = 0; i < xs.length; i++) {
    for (let j = 0; j < i; j++) diameter = Math.max(diameter, Math.hypot(xs[i]! - xs[j]!, ys[i]! - ys[j]!));
  }
  return { leastOverMm, nearestDeg, bestScale, missedMm: (diameter * STEP_DEG * Math.PI) / 360 };
}

/** Whether the polygon, turned by `deg`, can be moved into the convex plate: cut the plate's plane by every shifted edge. */
export function fitsAtTurn(
  corners: readonly (readonly [number, number])[],
  plate: readonly (readonly [number, number])[],
  deg: number,
): boolean {
  const c = Math.cos((deg * Math.PI) / 180);
  const s = Math.sin((deg * Math.PI) / 180);
  const turned = corners.map(([x, y]) => [c * x - s * y, s * x + c * y] as const);
  let room: (readonly [number, number])[] = [
    [-1e4, -1e4],
    [1e4, -1e4],
    [1e4, 1e4],
    [-1e4, 1e4],
  ];
  for (let i = 0; i < plate.length; i++) {
    const [ax, ay] = plate[i]!;
    const [bx, by] = plate[(i + 1) % plate.length]!;
    // Inside is left of a → b for every corner, so the reference point must be left of the edge moved by the worst corner.
    const left = (x: number, y: number): number => (bx - ax) * (y - ay) - (by - ay) * (x - ax);
    const worst = Math.min(...turned.map(([x, y]) => (bx - ax) * y - (by - ay) * x));
    const value = (p: readonly [number, number]): number => left(p[0], p[1]) + worst;
    const next: (readonly [number, number])[] = [];
    for (let k = 0; k < room.length; k++) {
      const p = room[k]!;
      const q = room[(k + 1) % room.length]!;
      const vp = value(p);
      const vq = value(q);
      if (vp >= 0) next.push(p);
      if (vp < 0 !== vq < 0) {
        const t = vp / (vp - vq);
        next.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
      }
    }
    room = next;
    if (room.length === 0) return false;
  }
  return true;
}
