import { StonehandError } from '@stonehand/base';
import { estimateFiles } from '@stonehand/engine';
import { renderEstimate } from '@stonehand/report';
import { pickById } from '../pick-by-id.ts';
import type { Verb } from '../program.ts';
import { workspaceOf } from '../workspace-of.ts';

type EstimateOptions = Readonly<{ recipe?: string; printer?: string; material?: string; unit?: string; bed?: string }>;

export const estimate: Verb<EstimateOptions> = async (names, options, context) => {
  if (names.length === 0)
    throw new StonehandError(
      'USAGE',
      'estimate: no file is named',
      'Name one or more mesh files, such as: stonehand estimate skull.stl',
    );
  const { workspace, onDisk } = await workspaceOf(names[0], options);
  const recipe = pickById(workspace.recipes, options.recipe, 'recipe');
  const printer = pickById(workspace.printers, options.printer, 'printer');
  const material = pickById(workspace.materials, options.material, 'material');
  const engine = context.engine(onDisk ? workspace.root : undefined);
  const rows = await estimateFiles(engine, names, {
    recipe,
    printer,
    material,
    ...(options.unit === undefined ? {} : { unit: options.unit }),
  });
  if (options.json === true) context.print(JSON.stringify(rows.map((row) => ('error' in row ? row : row.estimate))));
  else {
    for (const line of onDisk ? [] : workspace.assumed.slice(0, 3)) context.say(line);
    const estimates = rows.flatMap((row) => ('error' in row ? [] : [row.estimate]));
    context.print(
      renderEstimate(estimates, { width: context.width, colour: context.colour, units: workspace.unitsShown }),
    );
    for (const row of rows) {
      if ('error' in row) context.say(`${row.error.message}\n  ${row.error.remedy}`);
      else context.print(`${row.file}: ${row.pose}`);
    }
  }
  return rows.some((row) => 'error' in row) ? 2 : 0;
};
