import { assembledMass, type Body, combineBodies, type PartMass, transformBody } from '@stonehand/balance';
import { affineOf, composeAffine, invertAffine } from '@stonehand/base';
import type { Figure, MassReport, Workspace } from '@stonehand/model';
import type { SlicedPiece } from './estimate-pieces.ts';

/** What every root assembly weighs and where it balances, from the plastic that really lies in each piece. */
export function assemblyMasses(workspace: Workspace, pieces: readonly SlicedPiece[]): MassReport[] {
  const pieceMass = partMasses(pieces);
  return workspace.assemblies.map((assembly) => assembledMass(assembly, { pieceMass, hardware: workspace.hardware }));
}

function partMasses(pieces: readonly SlicedPiece[]): Record<string, PartMass> {
  const byPart = new Map<string, SlicedPiece[]>();
  for (const piece of pieces) byPart.set(piece.piece.partId, [...(byPart.get(piece.piece.partId) ?? []), piece]);
  const masses: Record<string, PartMass> = {};
  for (const [partId, mine] of byPart) {
    const { centreMm, inertiaGMm2 } = combineBodies(mine.map(bodyInPart));
    masses[partId] = { massG: partFigure(mine), centreMm, inertiaGMm2 };
  }
  return masses;
}

/** The printed plastic of a piece, without support and brim, in the coordinates of the part's mesh. */
function bodyInPart({ piece: { pose, partFromPiece }, estimates }: SlicedPiece): Body {
  const { partG, centreMm, inertiaGMm2 } = estimates[0]!;
  const partFromPosed = composeAffine(partFromPiece, invertAffine(affineOf(pose.rotation, pose.offsetMm)));
  return transformBody({ massG: partG, centreMm, inertiaGMm2 }, partFromPosed);
}

function partFigure(pieces: readonly SlicedPiece[]): Figure {
  let value = 0;
  let low = 0;
  let high = 0;
  for (const { estimates } of pieces) {
    const { partG, massG } = estimates[0]!;
    // What stays in the part is as unsure as what is printed.
    value += partG;
    low += (partG * (massG.low ?? massG.value)) / massG.value;
    high += (partG * (massG.high ?? massG.value)) / massG.value;
  }
  return { value, low, high, level: 0.8, from: pieces[0]!.estimates[0]!.massG.from };
}
