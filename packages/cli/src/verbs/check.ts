import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { renderMeasure } from '@stonehand/report';
import { findWorkspaceRoot, loadWorkspaceProblems } from '@stonehand/shop';
import { planFor } from '../plan-for.ts';
import type { Verb } from '../program.ts';

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
  const { plan } = await planFor(path, options, context);
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
  if (options.json === true) context.print(JSON.stringify({ problems, readings: doubtful, limits: broken }));
  else {
    context.print(
      doubtful.length === 0
        ? `all ${plan.readings.length} meshes are sound`
        : renderMeasure(doubtful, { width: context.width, colour: context.colour, units: plan.unitsShown }),
    );
    for (const { assembly, limit, margin, unit } of broken)
      context.print(`${assembly}: ${limit} is passed by ${Math.abs(margin).toFixed(1)} ${unit}`);
    if (broken.length === 0) context.print('all limits hold');
  }
  return doubtful.some(({ findings }) => findings.some(({ severity }) => severity === 'stop')) || broken.length > 0
    ? 1
    : 0;
};
