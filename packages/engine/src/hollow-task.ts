import { affineOf, invertAffine } from '@stonehand/base';
import { hollowOffer, hollowSaving } from '@stonehand/estimate';
import { massProperties, meshHash, transformMesh } from '@stonehand/mesh';
import type { Figure, HollowSaving, Material, Mesh, Pose, Printer, Recipe } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { cavityOf, listOfRings, loadPolygons, sliceMesh } from '@stonehand/slice';
import { hollowMesh, type Level } from '@stonehand/split';
import type { Task } from './engine.ts';
import { loadMesh } from './load-mesh.ts';
import { keyOfMesh, type MeshRef } from './mesh-ref.ts';
import { storeMesh } from './mesh-store.ts';

export type HollowInput = Readonly<{
  mesh: MeshRef;
  /** the cavity closes by itself in this way up */
  pose: Pose;
  recipe: Recipe;
  printer: Printer;
  material: Material;
  wallMm: number;
}>;

export type HollowOutcome = Readonly<{
  ref: MeshRef;
  wallMm: number;
  cavityMm3: number;
  /** by slicing the piece with and without the cavity */
  massG: Figure;
  durationS: Figure;
  saving: HollowSaving;
}>;

/** A part with as much of its inside taken out as closes by itself, in the part's own coordinates, and what that saves. */
export const hollowTask: Task<HollowInput, HollowOutcome> = {
  name: 'hollow',
  keyed: ({ mesh, ...rest }) => ({ ...rest, mesh: keyOfMesh(mesh) }),
  async run({ mesh: ref, pose, recipe, printer, material, wallMm }, { cacheFolder }) {
    const posed = poseMesh((await loadMesh(ref, cacheFolder)).mesh, pose);
    const polygons = await loadPolygons();
    const hollow = await hollowMesh(posed, levelsOf(posed, recipe, wallMm, polygons));
    const offer = hollowOffer(posed, polygons, { recipe, printer, material, wallMm });
    const { massG, durationS } = offer.selfClosing;
    const back = transformMesh(hollow, invertAffine(affineOf(pose.rotation, pose.offsetMm)));
    const contentHash = meshHash(back);
    storeMesh(cacheFolder, contentHash, back);
    return {
      ref: { name: `${ref.name}, hollow`, contentHash, scale: 1 },
      wallMm,
      cavityMm3: massProperties(posed).volumeMm3 - massProperties(hollow).volumeMm3,
      massG,
      durationS,
      saving: hollowSaving(offer, offer.selfClosing),
    };
  },
};

type Polygons = Awaited<ReturnType<typeof loadPolygons>>;

function levelsOf(posed: Mesh, recipe: Recipe, wallMm: number, polygons: Polygons): Level[] {
  const loops = sliceMesh(posed, recipe);
  const { layers } = cavityOf(loops, recipe, polygons, { wallMm, selfClosing: true });
  const levels: Level[] = [];
  layers.forEach((rings, i) => {
    const bottomMm = i === 0 ? loops.bottomMm : loops.topMm[i - 1]!;
    const last = levels.at(-1);
    // Layers that share their room are one level.
    if (last !== undefined && layers[i - 1] === rings) levels[levels.length - 1] = { ...last, topMm: loops.topMm[i]! };
    else levels.push({ bottomMm, topMm: loops.topMm[i]!, rings: listOfRings(rings) });
  });
  return levels;
}
