import { StonehandError } from '@stonehand/base';
import { massProperties } from '@stonehand/mesh';
import type { Joint, Mesh, Vec3 } from '@stonehand/model';
import type { Manifold, ManifoldToplevel } from 'manifold-3d';
import type { CutPiece } from './cut-mesh.ts';
import { unit } from './plane.ts';

const FACETS = 48;
/** beyond the pin's end at the bottom of each bore, for glue and burrs; common practice, no source */
const SPARE_DEPTH_MM = 0.5;
/** 32-bit coordinates of the geometry library: 1e-5 mm on 300 mm over the bore's surface, against its volume */
const VOLUME_SHARE = 1e-3;

let library: Promise<ManifoldToplevel> | undefined;

/**
 * Cuts the bores of all dowel joints into the pieces they join: the pin's diameter and twice the joint's gap, half the pin's
 * length and a little deep. Other joints are left alone. Coordinates of bored pieces carry 32 bits.
 * @throws StonehandError GEOMETRY_FAILED when a piece cannot be bored or loses another volume than the bores'
 */
export async function boreDowels(
  pieces: readonly CutPiece[],
  joints: readonly Joint[],
): Promise<{ pieces: CutPiece[]; boredMm3: number }> {
  const dowels = joints.filter((joint) => joint.kind === 'dowel');
  if (dowels.length === 0) return { pieces: [...pieces], boredMm3: 0 };
  library ??= loadLibrary();
  const wasm = await library;
  let boredMm3 = 0;
  const bored = pieces.map((piece) => {
    const own = dowels.filter((joint) =>
      joint.between.some((name) => name === piece.id || name.endsWith(`/${piece.id}`)),
    );
    if (own.length === 0) return piece;
    const expected = own.reduce((sum, joint) => sum + boreVolumeMm3(joint), 0);
    const mesh = subtractBores(wasm, piece, own);
    const before = massProperties(piece.mesh).volumeMm3;
    const gone = before - massProperties(mesh).volumeMm3;
    if (Math.abs(gone - expected) > VOLUME_SHARE * expected + 1e-6 * before) {
      throw failure(piece.id, `its bores took ${gone.toFixed(1)} mm³ instead of ${expected.toFixed(1)}`);
    }
    boredMm3 += gone;
    return { ...piece, mesh };
  });
  return { pieces: bored, boredMm3 };
}

async function loadLibrary(): Promise<ManifoldToplevel> {
  const { default: open } = await import('manifold-3d');
  const wasm = await open();
  wasm.setup();
  return wasm;
}

const boreRadiusMm = (joint: Joint): number => (joint.diameterMm ?? 0) / 2 + (joint.gapPerSideMm ?? 0);
const boreDepthMm = (joint: Joint): number => (joint.lengthMm ?? 0) / 2 + SPARE_DEPTH_MM;

/** Half of the cylinder lies in each piece; a circle of 48 facets has less area than a round one. */
function boreVolumeMm3(joint: Joint): number {
  const area = (FACETS / 2) * boreRadiusMm(joint) ** 2 * Math.sin((2 * Math.PI) / FACETS);
  return area * boreDepthMm(joint);
}

function subtractBores(wasm: ManifoldToplevel, piece: CutPiece, joints: readonly Joint[]): Mesh {
  const { mesh } = piece;
  const handles: Manifold[] = [];
  const keep = (made: Manifold): Manifold => {
    handles.push(made);
    return made;
  };
  try {
    const body = keep(
      wasm.Manifold.ofMesh(
        new wasm.Mesh({
          numProp: 3,
          vertProperties: Float32Array.from(mesh.positions),
          triVerts: Uint32Array.from(mesh.triangles),
        }),
      ),
    );
    const bores = joints.map((joint) => {
      const upright = keep(
        wasm.Manifold.cylinder(2 * boreDepthMm(joint), boreRadiusMm(joint), boreRadiusMm(joint), FACETS, true),
      );
      return keep(upright.transform(placement(joint, mesh.originMm)));
    });
    const cut = keep(wasm.Manifold.difference([body, ...bores]));
    if (cut.isEmpty()) throw failure(piece.id, 'nothing is left of it');
    const made = cut.getMesh();
    return {
      positions: Float64Array.from(made.vertProperties),
      triangles: Uint32Array.from(made.triVerts),
      originMm: mesh.originMm,
    };
  } catch (error) {
    if (error instanceof StonehandError) throw error;
    throw failure(piece.id, error instanceof Error ? error.message : String(error), error);
  } finally {
    for (const handle of handles) handle.delete();
  }
}

/** Column-major 4 × 4: z of the cylinder along the joint's axis, its middle at the joint. */
function placement(joint: Joint, originMm: Vec3): MatrixOf4 {
  const z = unit(joint.axis);
  const least = Math.abs(z[0]) < 0.6 ? ([1, 0, 0] as const) : ([0, 1, 0] as const);
  const x = unit(cross(least, z));
  const y = cross(z, x);
  const [px, py, pz] = [0, 1, 2].map((d) => joint.atMm[d] - originMm[d]);
  return [x[0], x[1], x[2], 0, y[0], y[1], y[2], 0, z[0], z[1], z[2], 0, px, py, pz, 1];
}
type MatrixOf4 = Parameters<Manifold['transform']>[0];

function cross(a: Vec3, b: Vec3): Vec3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function failure(id: string, why: string, cause?: unknown): StonehandError {
  return new StonehandError(
    'GEOMETRY_FAILED',
    `piece ${id} cannot be bored for dowels: ${why}`,
    'Glue this joint without dowels.',
    { cause },
  );
}
