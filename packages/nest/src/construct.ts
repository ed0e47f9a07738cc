import type { Random } from '@stonehand/base';
import type { Place } from './find-place.ts';
import { type Layout, lossAt, wallDepthAt } from './layout.ts';

/**
 * A free place for item i in one container, as far left (then low) as samples and sliding find; undefined when no sample
 * finds a free place.
 */
export function freePlace(layout: Layout, i: number, home: number, random: Random, samples: number): Place | undefined {
  const { world } = layout;
  const shape = layout.shape[i]!;
  const first = world.firstVariant[shape]!;
  const turns = world.firstVariant[shape + 1]! - first;
  const container = layout.containers[home]!;
  const wall = world.shapes[shape]!.wallMm;
  let best: Place | undefined;
  let bestScore = Infinity;
  for (let k = 0; k < samples; k++) {
    const variant = first + (k % turns);
    const box = world.box;
    const lowX = container.x0 + wall - box[4 * variant]!;
    const highX = container.x1 - wall - box[4 * variant + 2]!;
    const lowY = container.y0 + wall - box[4 * variant + 1]!;
    const highY = container.y1 - wall - box[4 * variant + 3]!;
    if (lowX > highX + layout.tolMm || lowY > highY + layout.tolMm) continue;
    const place: Place = {
      variant,
      // Nothing right of the best so far can win.
      x: lowX + random.next() * Math.max(0, Math.min(highX, bestScore - box[4 * variant + 2]!) - lowX),
      y: lowY + random.next() * Math.max(0, highY - lowY),
      home,
      loss: 0,
    };
    if (lossAt(layout, i, variant, place.x, place.y, home, layout.tolMm) > 0) continue;
    slide(layout, i, place);
    const score = scoreOf(layout, place);
    if (score < bestScore) {
      best = place;
      bestScore = score;
    }
  }
  return best;
}

/** Right edge first, top edge a little: what lies left and low leaves the rest in one piece. */
function scoreOf(layout: Layout, place: Place): number {
  const box = layout.world.box;
  return place.x + box[4 * place.variant + 2]! + 0.05 * (place.y + box[4 * place.variant + 3]!);
}

function slide(layout: Layout, i: number, place: Place): void {
  const box = layout.world.box;
  const size = Math.max(
    box[4 * place.variant + 2]! - box[4 * place.variant]!,
    box[4 * place.variant + 3]! - box[4 * place.variant + 1]!,
  );
  for (let turn = 0; turn < 3; turn++) {
    const fromX = place.x;
    const fromY = place.y;
    slideAlong(layout, i, place, -1, 0, size);
    slideAlong(layout, i, place, 0, -1, size);
    if (fromX - place.x < size * 1e-3 && fromY - place.y < size * 1e-3) return;
  }
}

function slideAlong(layout: Layout, i: number, place: Place, dx: number, dy: number, size: number): void {
  let step = size / 2;
  while (step > size * 1e-5) {
    const x = place.x + dx * step;
    const y = place.y + dy * step;
    if (
      wallDepthAt(layout, place.variant, x, y, place.home) === 0 &&
      lossAt(layout, i, place.variant, x, y, place.home, layout.tolMm) === 0
    ) {
      place.x = x;
      place.y = y;
    } else {
      step /= 2;
    }
  }
}

/** Largest first: hull area times the longest side of the box; ties by number. */
export function largestFirst(layout: Layout): number[] {
  const { world } = layout;
  const bulk = Array.from({ length: layout.count }, (_, i) => {
    const v = world.firstVariant[layout.shape[i]!]!;
    const wide = world.box[4 * v + 2]! - world.box[4 * v]!;
    const high = world.box[4 * v + 3]! - world.box[4 * v + 1]!;
    return world.shapes[layout.shape[i]!]!.hullAreaMm2 * Math.max(wide, high);
  });
  return bulk.map((_, i) => i).sort((a, b) => bulk[b]! - bulk[a]! || a - b);
}
