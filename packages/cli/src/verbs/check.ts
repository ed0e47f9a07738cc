import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { allParts, type Engine, printingLimits, type Suspicion, suspicionsIn } from '@stonehand/engine';
import type { Reading } from '@stonehand/model';
import { renderMeasure } from '@stonehand/report';
import { findWorkspaceRoot, loadWorkspace, loadWorkspaceProblems } from '@stonehand/shop';
import { planFor } from '../plan-for.ts';
import { printingLines } from '../printing-lines.ts';
import type { Verb } from '../program.ts';
import { suspicionLines } from './init.ts';

export const check: Verb<object> = async ([path], options, context) => {
  const root = await findWorkspaceRoot(resolve(path ?? '.'));
  if (root === undefined)
    throw new StonehandError(
      'USAGE',
      `${path ?? 'this folder'} is in no workspace`,
      'Make one of a folder of meshes with: stonehand init FOLDER',
    );
  const problems = await loadWorkspaceProblems(root);
  if (problems.length > 0) {
    if (options.json === true) context.print(JSON.stringify({ problems }));
    else for (const { message, remedy } of problems) context.print(`${message}\n  ${remedy}`);
    return 2;
  }
  const engine = context.engine(root);
  const { plan, pieces } = await planFor(path, options, { ...context, engine: () => engine });
  const printing = await printingLimits(engine, await loadWorkspace(root), pieces);
  const broken = plan.mass.flatMap(function all(report): {
    assembly: string;
    limit: string;
    margin: number;
    unit: string;
  }[] {
    return [
      ...report.limits
        .filter(({ margin }) => margin < 0)
        .map(({ limit, margin, unit }) => ({ assembly: report.name, limit, margin, unit })),
      ...report.children.flatMap(all),
    ];
  });
  const doubtful = plan.readings.filter(({ findings }) => findings.some(({ severity }) => severity !== 'note'));
  const suspicions = await suspicionsAbout(root, plan.readings, engine);
  if (options.json === true)
    context.print(JSON.stringify({ problems, readings: doubtful, suspicions, printing, limits: broken }));
  else {
    context.print(
      doubtful.length === 0
        ? `all ${plan.readings.length} meshes are sound`
        : renderMeasure(doubtful, { width: context.width, colour: context.colour, units: plan.unitsShown }),
    );
    for (const line of suspicionLines(suspicions, plan.readings)) context.print(line);
    for (const line of printingLines(printing, context.width)) context.print(line);
    for (const { assembly, limit, margin, unit } of broken)
      context.print(`${assembly}: ${limit} is passed by ${Math.abs(margin).toFixed(1)} ${unit}`);
    if (broken.length === 0) context.print('all limits hold');
  }
  const stopped = [...doubtful.flatMap(({ findings }) => findings), ...printing.map(({ finding }) => finding)];
  return stopped.some(({ severity }) => severity === 'stop') || broken.length > 0 ? 1 : 0;
};

// Of the meshes that parts use: what the owner took out, or gave its quantity, is settled.
async function suspicionsAbout(root: string, readings: readonly Reading[], engine: Engine): Promise<Suspicion[]> {
  const quantities = new Map<string, number>();
  for (const { meshFile, quantity } of allParts((await loadWorkspace(root)).assemblies))
    quantities.set(meshFile, (quantities.get(meshFile) ?? 0) + quantity);
  const rows = [...new Map(readings.map((reading) => [reading.file, reading])).values()];
  return suspicionsIn(engine, root, rows, {
    compare: async (a, b) => (await import('@stonehand/inspect')).compareShapes(a, b),
    quantities,
  });
}
