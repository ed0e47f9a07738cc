import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import type { Manifold, ManifoldToplevel } from 'manifold-3d';
import { type Bodies, bodiesOf } from './bodies.ts';
import { columnVolume } from './column-volume.ts';
import { halfEdgeTwins } from './half-edges.ts';
import { massProperties } from './mass-properties.ts';
import { nestingOf } from './nesting.ts';

export type United = Readonly<{
  mesh: Mesh;
  /** bodies before and after */
  from: number;
  to: number;
  /** of the united mesh, by its triangles */
  volume: number;
  /** of both by the same columns, where what overlaps counts once: the grid's error is in both alike */
  columnsBefore: number;
  columnsAfter: number;
}>;

/** Beyond this the volumes by columns contradict each other, and the union is not used. */
export const VOLUME_SHARE = 0.01;

/**
 * The union of all bodies of a mesh, by manifold-3d (loaded on first use): overlapping bodies become one surface. Bodies that
 * face inwards are hollows of the smallest body that holds them.
 * @param mesh every body closed
 * @throws StonehandError MESH_OPEN for an open body, GEOMETRY_FAILED when the library refuses a body or its result has another
 * volume than the given mesh, both by columns, by more than 1 %
 */
export async function uniteBodies(mesh: Mesh): Promise<United> {
  const bodies = bodiesOf(mesh, halfEdgeTwins(mesh));
  if (!bodies.closed.every((closed) => closed === 1)) {
    throw new StonehandError('MESH_OPEN', 'only closed bodies can be united', 'Close the holes first.');
  }
  const library = await loadManifold();
  const kept: Manifold[] = [];
  try {
    const solid = unionOf(library, mesh, bodies, kept);
    const result = meshOf(solid, mesh);
    const columnsBefore = columnVolume(mesh);
    const columnsAfter = columnVolume(result);
    if (!(Math.abs(columnsAfter - columnsBefore) <= VOLUME_SHARE * columnsBefore)) {
      throw new StonehandError(
        'GEOMETRY_FAILED',
        `columns through the united bodies add up to ${columnsAfter.toPrecision(6)}, through the given ones to ${columnsBefore.toPrecision(6)}`,
        'Unite the bodies in the modelling program instead.',
      );
    }
    const to = bodiesOf(result, halfEdgeTwins(result)).count;
    const volume = massProperties(result).volumeMm3;
    return { mesh: result, from: bodies.count, to, volume, columnsBefore, columnsAfter };
  } finally {
    for (const solid of kept) solid.delete();
  }
}

async function loadManifold(): Promise<ManifoldToplevel> {
  try {
    const { default: open } = await import('manifold-3d');
    const library = await open();
    library.setup();
    return library;
  } catch (cause) {
    throw new StonehandError(
      'GEOMETRY_FAILED',
      'uniting bodies needs the package manifold-3d, which is not installed',
      'Run npm install manifold-3d@3.5.4 beside this program, or unite the bodies in the modelling program.',
      { cause },
    );
  }
}

function unionOf(library: ManifoldToplevel, mesh: Mesh, bodies: Bodies, kept: Manifold[]): Manifold {
  const { holder } = nestingOf(mesh, bodies);
  const keep = (solid: Manifold): Manifold => {
    kept.push(solid);
    return solid;
  };
  const solidOf = (b: number): Manifold => {
    const solid = keep(new library.Manifold(new library.Mesh(bodyArrays(mesh, bodies, b))));
    const status = solid.status();
    if (status !== 'NoError') {
      throw new StonehandError(
        'GEOMETRY_FAILED',
        `body ${b + 1} of ${bodies.count} cannot be made a solid: ${status}`,
        'Unite the bodies in the modelling program instead.',
      );
    }
    return solid;
  };
  const outward: Manifold[] = [];
  for (let b = 0; b < bodies.count; b++) {
    if (bodies.volume[b] < 0) continue;
    let solid = solidOf(b);
    for (let hollow = 0; hollow < bodies.count; hollow++) {
      if (bodies.volume[hollow] < 0 && holder[hollow] === b) solid = keep(solid.subtract(solidOf(hollow)));
    }
    outward.push(solid);
  }
  return keep(library.Manifold.union(outward));
}

/** One body with vertices of its own, facing outwards. */
function bodyArrays(
  { positions, triangles }: Mesh,
  { start, list, volume }: Bodies,
  b: number,
): { numProp: number; vertProperties: Float32Array; triVerts: Uint32Array } {
  const place = new Map<number, number>();
  const triVerts: number[] = [];
  const order = volume[b] < 0 ? [0, 2, 1] : [0, 1, 2];
  for (let i = start[b]; i < start[b + 1]; i++) {
    for (const k of order) {
      const v = triangles[3 * list[i] + k];
      if (!place.has(v)) place.set(v, place.size);
      triVerts.push(place.get(v)!);
    }
  }
  const vertProperties = new Float32Array(3 * place.size);
  for (const [v, at] of place) for (let k = 0; k < 3; k++) vertProperties[3 * at + k] = positions[3 * v + k];
  return { numProp: 3, vertProperties, triVerts: Uint32Array.from(triVerts) };
}

function meshOf(solid: Manifold, { positions: given, originMm }: Mesh): Mesh {
  const { numProp, vertProperties, triVerts } = solid.getMesh();
  const count = vertProperties.length / numProp;
  const positions = given instanceof Float32Array ? new Float32Array(3 * count) : new Float64Array(3 * count);
  for (let v = 0; v < count; v++) {
    for (let k = 0; k < 3; k++) positions[3 * v + k] = vertProperties[numProp * v + k];
  }
  return { positions, triangles: Uint32Array.from(triVerts), originMm };
}
