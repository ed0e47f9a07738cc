import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { allParts, type Engine, loadMesh, type PlanResult } from '@stonehand/engine';
import { writeStl } from '@stonehand/mesh';
import type { PartSpec, Workspace } from '@stonehand/model';
import { poseMesh } from '@stonehand/orient';
import { layerCount, massText, recipeSentence } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import { fileNameOf } from './file-name.ts';

export type Share = Readonly<{
  folder: string;
  files: readonly string[];
  left: readonly Readonly<{ partId: string; why: string }>[];
}>;

// Licences that forbid passing on a changed copy, as the common licence families name it in their short form.
const NO_SHARING = /(^|[^a-z])(nd|noderiv\w*|all rights reserved|personal use( only)?)([^a-z]|$)/i;

/** A folder for others: STL of every piece in its pose, print notes, bought items, licence and origin of each base file. */
export async function writeShare(
  workspace: Workspace,
  { plan, pieces }: PlanResult,
  engine: Engine,
  out: string,
): Promise<Share> {
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true });
  const files: string[] = [];
  const left: { partId: string; why: string }[] = [];
  const notes = [`# ${plan.name}`, '', '## Parts to print', ''];
  const forbidden = new Map<string, string>();
  for (const spec of allParts(workspace.assemblies)) {
    const base = spec.basedOn.find(({ licence }) => licence !== undefined && NO_SHARING.test(licence));
    if (base === undefined) continue;
    const why = `the licence of ${base.file} forbids it: ${base.licence}`;
    forbidden.set(spec.id, why);
    left.push({ partId: spec.id, why });
  }
  for (const { piece, work, estimates } of pieces) {
    if (forbidden.has(piece.partId)) continue;
    const { mesh } = await loadMesh(work.ref, engine.cacheFolder);
    const name = `${fileNameOf(piece.id)}.stl`;
    await replaceFile(join(folder, name), writeStl(poseMesh(mesh, piece.pose), piece.id));
    files.push(name);
    const { recipe, material, spec } = work.part;
    const mass = estimates[0] === undefined ? '' : `, about ${massText(estimates[0].massG, plan.unitsShown)}`;
    notes.push(
      `- **${name}**, ${spec.quantity} ×: ${recipeSentence(recipe)}, ${material.kind} ${material.colour}, ${layerCount(piece.pose.heightMm, recipe)} layers${mass}. ${piece.pose.reason}.`,
    );
  }
  notes.push('', '## Bought items', '', ...plan.hardware.map(({ item, quantity }) => `- ${quantity} × ${item.name}`));
  notes.push('', '## Where the shapes come from', '', ...originsOf(allParts(workspace.assemblies), forbidden));
  if (left.length > 0) notes.push('', '## Left out', '', ...left.map(({ partId, why }) => `- ${partId}: ${why}`));
  await replaceFile(join(folder, 'print-notes.md'), `${notes.join('\n')}\n`);
  return { folder, files: [...files, 'print-notes.md'], left };
}

function originsOf(parts: Iterable<PartSpec>, forbidden: ReadonlyMap<string, string>): string[] {
  const lines: string[] = [];
  for (const part of parts) {
    if (forbidden.has(part.id)) continue;
    for (const { file, revision, licence, origin } of part.basedOn) {
      lines.push(
        `- ${part.id}: ${file}${revision === undefined ? '' : `, revision ${revision}`}, ${licence ?? 'licence not stated'}${origin === undefined ? '' : `, from ${origin}`}`,
      );
    }
  }
  return lines.length === 0 ? ['- no base file is named'] : lines;
}
