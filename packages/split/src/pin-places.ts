import type { Vec2 } from '@stonehand/model';
import { type Circle, distanceToEdges } from './contact-region.ts';
import type { Contact } from './contacts.ts';
import { sectionOf } from './section.ts';

/** A pin across the cut: its bore's radius, and how deep it goes on each side. */
export type Pin = Readonly<{ at: Vec2; sizeMm: number; boreRadiusMm: number; depthMm: number }>;

export type PinRules = Readonly<{
  sizesMm: readonly number[];
  /** radius of the round that holds the bore, and depth of the bore on each side */
  boreRadiusMm: (sizeMm: number) => number;
  depthMm: (sizeMm: number) => number;
  leastWallMm: (sizeMm: number) => number;
  most: number;
}>;

const MOST_TRIED = 60;
const LEAST_APART_RADII = 4;

/**
 * The thickest pins for which at least two places are found, as far apart as they can be, then more in between; one alone
 * locks no turn and comes second. Places are middles of inscribed circles; behind the cut the same room must go on for the
 * depth of the bore and its wall, on both sides.
 */
export function pinPlaces(contact: Contact, rules: PinRules, holdsIn: (pin: Pin) => boolean): Pin[] {
  const levels = new Map<string, LevelEdges | undefined>();
  let single: Pin[] = [];
  for (const sizeMm of rules.sizesMm) {
    const boreRadiusMm = rules.boreRadiusMm(sizeMm);
    const depthMm = rules.depthMm(sizeMm);
    const need = boreRadiusMm + rules.leastWallMm(sizeMm);
    const roomy = contact.circles.filter((circle) => circle.radiusMm >= need);
    if (roomy.length === 0) continue;
    const pins: Pin[] = [];
    let from = meanOf(roomy);
    let left = roomy;
    while (pins.length < rules.most) {
      const found = farthestFirst(left, from)
        .slice(0, MOST_TRIED)
        .find(
          ({ at }) =>
            isDeep(at, need, depthMm + rules.leastWallMm(sizeMm)) && holdsIn({ at, sizeMm, boreRadiusMm, depthMm }),
        );
      if (found === undefined) break;
      pins.push({ at: found.at, sizeMm, boreRadiusMm, depthMm });
      left = left.filter(({ at }) => distance(at, found.at) >= LEAST_APART_RADII * need);
      // The next is far from all so far: the sum of them is reflected in what is left and in the farthest corner.
      from = pins.length === 1 ? found.at : meanOfPoints(pins.map(({ at }) => at));
    }
    if (pins.length >= 2) return pins;
    if (single.length === 0) single = pins;
  }
  return single;

  function isDeep(at: Vec2, need: number, depthMm: number): boolean {
    return [depthMm, depthMm / 2].every((d) => hasRoom(at, need, -d) && hasRoom(at, need, d));
  }

  function hasRoom(at: Vec2, need: number, height: number): boolean {
    const key = height.toFixed(6);
    if (!levels.has(key)) levels.set(key, levelEdges(contact, height));
    const level = levels.get(key);
    return level !== undefined && windingAt(level, at) > 0 && distanceToEdges(level, at) >= need;
  }
}

type LevelEdges = Float64Array;

function levelEdges({ plane, lower, upper }: Contact, height: number): LevelEdges | undefined {
  const mesh = height < 0 ? lower.mesh : upper.mesh;
  const section = sectionOf(mesh, { normal: plane.normal, offsetMm: plane.offsetMm + height });
  if (section === undefined) return undefined;
  const edges: number[] = [];
  for (const ring of section.rings) {
    ring.forEach(([bx, by], i) => {
      const [ax, ay] = ring[(i + ring.length - 1) % ring.length];
      edges.push(ax, ay, bx, by);
    });
  }
  return Float64Array.from(edges);
}

function windingAt(edges: LevelEdges, at: Vec2): number {
  let winding = 0;
  for (let k = 0; k < edges.length; k += 4) {
    const [ax, ay, bx, by] = [edges[k], edges[k + 1], edges[k + 2], edges[k + 3]];
    const left = (bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax);
    if (ay <= at[1] && by > at[1] && left > 0) winding++;
    if (ay > at[1] && by <= at[1] && left < 0) winding--;
  }
  return winding;
}

function farthestFirst(circles: readonly Circle[], from: Vec2): Circle[] {
  return [...circles].sort(
    (a, b) =>
      distance(b.at, from) - distance(a.at, from) || b.radiusMm - a.radiusMm || a.at[0] - b.at[0] || a.at[1] - b.at[1],
  );
}

const meanOf = (circles: readonly Circle[]): Vec2 => meanOfPoints(circles.map(({ at }) => at));

function meanOfPoints(points: readonly Vec2[]): Vec2 {
  let x = 0;
  let y = 0;
  for (const at of points) {
    x += at[0] / points.length;
    y += at[1] / points.length;
  }
  return [x, y];
}

const distance = (a: Vec2, b: Vec2): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
