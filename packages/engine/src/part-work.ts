import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { machineFindings } from '@stonehand/estimate';
import type { Assembly, LedgerEntry, Material, Mending, PartSpec, Printer, Recipe, Workspace } from '@stonehand/model';
import type { ContentIndex } from './content-index.ts';
import type { Engine } from './engine.ts';
import { mendedWorks } from './mended-works.ts';
import type { MeshRef } from './mesh-ref.ts';

/** A part with everything that decides how it is printed, looked up. */
export type PartWork = Readonly<{
  spec: PartSpec;
  /** absent when the file cannot be read: then `fault` says why */
  ref?: MeshRef;
  /** where the mesh was mended: what was done, and the mesh as it is in its file */
  mending?: Mending;
  asInFile?: MeshRef;
  fault?: StonehandError;
  material: Material;
  recipe: Recipe;
  /** printers that can print this material and recipe at all */
  printers: readonly Printer[];
  /** why each other printer cannot */
  refusals: readonly Readonly<{ printerId: string; why: string }>[];
}>;

/** All parts of a workspace, in the order of its files; meshes that may be mended are. */
export async function partWorks(engine: Engine, workspace: Workspace): Promise<readonly PartWork[]> {
  return mendedWorks(engine, await worksAsInFiles(workspace, engine.content));
}

async function worksAsInFiles(workspace: Workspace, content: ContentIndex): Promise<PartWork[]> {
  const works: PartWork[] = [];
  for (const spec of allParts(workspace.assemblies)) {
    const material = known(workspace.materials, spec.materialId, 'material', spec);
    const asStated = known(workspace.recipes, spec.recipeId, 'recipe', spec);
    const recipe = spec.support === 'none' ? { ...asStated, support: 'none' as const } : asStated;
    const refusals = workspace.printers.flatMap((printer) => {
      const why = whyNotPrintable(printer, material, recipe, spec);
      return why === undefined ? [] : [{ printerId: printer.id, why }];
    });
    const refused = new Set(refusals.map((refusal) => refusal.printerId));
    const printers = workspace.printers.filter((printer) => !refused.has(printer.id));
    works.push({ spec, material, recipe, printers, refusals, ...(await meshOf(spec, workspace.root, content)) });
  }
  return works;
}

export function* allParts(assemblies: readonly Assembly[]): Generator<PartSpec> {
  for (const assembly of assemblies) {
    yield* assembly.parts;
    yield* allParts(assembly.children.map((child) => child.assembly));
  }
}

async function meshOf(spec: PartSpec, root: string, content: ContentIndex): Promise<Pick<PartWork, 'ref' | 'fault'>> {
  // A part from elsewhere may be known by its mass alone.
  if (spec.meshFile === '') return {};
  const path = resolve(root, spec.meshFile);
  try {
    const contentHash = await content.hashOf(path, spec.meshFile);
    return {
      ref: {
        name: spec.meshFile,
        path,
        contentHash,
        scale: spec.scale,
        ...(spec.unitFrom === 'stated' ? { unit: spec.unit } : {}),
        ...(spec.mirror === undefined ? {} : { mirror: spec.mirror }),
        ...(spec.item === undefined ? {} : { item: spec.item }),
      },
    };
  } catch (error) {
    if (error instanceof StonehandError) return { fault: error };
    throw error;
  }
}

/** Why this printer cannot print this material with this recipe, or undefined when it can. */
export function whyNotPrintable(
  printer: Printer,
  material: Material,
  recipe: Recipe,
  spec?: Pick<PartSpec, 'printerIds'>,
): string | undefined {
  if (spec?.printerIds !== undefined && !spec.printerIds.includes(printer.id)) return 'the part names other printers';
  return machineFindings(printer, material, recipe).find(({ severity }) => severity === 'stop')?.says;
}

function known<T extends { readonly id: string }>(list: readonly T[], id: string, what: string, spec: PartSpec): T {
  const found = list.find((item) => item.id === id);
  if (found === undefined) {
    throw new StonehandError(
      'DATA_UNKNOWN',
      `${spec.id}: there is no ${what} "${id}"`,
      `Define it in shop/${what}s.yaml or correct the name.`,
    );
  }
  return found;
}

/** The copies of a piece that are still to be printed: all of its quantity and spares less what the ledger and the status say is there. */
export function copiesToPrint(pieceId: string, spec: PartSpec, ledger: readonly LedgerEntry[]): string[] {
  if (spec.status !== 'print') return [];
  const there = new Set<string>();
  // A line may be back-dated: what broke after it was there is printed again.
  for (const entry of [...ledger].sort((a, b) => Date.parse(a.at) - Date.parse(b.at))) {
    if (entry.what === 'done' || entry.what === 'have') for (const id of entry.copyIds ?? []) there.add(id);
    if (entry.what === 'failed') for (const id of entry.savedIds ?? []) there.add(id);
    if (entry.what === 'broken') for (const id of entry.copyIds ?? []) there.delete(id);
  }
  const copies: string[] = [];
  for (let n = 1; n <= spec.quantity + spec.spares; n++) {
    const id = `${pieceId}#${n}`;
    // "part#2" in the ledger also stands for every piece of that copy.
    if (!there.has(id) && !there.has(`${spec.id}#${n}`)) copies.push(id);
  }
  return copies;
}
