import type { Finding, Mesh, Reading } from '@stonehand/model';
import { many, type Places, placesOf, SOLID_FIGURES, short } from './finding-places.ts';
import { depthFindings, quickFindings } from './health-findings.ts';
import { holeLoops } from './hole-loops.ts';
import { likelyUnit } from './likely-unit.ts';
import type { MassProperties } from './mass-properties.ts';
import type { Topology } from './topology.ts';
import { unitToMm } from './unit-to-mm.ts';

export type FindingOptions = Readonly<{
  /** unit of the mesh's numbers */
  unit: string;
  unitFrom: Reading['unitFrom'];
  /** quick: what follows from edges and bodies; full: also self-intersections, overlapping bodies and thin walls */
  depth: 'quick' | 'full';
  /** with depth full: tell of walls thinner than this */
  thinMm?: number;
}>;

/**
 * What is wrong or doubtful about a mesh, in plain words, the worst first: what it does to printing, which figures of the
 * reading it spoils, and one place to look at.
 */
export function meshFindings(
  mesh: Mesh,
  edges: Topology,
  mass: MassProperties,
  options: FindingOptions,
): readonly Finding[] {
  const mmPerUnit = unitToMm(options.unit);
  const place = placesOf(mesh, mmPerUnit);
  return [
    ...surfaceFindings(mesh, edges, place, mmPerUnit),
    ...volumeFindings(edges, mass),
    ...quickFindings(mesh, edges, mass, mmPerUnit),
    ...(options.depth === 'full' ? depthFindings(mesh, edges, mmPerUnit, options.thinMm) : []),
    ...triangleFindings(edges, mass, place),
    ...sizeFindings(mesh, edges, mass, mmPerUnit, options),
  ];
}

function surfaceFindings(mesh: Mesh, edges: Topology, place: Places, mmPerUnit: number): readonly Finding[] {
  const found: Finding[] = [];
  if (edges.boundaryEdges > 0) {
    const rims = [...holeLoops(mesh, edges.twins)].sort((a, b) => b.length - a.length);
    const longest = rims[0];
    found.push({
      code: 'holes',
      severity: 'stop',
      count: edges.boundaryEdges,
      atMm: place.edge(longest?.halfEdges[0] ?? edges.firstBoundary),
      says: `${many(edges.boundaryEdges, 'edge has', 'edges have')} a triangle on one side only: the surface has holes or cracks. They form ${many(rims.length, 'rim', 'rims')}, the longest ${short((longest?.length ?? 0) * mmPerUnit)} mm round. Layers that meet them have open outlines, so walls may be missing or filled where they should be hollow.`,
      remedy:
        'Close the holes in the modelling program; if they are hairline cracks, merge vertices that nearly coincide.',
      spoils: SOLID_FIGURES,
    });
  }
  if (edges.misorientedEdges > 0) {
    found.push({
      code: 'facing',
      severity: 'stop',
      count: edges.misorientedEdges,
      atMm: place.edge(edges.firstMisoriented),
      says: `At ${many(edges.misorientedEdges, 'edge', 'edges')} two neighbouring triangles face opposite ways: part of the surface is turned over. Inside and outside swap there, so layers may be left empty or filled solid.`,
      remedy: 'Make all faces point outwards in the modelling program.',
      spoils: SOLID_FIGURES,
    });
  }
  if (edges.nonManifoldEdges > 0) {
    found.push({
      code: 'sharedEdges',
      severity: edges.volumeDefined ? 'doubt' : 'stop',
      count: edges.nonManifoldEdges,
      atMm: place.edge(edges.firstNonManifold),
      says: `${many(edges.nonManifoldEdges, 'edge is', 'edges are')} shared by three or more triangles: bodies touch along a line or a wall lies inside. They print, but hold together there by a line without thickness, and inner walls cost material.`,
      remedy: 'Join the bodies into one, or move them apart.',
      spoils: edges.volumeDefined ? [] : SOLID_FIGURES,
    });
  }
  return found;
}

function volumeFindings(edges: Topology, mass: MassProperties): readonly Finding[] {
  if (!edges.volumeDefined) return [];
  if (mass.volumeMm3 !== 0) return [];
  return [
    {
      code: 'noVolume',
      severity: 'stop',
      count: 1,
      says: 'The surface encloses no volume: it is a sheet without thickness and would print as nothing.',
      remedy: 'Give the surface a thickness in the modelling program.',
      spoils: SOLID_FIGURES,
    },
  ];
}

