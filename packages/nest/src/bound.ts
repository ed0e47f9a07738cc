import type { Container } from './container.ts';
import type { Layout } from './layout.ts';

/**
 * Least number of equal containers for all items: total area over a container's, and the number of pieces so large that two never
 * share a container.
 */
export function leastContainers(layout: Layout, container: Container): number {
  let area = 0;
  let large = 0;
  for (let i = 0; i < layout.count; i++) {
    area += layout.world.shapes[layout.shape[i]!]!.areaMm2;
    if (alwaysCoversCentre(layout, layout.shape[i]!, container)) large++;
  }
  return Math.max(Math.ceil((area / container.areaMm2) * (1 - 1e-9)), large, layout.count > 0 ? 1 : 0);
}

/**
 * Whether a shape covers the middle of the container's box wherever it lies inside and however it is turned: two such
 * shapes overlap. True when, for every turn, one convex part holds the middle at all four extreme places.
 */
export function alwaysCoversCentre(layout: Layout, shape: number, container: Container): boolean {
  const { world } = layout;
  const middleX = (container.x0 + container.x1) / 2;
  const middleY = (container.y0 + container.y1) / 2;
  const wall = world.shapes[shape]!.wallMm;
  for (let v = world.firstVariant[shape]!; v < world.firstVariant[shape + 1]!; v++) {
    // The middle as the shape sees it from its extreme places.
    const highX = middleX - (container.x0 + wall - world.box[4 * v]!);
    const lowX = middleX - (container.x1 - wall - world.box[4 * v + 2]!);
    const highY = middleY - (container.y0 + wall - world.box[4 * v + 1]!);
    const lowY = middleY - (container.y1 - wall - world.box[4 * v + 3]!);
    if (lowX > highX || lowY > highY) continue; // this turn does not fit at all
    const cos = world.cos[v]!;
    const sin = world.sin[v]!;
    const corners = [lowX, lowY, highX, lowY, highX, highY, lowX, highY];
    const held = world.shapes[shape]!.parts.some((part) => {
      for (let k = 0; k < 8; k += 2) {
        const x = cos * corners[k]! + sin * corners[k + 1]!;
        const y = cos * corners[k + 1]! - sin * corners[k]!;
        if (!isDeepInside(part, x, y, layout.tolMm)) return false;
      }
      return true;
    });
    if (!held) return false;
  }
  return true;
}

function isDeepInside(part: Float64Array, x: number, y: number, tolMm: number): boolean {
  for (let i = 0; i < part.length; i += 2) {
    const ax = part[i]!;
    const ay = part[i + 1]!;
    const ex = part[(i + 2) % part.length]! - ax;
    const ey = part[(i + 3) % part.length]! - ay;
    if (ex * (y - ay) - ey * (x - ax) <= tolMm * Math.hypot(ex, ey)) return false;
  }
  return true;
}
