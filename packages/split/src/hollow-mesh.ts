import { StonehandError } from '@stonehand/base';
import type { Mesh, Ring } from '@stonehand/model';
import { meshOf, solidOf, withKernel } from './kernel.ts';

/** One level of a cavity: the room in it, outer rings counter-clockwise and holes clockwise. */
export type Level = Readonly<{ bottomMm: number; topMm: number; rings: readonly Ring[] }>;

/**
 * A solid mesh with a cavity taken out, given level by level from below (touching levels grow together). The result is closed;
 * the cavity's walls are steps as high as its levels. Coordinates carry 32 bits.
 * @param mesh closed, in the coordinates in which the levels lie (z up)
 * @throws StonehandError GEOMETRY_FAILED when the kernel refuses the mesh, or the cavity is not inside it whole
 */
export function hollowMesh(mesh: Mesh, levels: readonly Level[]): Promise<Mesh> {
  return withKernel((kernel) => {
    const { wasm, keep } = kernel;
    const body = solidOf(kernel, mesh, 'whole');
    const [ox, oy, oz] = mesh.originMm;
    const slabs = levels
      .filter(({ rings }) => rings.length > 0)
      .map(({ bottomMm, topMm, rings }) => {
        const outline = keep(
          new wasm.CrossSection(
            rings.map((ring) => ring.map(([x, y]): [number, number] => [x - ox, y - oy])),
            'Positive',
          ),
        );
        return keep(keep(outline.extrude(topMm - bottomMm)).translate([0, 0, bottomMm - oz]));
      });
    if (slabs.length === 0) return mesh;
    const cavity = keep(wasm.Manifold.union(slabs));
    const outside = keep(cavity.subtract(body)).volume();
    if (outside > OUTSIDE_SHARE * cavity.volume()) {
      throw new StonehandError(
        'GEOMETRY_FAILED',
        `the cavity breaks out of the part by ${outside.toFixed(3)} mm³`,
        'Ask for a thicker wall.',
      );
    }
    return meshOf(keep(body.subtract(cavity)), mesh);
  });
}

/** Rounding to 32 bits along faces that touch. */
const OUTSIDE_SHARE = 1e-6;
