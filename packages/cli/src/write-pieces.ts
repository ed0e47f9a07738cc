import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { type Engine, loadMesh, type SplitOutcome } from '@stonehand/engine';
import { mergeMeshes, writeStl } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { exploded, piecesGlb, posePng, write3mf } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import { fileNameOf } from './file-name.ts';

/** The pieces of a part as STL and 3MF, each and together, and the part drawn apart as GLB and PNG; the text goes beside them. */
export async function writePieces(
  outcome: SplitOutcome,
  { partName, out, engine, text }: Readonly<{ partName: string; out: string; engine: Engine; text: string }>,
): Promise<string[]> {
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true });
  const base = fileNameOf(partName);
  const files: string[] = [];
  const write = async (name: string, bytes: Uint8Array | string): Promise<void> => {
    await replaceFile(join(folder, name), bytes);
    files.push(name);
  };
  const bodies: { name: string; mesh: Mesh }[] = [];
  for (const { id, ref } of outcome.pieces) {
    const { mesh } = await loadMesh(ref, engine.cacheFolder);
    const name = `${base}-${id}`;
    bodies.push({ name, mesh });
    await write(`${name}.stl`, writeStl(mesh, name));
    await write(`${name}.model.3mf`, write3mf([{ name, mesh }], [{ object: 0 }], {}));
  }
  const items = bodies.map((_, object) => ({ object }));
  await write(`${base}-pieces.model.3mf`, write3mf(bodies, items, { title: partName }));
  const apart = exploded(bodies);
  await write(`${base}-apart.glb`, await piecesGlb(apart));
  await write(`${base}-apart.png`, picture(apart.map(({ mesh }) => mesh)));
  await write(`${base}-joining.txt`, text);
  return files;
}

function picture(meshes: readonly Mesh[]): Uint8Array {
  // Nothing is beyond 90°, so no face is coloured as an overhang.
  return posePng(mergeMeshes(meshes), { widthPx: 1200, heightPx: 560, overhangFromVerticalDeg: 90, scale: false });
}