function triangleFindings(edges: Topology, mass: MassProperties, place: Places): readonly Finding[] {
  const found: Finding[] = [];
  if (edges.duplicateTriangles > 0) {
    found.push({
      code: 'duplicates',
      severity: 'doubt',
      count: edges.duplicateTriangles,
      atMm: place.triangle(edges.firstDuplicate),
      says: `${many(edges.duplicateTriangles, 'triangle is', 'triangles are')} there twice. The area counts both; layers there carry a wall of no thickness.`,
      remedy: 'Remove doubled faces in the modelling program.',
      spoils: ['areaMm2'],
    });
  }
  if (edges.collapsedTriangles > 0) {
    found.push({
      code: 'collapsed',
      severity: 'note',
      count: edges.collapsedTriangles,
      atMm: place.triangle(edges.firstCollapsed),
      says: `${many(edges.collapsedTriangles, 'triangle has', 'triangles have')} two corners at one point. They are left out and do no harm to printing.`,
      spoils: [],
    });
  }
  const flat = mass.flatTriangles - edges.collapsedTriangles;
  if (flat > 0) {
    found.push({
      code: 'flat',
      severity: 'note',
      count: flat,
      says: `${many(flat, 'triangle has', 'triangles have')} no area because the corners lie on a line. They do no harm to printing.`,
      spoils: [],
    });
  }
  return found;
}

const FEWEST_MM = 1; // a part of which no side reaches 1 mm is below what a nozzle draws: common practice, no source
const MOST_MM = 2000; // no filament printer of a home workshop is near: common practice, no source
const COARSE_MM = 0.01; // a tenth of a fine layer: rounding beyond it shows in fits; common practice, no source
const FAR_SHARE = 10;
const STRONG = 10; // a suspicion this many times likelier than the unit taken keeps a part from being called sound

function sizeFindings(
  mesh: Mesh,
  edges: Topology,
  mass: MassProperties,
  mmPerUnit: number,
  { unit, unitFrom }: FindingOptions,
): readonly Finding[] {
  const found: Finding[] = [];
  const { min, max } = mass.boxMm;
  const sides = [0, 1, 2].map((i) => (max[i] - min[i]) * mmPerUnit);
  const longest = Math.max(...sides);
  const guess = likelyUnit([max[0] - min[0], max[1] - min[1], max[2] - min[2]], unit);
  if (longest < FEWEST_MM || longest > MOST_MM) {
    found.push({
      code: 'oddSize',
      severity: 'doubt',
      count: 1,
      says: `The longest side is ${short(longest)} mm, which is hardly meant. The unit may be wrong: the same numbers are ${short(longest / mmPerUnit)} mm, ${short((longest / mmPerUnit) * 25.4)} mm if inches and ${short((longest / mmPerUnit) * 1000)} mm if metres.${guess === undefined ? '' : ` ${guess.reason}`}`,
      remedy: 'State the unit of this file.',
      spoils: [],
    });
  } else if (guess !== undefined && unitFrom !== 'stated') {
    found.push({
      code: 'likelyUnit',
      severity: unitFrom === 'assumed' && guess.timesLikelier >= STRONG ? 'doubt' : 'note',
      count: 1,
      says: `${guess.reason} It is taken as ${unit} until someone says otherwise.`,
      remedy: `State the unit of this file: ${guess.unit} or ${unit}.`,
      spoils: [],
    });
  }
  const reach = Math.max(...min.map(Math.abs), ...max.map(Math.abs)) * mmPerUnit;
  // Spacing of single-precision numbers of this size: 24 bits of mantissa (IEEE 754).
  const spacingMm = mesh.positions instanceof Float32Array ? 2 ** (Math.floor(Math.log2(reach)) - 23) : 0;
  const away = Math.hypot(...[0, 1, 2].map((i) => ((min[i] + max[i]) / 2) * mmPerUnit));
  if (spacingMm > COARSE_MM) {
    found.push({
      code: 'farFromOrigin',
      severity: 'doubt',
      count: 1,
      says: `The part lies ${Math.round(away)} mm from the origin, where the file's numbers are ${spacingMm.toPrecision(2)} mm apart: small details and fits are already rounded.`,
      remedy: 'Move the part to the origin in the modelling program and export again.',
      spoils: ['boxMm', 'volumeMm3', 'areaMm2', 'centreMm', 'inertiaMm5'],
    });
  } else if (away > FAR_SHARE * Math.hypot(...sides)) {
    found.push({
      code: 'farFromOrigin',
      severity: 'note',
      count: 1,
      says: `The part lies ${Math.round(away)} mm from the origin, more than ten times its own size. It is moved onto the plate for printing.`,
      spoils: [],
    });
  }
  if (edges.components > 1) {
    found.push({
      code: 'bodies',
      severity: 'note',
      count: edges.components,
      says: `The surface is in ${edges.components} parts that share no vertex: separate bodies, or a body with closed hollows.`,
      spoils: [],
    });
  }
  return found;
}
