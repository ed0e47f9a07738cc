import type { Finding, Mesh } from '@stonehand/model';
import { type Bodies, bodiesOf, NO_BODY } from './bodies.ts';
import { columnVolume } from './column-volume.ts';
import { many, type Places, placesOf, SOLID_FIGURES, short } from './finding-places.ts';
import { type MassProperties, massProperties } from './mass-properties.ts';
import { insideOutBodies, type Nesting, nestingOf, swallowedBodies } from './nesting.ts';
import { selfIntersections } from './self-intersections.ts';
import type { Topology } from './topology.ts';
import { nonManifoldVertices } from './vertex-fans.ts';
import { wallThickness } from './wall-thickness.ts';

/** Findings about points and bodies: time linear in the triangles, plus what it takes to see which body lies in which. */
export function quickFindings(
  mesh: Mesh,
  edges: Topology,
  mass: MassProperties,
  mmPerUnit: number,
): readonly Finding[] {
  const place = placesOf(mesh, mmPerUnit);
  const found = pointFindings(mesh, edges, place);
  if (edges.components < 2) {
    return edges.volumeDefined && mass.volumeMm3 < 0 ? [wholeInsideOut(edges.components), ...found] : found;
  }
  const bodies = bodiesOf(mesh, edges.twins);
  return [
    ...facingFindings(edges, mass, bodies, nestingOf(mesh, bodies), place),
    ...found,
    ...speckFindings(bodies, place, mmPerUnit),
  ];
}

/** Findings that compare triangles with each other: about three seconds per million triangles, half of that for walls. */
export function depthFindings(
  mesh: Mesh,
  edges: Topology,
  mmPerUnit: number,
  thinMm: number | undefined,
): readonly Finding[] {
  const place = placesOf(mesh, mmPerUnit);
  return [
    ...contactFindings(mesh, edges, mmPerUnit, place),
    ...(thinMm === undefined ? [] : thinFindings(mesh, thinMm, mmPerUnit, place)),
  ];
}

function pointFindings(mesh: Mesh, edges: Topology, place: Places): readonly Finding[] {
  const { count, first } = nonManifoldVertices(mesh, edges.twins);
  if (count === 0) return [];
  return [
    {
      code: 'sharedPoints',
      severity: 'doubt',
      count,
      atMm: place.vertex(first),
      says: `At ${many(count, 'point', 'points')} two parts of the surface touch in nothing but that point. They print, but do not hold together there.`,
      remedy: 'Let the parts overlap, or move them apart.',
      spoils: [],
    },
  ];
}

function wholeInsideOut(components: number): Finding {
  return {
    code: 'insideOut',
    severity: 'doubt',
    count: components,
    says: 'The whole surface faces inwards: inside and outside are swapped. It is measured and printed as if turned back.',
    remedy: 'Turn the faces round in the modelling program and export again.',
    spoils: [],
  };
}

function facingFindings(
  edges: Topology,
  mass: MassProperties,
  bodies: Bodies,
  nesting: Nesting,
  place: Places,
): readonly Finding[] {
  const wrong = insideOutBodies(bodies, nesting);
  if (wrong.length === 0) return [];
  const outermost = nesting.holder.filter((holder) => holder < 0).length;
  if (mass.volumeMm3 < 0 && edges.volumeDefined && wrong.length === outermost) return [wholeInsideOut(bodies.count)];
  return [
    {
      code: 'insideOutBodies',
      severity: 'doubt',
      count: wrong.length,
      atMm: place.triangle(3 * bodies.list[bodies.start[wrong[0]]]),
      says: `${many(wrong.length, 'body faces', 'bodies face')} inwards while the others face outwards: its volume is taken off instead of added. Layers may be left empty there.`,
      remedy: 'Turn the faces of these bodies round in the modelling program.',
      spoils: SOLID_FIGURES,
    },
  ];
}

const SPECK_MM = 0.8; // two beads of a 0.4 mm nozzle: a body without a longer side leaves no outline; common practice, no source
const SPECK_SHARE = 0.05; // of the whole: a part that is small as a whole is not a speck

function speckFindings(bodies: Bodies, place: Places, mmPerUnit: number): readonly Finding[] {
  const longest = longestSides(bodies);
  const whole = Math.max(...wholeSides(bodies));
  const specks: number[] = [];
  longest.forEach((side, body) => {
    if (side * mmPerUnit < SPECK_MM && side < SPECK_SHARE * whole) specks.push(body);
  });
  if (specks.length === 0) return [];
  return [
    {
      code: 'specks',
      severity: 'doubt',
      count: specks.length,
      atMm: place.triangle(3 * bodies.list[bodies.start[specks[0]]]),
      says: `${many(specks.length, 'body is', 'bodies are')} smaller than ${SPECK_MM} mm on every side: stray specks, or tiny hollows. They print as crumbs or not at all.`,
      remedy: 'Delete them in the modelling program.',
      spoils: [],
    },
  ];
}

