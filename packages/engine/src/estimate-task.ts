import { type EstimateFor, estimatePaths, quickEstimate, rankEstimate } from '@stonehand/estimate';
import type { Box, Estimate, Material, Mesh, Pose, Printer, Recipe, Ring } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import {
  beadPaths,
  footprint,
  layerRegions,
  listOfRings,
  loadPolygons,
  type Polygons,
  ringsOf,
  sectionsAt,
  sliceMesh,
} from '@stonehand/slice';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';

export type EstimateInput = Readonly<{
  pieceId: string;
  mesh: MeshRef;
  pose: Pose;
  recipe: Recipe;
  material: Material;
  printers: readonly Printer[];
  /** support in these places only, mesh coordinates */
  supportIn?: readonly Box[];
  /** how thoroughly; with support in given places it is always full */
  depth?: Estimate['mode'];
}>;

export type EstimateOutcome = Readonly<{
  estimates: readonly Estimate[];
  /** the true shadow on the plate */
  footprint: readonly Ring[];
  /** the shadow as packing sees it: without bays and holes that no other piece could use */
  outline: readonly Ring[];
}>;

/** A fifth of the accuracy of a printed outline. */
const SHADOW_TOLERANCE_MM = 0.05;
/** Half the width of a bay that a neighbour could reach into, clearance and a slim part included. */
const BAY_MM = 6;
/** Holes below this hold no other piece with its clearance: 25 mm across. */
const LEAST_HOLE_MM2 = 500;

/** What says nothing of how a printer moves: a failure that is recorded must not have everything sliced again. */
const NOT_OF_MOTION: ReadonlySet<string> = new Set([
  'failPerStart',
  'failPerHour',
  'failPerPiece',
  'outOfService',
  'unattended',
  'aloneWhile',
  'loud',
  'longestRunS',
]);

function asItMoves(printer: Printer): object {
  return Object.fromEntries(Object.entries(printer).filter(([key]) => !NOT_OF_MOTION.has(key)));
}

/** Sliced once in its pose, timed on each printer; the shadow on the plate comes from the same layers. */
export const estimateTask: Task<EstimateInput, EstimateOutcome> = {
  name: 'estimate',
  // The piece's name is only a label, put on again by the caller.
  keyed: ({ mesh, pose, recipe, material, printers, supportIn, depth = 'full' }) => ({
    ...(supportIn && { supportIn }),
    ...(depth === 'full' ? {} : { depth }),
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    recipe,
    material,
    printers: printers.map(asItMoves),
  }),
  async run({ pieceId, mesh: ref, pose, recipe, material, printers, supportIn, depth }, { cacheFolder }) {
    const [{ mesh }, polygons] = await Promise.all([loadMesh(ref, cacheFolder), loadPolygons()]);
    const loops = sliceMesh(poseMesh(mesh, pose), recipe);
    const estimateOf =
      supportIn === undefined && depth === 'quick'
        ? (options: EstimateFor) => quickEstimate(loops, { ...options, polygons })
        : supportIn === undefined && depth === 'rank'
          ? (options: EstimateFor) => rankEstimate(loops, { ...options, polygons })
          : fully();
    const shadow = footprint(loops, polygons, { toleranceMm: SHADOW_TOLERANCE_MM });
    return {
      estimates: printers.map((printer) => estimateOf({ pieceId, recipe, printer, material })),
      footprint: shadow,
      outline: packingOutline(shadow, polygons),
    };

    function fully(): (options: EstimateFor) => Estimate {
      const allowed =
        supportIn === undefined
          ? undefined
          : layerRegions(sectionsAt(poseMesh(boxesMesh(supportIn), pose), [...loops.zMm]), polygons);
      const paths = beadPaths(
        loops,
        recipe,
        polygons,
        allowed === undefined ? {} : { supportWithin: (i) => allowed[i]! },
      );
      return (options) => estimatePaths(paths, options);
    }
  },
};

/** A hanging face lies on the edge of a box as people draw it: up to half a layer counts as inside. */
const BOX_ROOM_MM = 0.2;

function boxesMesh(boxes: readonly Box[]): Mesh {
  const faces = [
    0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5,
  ];
  const positions = boxes.flatMap(({ min, max }) =>
    Array.from({ length: 8 }, (_, corner) =>
      [0, 1, 2].map((k) => ((corner >> k) & 1 ? max[k]! + BOX_ROOM_MM : min[k]! - BOX_ROOM_MM)),
    ).flat(),
  );
  return {
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(boxes.flatMap((_, b) => faces.map((v) => v + 8 * b))),
    originMm: [0, 0, 0],
  };
}

// Grown and shrunk again, bays narrower than a small piece close; the result covers the true shadow and stays within its hull.
function packingOutline(shadow: readonly Ring[], polygons: Polygons): Ring[] {
  const grown = polygons.offset(ringsOf(shadow), BAY_MM, { join: 'round' });
  const closed = polygons.union(ringsOf(shadow), polygons.offset(grown, -BAY_MM, { join: 'round' }));
  const rings = listOfRings(closed).filter((ring) => ringAreaMm2(ring) > 0 || ringAreaMm2(ring) < -LEAST_HOLE_MM2);
  polygons.free();
  return rings;
}

function ringAreaMm2(ring: Ring): number {
  let sum = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++)
    sum += ring[j]![0] * ring[i]![1] - ring[i]![0] * ring[j]![1];
  return sum / 2;
}
