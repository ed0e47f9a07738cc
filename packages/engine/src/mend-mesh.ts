import { meshHash, repairMesh } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { layerRegions, loadPolygons, ringsAreaMm2, sectionsAt } from '@stonehand/slice';
import type { TaskContext } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import type { MendInput, MendOutcome } from './mend-task.ts';
import { storeMesh } from './mesh-store.ts';

/** The work of mendTask, in a file of its own: the geometry packages are loaded for a miss only. */
export async function mendMesh({ mesh: ref }: MendInput, { cacheFolder }: TaskContext): Promise<MendOutcome> {
  const { mesh } = await loadMesh(ref, cacheFolder);
  const { mesh: mended, steps, left, after, apart } = await repairMesh(mesh, { unite: 'overlapping', unit: 'mm' });
  const mending = { steps: steps.map(({ says }) => says), left };
  if (mended === mesh) return left.length === 0 ? {} : { mending };
  const contentHash = meshHash(mended);
  storeMesh(cacheFolder, contentHash, mended);
  return {
    ref: { name: ref.name, contentHash, scale: 1 },
    mending: {
      ...mending,
      // A rebuilt solid is compared with the slices of the bodies that it was built from, so that what it lost would show.
      ...(after.volume !== undefined && {
        volumeMm3: after.volume,
        slicesMm3: await slicesVolumeMm3(apart ?? mended),
      }),
    },
  };
}

// A step in the shape is misplaced by half a slice at most: a thousandth of the height.
const SLICES = 512;

/** Areas of the slices, everything that the outlines wind about (non-zero), times their distance. */
async function slicesVolumeMm3(mesh: Mesh): Promise<number> {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const vertex of mesh.triangles) {
    const z = mesh.positions[3 * vertex + 2]!;
    if (z < low) low = z;
    if (z > high) high = z;
  }
  if (!(high > low)) return 0;
  const stepMm = (high - low) / SLICES;
  const loops = sectionsAt(
    mesh,
    Float64Array.from({ length: SLICES }, (_, i) => low + (i + 0.5) * stepMm),
  );
  const polygons = await loadPolygons();
  const volume = layerRegions(loops, polygons).reduce((sum, region) => sum + ringsAreaMm2(region) * stepMm, 0);
  polygons.free();
  return volume;
}