function longestSides({ boxes, count }: Bodies): Float64Array {
  return Float64Array.from({ length: count }, (_, b) =>
    Math.max(...[0, 1, 2].map((k) => boxes[6 * b + 3 + k] - boxes[6 * b + k])),
  );
}

function wholeSides({ boxes }: Bodies): number[] {
  return [0, 1, 2].map((k) => {
    let low = Infinity;
    let high = -Infinity;
    for (let o = k; o < boxes.length; o += 6) {
      low = Math.min(low, boxes[o]);
      high = Math.max(high, boxes[o + 3]);
    }
    return high - low;
  });
}

const OVERLAP_SPOILS: readonly string[] = [...SOLID_FIGURES, 'areaMm2'];

function contactFindings(mesh: Mesh, edges: Topology, mmPerUnit: number, place: Places): readonly Finding[] {
  const bodies = bodiesOf(mesh, edges.twins);
  const overlapping = new Set<number>();
  let first: readonly [number, number] | undefined;
  let within = 0;
  const result = selfIntersections(mesh, {
    onPair: (s, t, crosses) => {
      const a = bodies.bodyOf[s];
      const b = bodies.bodyOf[t];
      if (!crosses || a === NO_BODY || b === NO_BODY) return;
      if (a === b) within++;
      else {
        first ??= [s, t];
        overlapping.add(Math.min(a, b) * bodies.count + Math.max(a, b));
      }
    },
  });
  const swallowed = bodies.count < 2 ? [] : swallowedBodies(bodies, nestingOf(mesh, bodies));
  const least = result.complete ? '' : 'at least ';
  const leastFirst = result.complete ? '' : 'At least ';
  const found: Finding[] = [];
  const overlaps = overlapping.size + swallowed.length;
  if (overlaps > 0) {
    const at = first === undefined ? bodies.list[bodies.start[swallowed[0]]] : first[0];
    found.push({
      code: 'overlap',
      severity: 'doubt',
      count: overlaps,
      atMm: place.triangle(3 * at),
      says: `${leastFirst}${many(overlaps, 'pair of bodies overlaps', 'pairs of bodies overlap')}. They print as one, but what they have in common counts twice in the volume, and inner faces count in the area.${countedOnce(mesh, edges, mmPerUnit)}`,
      remedy: 'Unite the bodies in the modelling program, or let the repair unite them.',
      spoils: OVERLAP_SPOILS,
    });
  }
  if (within > 0) {
    found.push({
      code: 'selfIntersections',
      severity: 'doubt',
      count: within,
      atMm: place.point((result.examples.find((example) => example.crosses) ?? result.examples[0]).at),
      says: `The surface goes through itself: ${least}${many(within, 'pair of triangles crosses', 'pairs of triangles cross')}. Layers there may be filled twice or left empty.`,
      remedy: 'Remove the fold or the overlap in the modelling program.',
      spoils: OVERLAP_SPOILS,
    });
  }
  const touching = result.pairs - result.crossings;
  if (touching > 0 && overlaps === 0 && within === 0) {
    found.push({
      code: 'touching',
      severity: 'note',
      count: touching,
      atMm: place.point(result.examples[0].at),
      says: `${leastFirst}${many(touching, 'pair of triangles touches', 'pairs of triangles touch')} without crossing: faces that lie on each other, or a crack whose edges meet.`,
      spoils: [],
    });
  }
  return found;
}

/** Both volumes, where columns and triangles differ by more than 1 %. */
function countedOnce(mesh: Mesh, edges: Topology, mmPerUnit: number): string {
  if (!edges.volumeDefined) return '';
  const byTriangles = massProperties(mesh).volumeMm3;
  const once = columnVolume(mesh);
  if (!(Math.abs(byTriangles - once) > 0.01 * Math.abs(byTriangles))) return '';
  const shown = [byTriangles, once].map((volume) => short(volume * mmPerUnit ** 3));
  return ` The triangles add up to ${shown[0]} mm³; counted once it is about ${shown[1]} mm³.`;
}

const THIN_SHARE = 0.002; // of the surface: less is the tip of an edge rather than a wall; common practice, no source

function thinFindings(mesh: Mesh, thinMm: number, mmPerUnit: number, place: Places): readonly Finding[] {
  const { rays, thinRays, thinArea, thinnest } = wallThickness(mesh, { thinnerThan: thinMm / mmPerUnit });
  if (thinnest === undefined) return [];
  const areaMm2 = thinArea * mmPerUnit ** 2;
  return [
    {
      code: 'thinWalls',
      severity: thinRays >= THIN_SHARE * rays ? 'doubt' : 'note',
      count: thinRays,
      atMm: place.point(thinnest.at),
      says: `Walls are thinner than ${thinMm} mm over about ${short(areaMm2)} mm² of surface (${thinRays} of ${rays} samples), the thinnest ${short(thinnest.thickness * mmPerUnit)} mm. A nozzle leaves them out or prints them thicker.`,
      remedy: 'Thicken these walls, or choose a narrower bead.',
      spoils: [],
    },
  ];
}
