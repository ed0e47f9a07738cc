import type { Assembly, Workspace } from '@stonehand/model';
import type { SlicedPiece } from './estimate-pieces.ts';
import { copiesToPrint } from './part-work.ts';

/** What completes an assembly counts up to half as much again (common sense, no source). */
const UNBLOCKS = 0.5;

/**
 * How much a piece matters: what its part says, and more the more of its assembly is there already, so that what is begun gets
 * done before something else is begun.
 */
export function importances(
  workspace: Workspace,
  pieces: ReadonlyMap<string, SlicedPiece>,
): (pieceId: string) => number {
  const share = new Map<string, number>();
  const own = new Map<string, number>();
  const visit = (assembly: Assembly, above: number): void => {
    const importance = above * (assembly.importance ?? 1);
    own.set(assembly.id, importance);
    let there = 0;
    let all = 0;
    for (const part of assembly.parts) {
      const copies = part.quantity + part.spares;
      const ids = [...pieces.values()].filter(({ piece }) => piece.partId === part.id).map(({ piece }) => piece.id);
      const open = ids.reduce((sum, id) => sum + copiesToPrint(id, part, workspace.ledger).length, 0);
      all += copies;
      there += copies - open / Math.max(1, ids.length);
    }
    share.set(assembly.id, all === 0 ? 0 : there / all);
    for (const child of assembly.children) visit(child.assembly, importance);
  };
  for (const assembly of workspace.assemblies) visit(assembly, 1);
  return (pieceId) => {
    const spec = pieces.get(pieceId)?.work.part.spec;
    if (spec === undefined) return 1;
    const importance = spec.importance * (own.get(spec.assemblyId) ?? 1);
    return importance * (1 + UNBLOCKS * (share.get(spec.assemblyId) ?? 0));
  };
}
