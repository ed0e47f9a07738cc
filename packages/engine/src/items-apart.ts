import { resolve } from 'node:path';
import type { Assembly, PartSpec, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { measureTask } from './measure-task.ts';

/**
 * The same workspace where each thing that a file asks to be built is a part of its own, for the files that are so marked: its name,
 * and as many of it as there are items that are only moved and turned.
 */
export async function itemsApart(engine: Engine, workspace: Workspace): Promise<Workspace> {
  const marked = workspace.assemblies.flatMap(({ parts }) => parts).filter(({ eachItem }) => eachItem === true);
  if (marked.length === 0) return workspace;
  const found = new Map<PartSpec, readonly PartSpec[]>();
  for (const part of marked) found.set(part, await partsOf(engine, workspace.root, part));
  const apart = (assembly: Assembly): Assembly => ({
    ...assembly,
    parts: assembly.parts.flatMap((part) => found.get(part) ?? [part]),
  });
  return { ...workspace, assemblies: workspace.assemblies.map(apart) };
}

async function partsOf(engine: Engine, root: string, part: PartSpec): Promise<readonly PartSpec[]> {
  const { eachItem: _, ...plain } = part;
  const path = resolve(root, part.meshFile);
  const unit = part.unitFrom === 'stated' ? { unit: part.unit } : {};
  const contentHash = await engine.content.hashOf(path, part.meshFile);
  const mesh = { name: part.meshFile, path, contentHash, scale: part.scale, ...unit };
  const [outcome] = await engine.map(measureTask, [{ mesh, sectionsMm: [] }], 'measuring');
  // A file that cannot be read is told where its part is measured.
  if (outcome === undefined || !outcome.ok || outcome.value.items === undefined) return [plain];
  return outcome.value.items.map(({ item, quantity }) => ({
    ...plain,
    id: `${part.id}/${item}`,
    name: /^\d+$/.test(item) ? `${part.name}, item ${item}` : item.replaceAll(/[-_]+/g, ' '),
    item,
    quantity,
  }));
}
