import { StonehandError } from '@stonehand/base';
import { halfEdgeTwins, massProperties } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import type { Manifold, ManifoldToplevel } from 'manifold-3d';

/** manifold-3d and the handles made with it: its memory is freed only by hand. */
export type Kernel = Readonly<{ wasm: ManifoldToplevel; keep: <T extends { delete(): void }>(made: T) => T }>;

/** A solid that differs more from its mesh than this share of the volume is not the part any more. */
export const VOLUME_SHARE = 1e-5;

let library: Promise<ManifoldToplevel> | undefined;

/** Runs work with the kernel, loaded on first use, and frees every handle kept. */
export async function withKernel<T>(work: (kernel: Kernel) => T): Promise<T> {
  library ??= load();
  const wasm = await library;
  const handles: { delete(): void }[] = [];
  const keep = <H extends { delete(): void }>(made: H): H => {
    handles.push(made);
    return made;
  };
  try {
    return work({ wasm, keep });
  } finally {
    for (const handle of handles) handle.delete();
  }
}

async function load(): Promise<ManifoldToplevel> {
  const { default: open } = await import('manifold-3d');
  const wasm = await open();
  wasm.setup();
  return wasm;
}

/**
 * A closed mesh as a solid. Edges shared by four faces, and vertices where surfaces only touch, are taken apart first: the
 * kernel drops triangles at them without a word. Coordinates carry 32 bits from here on.
 * @throws StonehandError GEOMETRY_FAILED when the kernel refuses the mesh or its volume differs by more than 1e-5
 */
export function solidOf({ wasm, keep }: Kernel, mesh: Mesh, name: string): Manifold {
  const { positions, triangles } = takenApart(mesh);
  let solid: Manifold;
  try {
    solid = keep(wasm.Manifold.ofMesh(new wasm.Mesh({ numProp: 3, vertProperties: positions, triVerts: triangles })));
  } catch (cause) {
    throw refusal(name, cause instanceof Error ? cause.message : String(cause), cause);
  }
  const wanted = massProperties(mesh).volumeMm3;
  const got = solid.volume();
  if (!(Math.abs(got - wanted) <= VOLUME_SHARE * Math.abs(wanted))) {
    throw refusal(name, `the kernel makes ${got.toFixed(3)} mm³ of its ${wanted.toFixed(3)} mm³`);
  }
  return solid;
}

export function meshOf(solid: Manifold, like: Mesh): Mesh {
  const made = solid.getMesh();
  const corners = made.vertProperties.length / made.numProp;
  const positions = new Float64Array(3 * corners);
  for (let v = 0; v < corners; v++) {
    for (let d = 0; d < 3; d++) positions[3 * v + d] = made.vertProperties[made.numProp * v + d];
  }
  return { positions, triangles: Uint32Array.from(made.triVerts), originMm: like.originMm };
}

/** A vertex for every fan of triangles that hang together across paired edges. */
function takenApart(mesh: Mesh): { positions: Float32Array; triangles: Uint32Array } {
  const twins = halfEdgeTwins(mesh);
  const { triangles } = mesh;
  const next = (h: number): number => (h % 3 === 2 ? h - 2 : h + 1);
  const parent = Int32Array.from({ length: triangles.length }, (_, h) => h);
  const rootOf = (h: number): number => {
    let root = h;
    while (parent[root] !== root) root = parent[root];
    while (parent[h] !== root) [parent[h], h] = [root, parent[h]];
    return root;
  };
  for (let h = 0; h < twins.length; h++) {
    const twin = twins[h];
    if (twin < 0) continue;
    parent[rootOf(h)] = rootOf(next(twin));
  }
  const name = new Map<number, number>();
  const renamed = new Uint32Array(triangles.length);
  const positions: number[] = [];
  for (let h = 0; h < triangles.length; h++) {
    const root = rootOf(h);
    let vertex = name.get(root);
    if (vertex === undefined) {
      vertex = name.size;
      name.set(root, vertex);
      const at = 3 * triangles[h];
      positions.push(mesh.positions[at], mesh.positions[at + 1], mesh.positions[at + 2]);
    }
    renamed[h] = vertex;
  }
  return { positions: Float32Array.from(positions), triangles: renamed };
}

function refusal(name: string, why: string, cause?: unknown): StonehandError {
  return new StonehandError(
    'GEOMETRY_FAILED',
    `piece ${name} cannot be worked on as a solid: ${why}`,
    'Glue this part without joints (--joint none), or repair the mesh first.',
    { cause },
  );
}
