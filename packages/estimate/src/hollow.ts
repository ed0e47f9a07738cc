import type { BeadKind, Estimate, Figure, Material, Mesh, Printer, Recipe } from '@stonehand/model';
import { beadPaths, type Cavity, cavityOf, hollowedLoops, type Polygons, sliceMesh } from '@stonehand/slice';
import { estimatePaths } from './estimate-paths.ts';

/** The piece with a cavity, printed by the same recipe. */
export type HollowPrint = Readonly<{
  cavityMm3: number;
  massG: Figure;
  durationS: Figure;
  /** grams less than without the cavity, shut-in support counted: negative where the new walls, floors and roofs weigh more than the infill they replace */
  savedG: number;
  savedS: number;
  /** support inside that nobody can take out: it stays and weighs */
  shutInG: number;
  byKind: Estimate['byKind'];
}>;

export type HollowOffer = Readonly<{
  wallMm: number;
  /** the plain inner offset; its ceilings may need support */
  offset: HollowPrint;
  /** as much of it as closes by itself, under a gable within the overhang limit */
  selfClosing: HollowPrint;
}>;

export type HollowOptions = Readonly<{ recipe: Recipe; printer: Printer; material: Material; wallMm: number }>;

const SUPPORT: ReadonlySet<BeadKind> = new Set<BeadKind>(['support', 'contact']);

/**
 * What an inner offset at a wall would save, from real bead paths of the piece with and without the cavity: perimeters, floors and
 * roofs around the cavity are in, and so is the support that its ceilings need.
 * @param mesh the posed piece
 */
export function hollowOffer(mesh: Mesh, polygons: Polygons, options: HollowOptions): HollowOffer {
  const { recipe, printer, material, wallMm } = options;
  const loops = sliceMesh(mesh, recipe);
  const printed = (layers: typeof loops): Estimate =>
    estimatePaths(beadPaths(layers, recipe, polygons), { pieceId: '', recipe, printer, material });
  const whole = printed(loops);
  const withCavity = (selfClosing: boolean): HollowPrint => {
    const cavity: Cavity = cavityOf(loops, recipe, polygons, { wallMm, selfClosing });
    const estimate = cavity.volumeMm3 > 0 ? printed(hollowedLoops(loops, cavity)) : whole;
    return {
      cavityMm3: cavity.volumeMm3,
      massG: estimate.massG,
      durationS: estimate.durationS,
      savedG: whole.massG.value - estimate.massG.value,
      savedS: whole.durationS.value - estimate.durationS.value,
      shutInG: Math.max(0, supportG(estimate) - supportG(whole)),
      byKind: estimate.byKind,
    };
  };
  return { wallMm, offset: withCavity(false), selfClosing: withCavity(true) };
}

function supportG({ byKind }: Estimate): number {
  return byKind.reduce((sum, { kind, massG }) => sum + (SUPPORT.has(kind) ? massG : 0), 0);
}
