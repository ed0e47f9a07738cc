import { machineFindings, weldFindings } from '@stonehand/estimate';
import type { Assembly, Finding, Joint, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import type { SlicedPiece } from './estimate-pieces.ts';
import { limitsTask } from './limits-task.ts';
import { allParts } from './part-work.ts';

/** Something doubtful about printing a piece, or joining parts, and where it holds. */
export type PrintingLimit = Readonly<{ what: string; printerIds: readonly string[]; finding: Finding }>;

/** What stands against printing the pieces where they may be printed, and against the joints between parts; notes are left out. */
export async function printingLimits(
  engine: Engine,
  workspace: Workspace,
  pieces: readonly SlicedPiece[],
): Promise<PrintingLimit[]> {
  const jobs = pieces.flatMap(({ work, piece }) => work.printers.map((printer) => ({ work, piece, printer })));
  const outcomes = await engine.map(
    limitsTask,
    jobs.map(({ work: { ref, pose, part }, printer }) => ({
      mesh: ref,
      pose,
      recipe: part.recipe,
      material: part.material,
      printer,
      opaque: part.spec.opaque === true,
    })),
    'limits',
  );
  const found = jobs.flatMap(({ work: { part }, piece, printer }, i) => {
    const outcome = outcomes[i]!;
    const findings = [...machineFindings(printer, part.material, part.recipe), ...(outcome.ok ? outcome.value : [])];
    return findings.map((finding) => ({ what: piece.id, printerIds: [printer.id], finding }));
  });
  const joints = workspace.assemblies.flatMap((assembly) => jointFindings(assembly, workspace));
  return merged([...found, ...joints]).filter(({ finding }) => finding.severity !== 'note');
}

function jointFindings({ joints, children }: Assembly, workspace: Workspace): PrintingLimit[] {
  const own = joints.flatMap((joint) =>
    weldFindings(joint, materialsOf(joint, workspace)).map((finding) => ({
      what: joint.between.join(' and '),
      printerIds: [],
      finding,
    })),
  );
  return [...own, ...children.flatMap(({ assembly }) => jointFindings(assembly, workspace))];
}

function materialsOf({ between }: Joint, { assemblies, materials }: Workspace): Workspace['materials'] {
  const ids = new Set<string>();
  for (const part of allParts(assemblies)) if (between.includes(part.id)) ids.add(part.materialId);
  return materials.filter(({ id }) => ids.has(id));
}

/** The same said of several printers is said once. */
function merged(limits: readonly PrintingLimit[]): PrintingLimit[] {
  const known = new Map<string, PrintingLimit>();
  for (const limit of limits) {
    const key = `${limit.what} ${limit.finding.says}`;
    const before = known.get(key);
    known.set(
      key,
      before === undefined ? limit : { ...before, printerIds: [...before.printerIds, ...limit.printerIds] },
    );
  }
  return [...known.values()];
}
