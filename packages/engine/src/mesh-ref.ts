/** Where a mesh is to be had from, and what the workspace does to it. `unit` only where the workspace states one. */
export type MeshRef = Readonly<{
  /** for messages */
  name: string;
  path?: string;
  /** of the file's bytes, or of a cut piece in the cache */
  contentHash: string;
  unit?: string;
  scale: number;
  mirror?: 'x' | 'y' | 'z';
  /** of a file that asks for several things to be built: only this one */
  item?: string;
}>;

/** What of a reference decides the mesh: everything but where the file lies and what it is called. */
export function keyOfMesh(ref: MeshRef): object {
  return { contentHash: ref.contentHash, unit: ref.unit, scale: ref.scale, mirror: ref.mirror, item: ref.item };
}
