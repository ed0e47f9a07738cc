import { affineOf, rotationOfTurns } from '@stonehand/base';
import type { Material, Mesh, Piece, Plate } from '@stonehand/model';
import { displayColour } from './colours.ts';
import { pieceOfCopy } from './plan-names.ts';
import { type Item3mf, type Object3mf, write3mf } from './write-3mf.ts';

export type Plate3mfInput = Readonly<{
  plate: Plate;
  /** posed mesh by piece id: turned as it is printed, its box's least corner at 0,0,0 */
  meshes: ReadonlyMap<string, Mesh>;
  /** support under a posed piece, by piece id, in the same coordinates: becomes an object of type support beside it */
  supports?: ReadonlyMap<string, Mesh>;
  piece?: (pieceId: string) => Piece | undefined;
  name?: (copyOrPieceId: string) => string;
  materials?: readonly Material[];
  title?: string;
  application?: string;
  description?: string;
}>;

/**
 * A plate as 3MF: an object a piece, an item a copy where the plan places it (origin at the plate's front left, as the
 * standard has it), names, the material's display colour, and support as objects of its own. Pieces without a mesh are left out and named in `missing`.
 * @throws StonehandError as write3mf
 */
export function plate3mf(input: Plate3mfInput): { bytes: Uint8Array<ArrayBuffer>; missing: readonly string[] } {
  const { plate, meshes, supports, piece, materials = [], name = (id: string) => id } = input;
  const used = materials.filter((material) => plate.materialIds.includes(material.id));
  const materialAt = new Map(used.map((material, i) => [material.id, i]));
  const objects: Object3mf[] = [];
  const objectAt = new Map<string, number>();
  const supportAt = new Map<string, number>();
  const items: Item3mf[] = [];
  const missing: string[] = [];
  for (const placed of plate.placed) {
    const pieceId = pieceOfCopy(placed.copyId);
    const mesh = meshes.get(pieceId);
    if (mesh === undefined) {
      missing.push(placed.copyId);
      continue;
    }
    let object = objectAt.get(pieceId);
    if (object === undefined) {
      object = objects.length;
      objectAt.set(pieceId, object);
      const material = materialAt.get(piece?.(pieceId)?.materialId ?? plate.materialIds[0] ?? '');
      const of = material === undefined ? {} : { material };
      objects.push({ name: name(pieceId), mesh, partNumber: pieceId, ...of });
      const support = supports?.get(pieceId);
      if (support !== undefined && support.triangles.length > 0) {
        supportAt.set(pieceId, objects.length);
        const partNumber = `${pieceId} support`;
        objects.push({ name: `support of ${name(pieceId)}`, mesh: support, partNumber, type: 'support', ...of });
      }
    }
    const placement = affineOf(rotationOfTurns([0, 0, placed.turnDeg]), [placed.xMm, placed.yMm, 0]);
    items.push({ object, placement, partNumber: placed.copyId });
    const under = supportAt.get(pieceId);
    if (under !== undefined) items.push({ object: under, placement, partNumber: `${placed.copyId} support` });
  }
  const bytes = write3mf(objects, items, {
    title: input.title ?? plate.name,
    ...(input.application === undefined ? {} : { application: input.application }),
    ...(input.description === undefined ? {} : { metadata: { Description: input.description } }),
    materials: used.map((material) => ({
      name: material.name ?? `${material.kind} ${material.colour}`,
      colour: displayColour(material.colour),
    })),
  });
  return { bytes, missing };
}
