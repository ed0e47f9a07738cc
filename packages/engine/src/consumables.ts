import type { Assembly, Consumable, Joint, Reading, Workspace } from '@stonehand/model';
import type { SlicedPiece } from './estimate-pieces.ts';

/**
 * What is used up in putting together and finishing, from the joints and the finishing steps: glue and solvent by joint, and each
 * step's parts with the area of their surfaces (both sides of a shell, so more than is painted).
 */
export function consumables(
  workspace: Workspace,
  pieces: readonly SlicedPiece[],
  readings: readonly Reading[],
): Consumable[] {
  const glued: string[] = [];
  const welded = new Map<string, string[]>();
  const cut = new Map<string, SlicedPiece[]>();
  for (const piece of pieces) cut.set(piece.piece.partId, [...(cut.get(piece.piece.partId) ?? []), piece]);
  for (const [, bodies] of cut) {
    const { spec, material } = bodies[0]!.work.part;
    if (bodies.length < 2) continue;
    const seams = `${spec.name}, ${bodies.length} pieces${spec.quantity > 1 ? ` each of ${spec.quantity}` : ''}`;
    if (material.solvent !== undefined && material.joins.includes(material.kind))
      addTo(welded, material.solvent, seams);
    else glued.push(seams);
  }
  for (const joint of allJoints(workspace.assemblies)) {
    if (joint.kind === 'glue') glued.push(joint.id);
    if (joint.kind === 'weld') addTo(welded, solventOf(joint, pieces) ?? 'solvent', joint.id);
  }
  const steps = new Map<string, { uses: string[]; areaMm2: number }>();
  for (const [, bodies] of cut) {
    const { spec } = bodies[0]!.work.part;
    const area = readings.find(({ file }) => file === spec.meshFile)?.areaMm2 ?? 0;
    for (const { what } of spec.finishing) {
      const step = steps.get(what) ?? { uses: [], areaMm2: 0 };
      step.uses.push(spec.quantity > 1 ? `${spec.quantity} × ${spec.name}` : spec.name);
      step.areaMm2 += spec.quantity * area * spec.scale ** 2;
      steps.set(what, step);
    }
  }
  return [
    ...(glued.length === 0 ? [] : [{ what: 'glue', uses: glued }]),
    ...[...welded].map(([solvent, uses]) => ({
      what: solvent,
      uses,
      note: 'for welding; fumes: ventilate, no flame, gloves, and its safety data sheet first',
    })),
    ...[...steps].map(([what, { uses, areaMm2 }]) => ({ what: `to ${what}`, uses, areaMm2 })),
  ];
}

function addTo(lists: Map<string, string[]>, key: string, use: string): void {
  lists.set(key, [...(lists.get(key) ?? []), use]);
}

function allJoints(assemblies: readonly Assembly[]): Joint[] {
  return assemblies.flatMap((assembly) => [
    ...assembly.joints,
    ...allJoints(assembly.children.map((child) => child.assembly)),
  ]);
}

function solventOf({ between }: Joint, pieces: readonly SlicedPiece[]): string | undefined {
  return pieces.find(({ piece }) => between.some((id) => piece.partId === id || piece.partId.endsWith(`/${id}`)))?.work
    .part.material.solvent;
}
