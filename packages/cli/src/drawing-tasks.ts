import { keyOfMesh, loadMesh, type MeshRef, type Task, type TaskContext } from '@stonehand/engine';
import { pathSpeeds } from '@stonehand/estimate';
import { separateFans, writeStl } from '@stonehand/mesh';
import type { Material, Mesh, Piece, Plate, Pose, Printer, Recipe } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { partGlb, plate3mf, posePng } from '@stonehand/report';
import { beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';
import { packLayersWithin, packShape } from '@stonehand/view';
import { marksTask } from './marks-task.ts';
import { supportMesh } from './support-mesh.ts';

/** Bytes cross to and from workers and the cache as base64. */
export type Base64 = string;

export type PosedInput = Readonly<{ mesh: MeshRef; pose: Pose; overhangFromVerticalDeg: number; name: string }>;

async function posed({ mesh, pose }: Pick<PosedInput, 'mesh' | 'pose'>, { cacheFolder }: TaskContext): Promise<Mesh> {
  return poseMesh((await loadMesh(mesh, cacheFolder)).mesh, pose);
}

/** A picture of a piece as it is printed. */
export const pictureTask: Task<PosedInput & Readonly<{ widthPx: number; heightPx: number }>, Base64> = {
  name: 'picture',
  keyed: ({ mesh, pose, overhangFromVerticalDeg, widthPx, heightPx }) => ({
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    overhangFromVerticalDeg,
    widthPx,
    heightPx,
  }),
  run: async (input, context) => {
    const { overhangFromVerticalDeg, widthPx, heightPx } = input;
    const png = posePng(await posed(input, context), { overhangFromVerticalDeg, widthPx, heightPx });
    return Buffer.from(png).toString('base64');
  },
};

/** A piece as it is printed, as GLB with overhang angles as vertex colours. */
export const glbTask: Task<PosedInput, Base64> = {
  name: 'glb',
  keyed: ({ mesh, pose, overhangFromVerticalDeg, name }) => ({
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    overhangFromVerticalDeg,
    name,
  }),
  run: async (input, context) => {
    const { name, overhangFromVerticalDeg } = input;
    const glb = await partGlb(await posed(input, context), { name, overhangFromVerticalDeg });
    return Buffer.from(glb).toString('base64');
  },
};

/** A piece as the page's 3D view reads it, in the mesh's own coordinates: the page turns it to each pose. */
export const shapeTask: Task<Readonly<{ mesh: MeshRef; mostTriangles: number }>, Base64> = {
  name: 'shape',
  keyed: ({ mesh, mostTriangles }) => ({ mesh: keyOfMesh(mesh), mostTriangles }),
  run: async ({ mesh, mostTriangles }, { cacheFolder }) => {
    const packed = await packShape((await loadMesh(mesh, cacheFolder)).mesh, { mostTriangles });
    return Buffer.from(packed).toString('base64');
  },
};

export type LayersInput = PosedInput &
  Readonly<{ recipe: Recipe; printer: Printer; material: Material; mostBytes: number }>;

/** Bead paths of as many layers as the page has room for, in posed coordinates. */
export const layersTask: Task<LayersInput, Base64> = {
  name: 'layers',
  keyed: ({ mesh, pose, recipe, printer, material, mostBytes }) => ({
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    recipe,
    printer,
    material,
    mostBytes,
  }),
  run: async (input, context) => {
    const [mesh, polygons] = await Promise.all([posed(input, context), loadPolygons()]);
    const paths = beadPaths(sliceMesh(mesh, input.recipe), input.recipe, polygons);
    const packed = packLayersWithin(paths, pathSpeeds(paths, input), input.mostBytes);
    return Buffer.from(packed).toString('base64');
  },
};

export type PlateFileInput = Readonly<{
  plate: Plate;
  pieces: readonly Readonly<{ piece: Piece; mesh: MeshRef; name: string }>[];
  materials: readonly Material[];
  title: string;
  application: string;
  description: string;
  /** with this recipe's support as objects of type support */
  supportBy?: Recipe;
}>;

/** A plate as 3MF. */
export const plateFileTask: Task<PlateFileInput, Base64> = {
  name: 'plate file',
  keyed: ({ pieces, ...rest }) => ({
    ...rest,
    pieces: pieces.map(({ piece, mesh, name }) => ({ piece, mesh: keyOfMesh(mesh), name })),
  }),
  run: async ({ plate, pieces, materials, title, application, description, supportBy }, context) => {
    const meshes = new Map<string, Mesh>();
    // Bodies that touch along an edge are sound here and would be refused there.
    for (const { piece, mesh } of pieces) {
      meshes.set(piece.id, separateFans(await posed({ mesh, pose: piece.pose }, context)));
    }
    const supports = new Map<string, Mesh>();
    if (supportBy !== undefined) for (const [id, mesh] of meshes) supports.set(id, await supportMesh(mesh, supportBy));
    const byId = new Map(pieces.map((entry) => [entry.piece.id, entry]));
    const { bytes } = plate3mf({
      plate,
      meshes,
      supports,
      materials,
      title,
      application,
      description,
      piece: (id) => byId.get(id)?.piece,
      name: (id) => byId.get(id)?.name ?? id,
    });
    return Buffer.from(bytes).toString('base64');
  },
};

export type SupportFileInput = Readonly<{ mesh: MeshRef; pose: Pose; recipe: Recipe; name: string }>;

/** The support of a piece as binary STL, standing as it is printed; empty when it needs none. */
export const supportFileTask: Task<SupportFileInput, Base64> = {
  name: 'support file',
  keyed: ({ mesh, pose, recipe, name }) => ({ mesh: keyOfMesh(mesh), rotation: pose.rotation, recipe, name }),
  run: async (input, context) => {
    const support = await supportMesh(await posed(input, context), input.recipe);
    if (support.triangles.length === 0) return '';
    return Buffer.from(writeStl(support, `support of ${input.name}`)).toString('base64');
  },
};

export const DRAWING_TASKS: readonly Task<never, unknown>[] = [
  pictureTask,
  glbTask,
  shapeTask,
  layersTask,
  plateFileTask,
  supportFileTask,
  marksTask,
];
