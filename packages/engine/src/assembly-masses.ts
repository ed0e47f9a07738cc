import {
  assembledMass,
  type Body,
  type CopyMass,
  combineBodies,
  type PartMass,
  transformBody,
} from '@stonehand/balance';
import { affineOf, composeAffine, invertAffine } from '@stonehand/base';
import type { Assembly, Estimate, Figure, MassReport, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { pinBodies } from './joint-stock.ts';
import type { PartOutcome } from './pieces.ts';
import { type SkinOutcome, skinTask } from './skin-task.ts';
import { type WeighedPiece, weighedPieces } from './weighed-copies.ts';

/** What every root assembly weighs and where it balances, from the plastic that really lies in each piece. */
export async function assemblyMasses(
  engine: Engine,
  workspace: Workspace,
  outcomes: readonly PartOutcome[],
  pieces: readonly SlicedPiece[],
): Promise<MassReport[]> {
  const pieceMass = await partMasses(engine, workspace, outcomes, pieces);
  return workspace.assemblies.map((assembly) => assembledMass(assembly, { pieceMass, hardware: workspace.hardware }));
}

/** By part: estimate, copies that were weighed, surface and seams where paint or glue ask for them. */
export async function partMasses(
  engine: Engine,
  workspace: Workspace,
  outcomes: readonly PartOutcome[],
  pieces: readonly SlicedPiece[],
): Promise<Record<string, PartMass>> {
  const byPart = piecesByPart(pieces);
  const estimates = new Map(pieces.map(({ piece, estimates: [first] }) => [piece.id, first!]));
  const weighed = weighedPieces(
    workspace.ledger,
    (id) => {
      const estimate = estimates.get(id);
      return estimate === undefined ? undefined : { massG: estimate.massG.value, partG: estimate.partG };
    },
    (id) => byPart.get(id)?.map(({ piece }) => piece.id) ?? [],
  );
  const skins = await skinsOf(engine, workspace, outcomes);
  const masses: Record<string, PartMass> = {};
  for (const [partId, mine] of byPart) {
    const estimated = massOfPieces(mine, (piece) => piece.estimates[0]!);
    const copies = weighedCopies(mine, weighed, estimated);
    const skin = skins.get(partId);
    masses[partId] = {
      ...estimated,
      ...(Object.keys(copies).length === 0 ? {} : { copies }),
      ...(skin?.skin === undefined ? {} : { skin: skin.skin }),
      ...(skin === undefined || skin.seams.length === 0 ? {} : { seams: skin.seams }),
    };
  }
  return masses;
}

export function piecesByPart(pieces: readonly SlicedPiece[]): Map<string, SlicedPiece[]> {
  const byPart = new Map<string, SlicedPiece[]>();
  for (const piece of pieces) byPart.set(piece.piece.partId, [...(byPart.get(piece.piece.partId) ?? []), piece]);
  return byPart;
}

/** A part's pieces and the pins between them as one, each by the estimate that is picked for it, in the coordinates of the part's mesh. */
export function massOfPieces(pieces: readonly SlicedPiece[], estimateOf: (piece: SlicedPiece) => Estimate): CopyMass {
  const { joints, part } = pieces[0]!.work;
  const pins = pinBodies(joints, part.material.densityGPerCm3);
  const bodies = pieces.map((piece) => bodyInPart(piece, estimateOf(piece)));
  const { centreMm, inertiaGMm2 } = combineBodies([...bodies, ...pins]);
  const pinsG = pins.reduce((sum, { massG }) => sum + massG, 0);
  return { massG: partFigure(pieces.map(estimateOf), pinsG), centreMm, inertiaGMm2 };
}

/** The printed plastic of a piece, without support and brim. */
function bodyInPart({ piece: { pose, partFromPiece } }: SlicedPiece, estimate: Estimate): Body {
  const { partG, centreMm, inertiaGMm2 } = estimate;
  const partFromPosed = composeAffine(partFromPiece, invertAffine(affineOf(pose.rotation, pose.offsetMm)));
  return transformBody({ massG: partG, centreMm, inertiaGMm2 }, partFromPosed);
}

/** @param pinsG what is surely there beside the plastic */
function partFigure(estimates: readonly Estimate[], pinsG: number): Figure {
  let value = pinsG;
  let low = pinsG;
  let high = pinsG;
  for (const { partG, massG } of estimates) {
    // What stays in the part is as unsure as what is printed.
    value += partG;
    low += partG * shareOf(massG.low, massG.value);
    high += partG * shareOf(massG.high, massG.value);
  }
  return { value, low, high, level: 0.8, from: estimates[0]!.massG.from };
}

/** A part of a millimetre prints nothing at all: no grams, and no doubt about them. */
function shareOf(end: number | undefined, value: number): number {
  return value > 0 ? (end ?? value) / value : 1;
}

/** Copies of which at least one piece stood on a scale; pieces that did not count by estimate. */
function weighedCopies(
  pieces: readonly SlicedPiece[],
  weighed: ReadonlyMap<string, WeighedPiece>,
  { massG: whole, centreMm, inertiaGMm2 }: CopyMass,
): Record<number, CopyMass & Readonly<{ weighed: true }>> {
  const copies: Record<number, CopyMass & Readonly<{ weighed: true }>> = {};
  const { quantity, spares } = pieces[0]!.work.part.spec;
  for (let n = 1; n <= quantity + spares; n++) {
    const found = pieces.map(({ piece }) => weighed.get(`${piece.id}#${n}`));
    if (found.every((one) => one === undefined)) continue;
    let value = 0;
    let squares = 0;
    found.forEach((one, i) => {
      const { partG, massG } = pieces[i]!.estimates[0]!;
      value += one?.massG ?? partG;
      const half = one?.halfG ?? partG * (shareOf(massG.high, massG.value) - 1);
      squares += half ** 2;
    });
    const half = Math.sqrt(squares);
    const share = whole.value === 0 ? 1 : value / whole.value;
    const [xx, yy, zz, xy, yz, zx] = inertiaGMm2;
    copies[n] = {
      massG: { value, low: value - half, high: value + half, level: 0.8, from: 'on the scale' },
      centreMm,
      inertiaGMm2: [share * xx, share * yy, share * zz, share * xy, share * yz, share * zx],
      weighed: true,
    };
  }
  return copies;
}

/** Surfaces of painted parts, and seams of cut parts where glue counts. */
async function skinsOf(
  engine: Engine,
  workspace: Workspace,
  outcomes: readonly PartOutcome[],
): Promise<Map<string, SkinOutcome>> {
  const glued = gluedParts(workspace.assemblies);
  const asked = outcomes.filter(({ part, planes }) => {
    const cut = planes !== undefined && glued.has(part.spec.id);
    return part.ref !== undefined && (part.spec.paint !== undefined || cut);
  });
  const results = await engine.map(
    skinTask,
    asked.map(({ part, planes }) => ({
      mesh: part.ref!,
      paint: part.spec.paint !== undefined,
      planes: glued.has(part.spec.id) ? (planes ?? []) : [],
    })),
    'surfaces',
  );
  const skins = new Map<string, SkinOutcome>();
  for (const [i, result] of results.entries()) if (result.ok) skins.set(asked[i]!.part.spec.id, result.value);
  return skins;
}

/** Parts of assemblies that state grams of glue on a metre, and of those below them. */
function gluedParts(assemblies: readonly Assembly[], glueAbove = 0, into: Set<string> = new Set()): Set<string> {
  for (const { parts, children, glueGPerM = glueAbove } of assemblies) {
    if (glueGPerM > 0) for (const part of parts) into.add(part.id);
    gluedParts(
      children.map((child) => child.assembly),
      glueGPerM,
      into,
    );
  }
  return into;
}
