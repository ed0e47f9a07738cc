import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { trialEstimates } from '@stonehand/engine';
import { writeStl } from '@stonehand/mesh';
import { renderTrial } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import { pickById } from '../pick-by-id.ts';
import type { Verb } from '../program.ts';
import { workspaceOf } from '../workspace-of.ts';

type TrialOptions = Readonly<{ printer?: string; material?: string; recipe?: string; bed?: string; out?: string }>;

/** Writes the three trial prints and says what to expect of them, kind by kind. */
export const trial: Verb<TrialOptions> = async (_, options, context) => {
  const { workspace } = await workspaceOf(undefined, options);
  const printer = pickById(workspace.printers, options.printer, 'printer');
  const material = pickById(workspace.materials, options.material, 'material');
  const recipe = pickById(workspace.recipes, options.recipe, 'recipe');
  const trials = await trialEstimates(recipe, printer, material);
  const folder = options.out ?? 'trial-prints';
  mkdirSync(folder, { recursive: true });
  for (const { print } of trials) await replaceFile(join(folder, `${print.id}.stl`), writeStl(print.mesh, print.id));
  const rows = trials.map(({ print, estimate }) => ({ ...print, estimate }));
  context.print(
    options.json === true
      ? JSON.stringify(rows.map(({ mesh: _mesh, ...row }) => ({ ...row, file: join(folder, `${row.id}.stl`) })))
      : renderTrial(rows, {
          folder,
          printerId: printer.id,
          materialId: material.id,
          recipeId: recipe.id,
          width: context.width,
          colour: context.colour,
          units: workspace.unitsShown,
        }),
  );
  return 0;
};
