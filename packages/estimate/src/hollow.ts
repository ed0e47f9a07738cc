import type {
  BeadKind,
  HollowOffer,
  HollowPrint,
  HollowSaving,
  Material,
  Mesh,
  Printer,
  Recipe,
} from '@stonehand/model';
import { beadPaths, cavityOf, hollowedLoops, type Polygons, sliceMesh } from '@stonehand/slice';
import { estimatePaths } from './estimate-paths.ts';

export type HollowOptions = Readonly<{ recipe: Recipe; printer: Printer; material: Material; wallMm: number }>;

/**
 * What an inner offset at a wall comes to, from real bead paths of the piece with and without the cavity: perimeters, floors and
 * roofs around the cavity are in, and so is the support that its ceilings need.
 * @param mesh the posed piece
 */
export function hollowOffer(
  mesh: Mesh,
  polygons: Polygons,
  { recipe, printer, material, wallMm }: HollowOptions,
): HollowOffer {
  const loops = sliceMesh(mesh, recipe);
  const printed = (layers: typeof loops, cavityMm3: number): HollowPrint => {
    const paths = beadPaths(layers, recipe, polygons);
    const { massG, durationS, partG, byKind } = estimatePaths(paths, { pieceId: '', recipe, printer, material });
    return { cavityMm3, massG, durationS, partG, byKind };
  };
  const whole = printed(loops, 0);
  const withCavity = (selfClosing: boolean): HollowPrint => {
    const cavity = cavityOf(loops, recipe, polygons, { wallMm, selfClosing });
    return cavity.volumeMm3 > 0 ? printed(hollowedLoops(loops, cavity), cavity.volumeMm3) : whole;
  };
  return { wallMm, whole, offset: withCavity(false), selfClosing: withCavity(true) };
}

const SUPPORT: ReadonlySet<BeadKind> = new Set<BeadKind>(['support', 'contact']);

/** What a print with a cavity saves against the whole one. */
export function hollowSaving({ whole }: HollowOffer, print: HollowPrint): HollowSaving {
  return {
    massG: whole.massG.value - print.massG.value,
    durationS: whole.durationS.value - print.durationS.value,
    shutInG: Math.max(0, supportG(print) - supportG(whole)),
  };
}

function supportG({ byKind }: HollowPrint): number {
  return byKind.reduce((sum, { kind, massG }) => sum + (SUPPORT.has(kind) ? massG : 0), 0);
}
