import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { fitChecks, printingLimits, type Suspicion, suspicionsAbout } from '@stonehand/engine';
import type { Reading } from '@stonehand/model';
import { renderChecks, renderLimits, renderMeasure } from '@stonehand/report';
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
  const workspace = await loadWorkspace(root);
  const printing = await printingLimits(engine, workspace, pieces);
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
  const { open: suspicions, settled } = await suspicionsAbout(engine, workspace);
  const checks = await fitChecks(engine, workspace);
  if (options.json === true)
    context.print(JSON.stringify({ problems, readings: doubtful, suspicions, printing, limits: broken, ...checks }));
  else {
    context.print(
      doubtful.length === 0
        ? `all ${plan.readings.length} meshes are sound`
        : renderMeasure(doubtful.map(byPart), { width: context.width, colour: context.colour, units: plan.unitsShown }),
    );
    for (const line of purposeLines(plan.readings)) context.print(line);
    for (const line of suspicionLines(suspicions, plan.readings)) context.print(line);
    for (const line of settleLines(suspicions, settled)) context.print(line);
    for (const line of printingLines(printing, context.width)) context.print(line);
    const together = renderChecks(checks, { width: context.width, colour: context.colour });
    if (together !== '') context.print(`\n${together}\n`);
    const style = { width: context.width, units: plan.unitsShown };
    const limits = renderLimits(plan.mass, style);
    if (limits !== '') context.print(limits);
    if (broken.length === 0) context.print('all limits hold');
  }
  const stopped = [...doubtful.flatMap(({ findings }) => findings), ...printing.map(({ finding }) => finding)];
  return stopped.some(({ severity }) => severity === 'stop') || broken.length > 0 ? 1 : 0;
};

// Several parts may be of one file.
function byPart(reading: Reading): Reading {
  return reading.partId === undefined ? reading : { ...reading, file: reading.partId };
}

// Done to a part on purpose: no doubt about its mesh, but worth a line.
function purposeLines(readings: readonly Reading[]): string[] {
  return readings.flatMap(({ partId, file, findings }) =>
    findings.filter(({ code }) => code === 'mirrored').map(({ says }) => `${partId ?? file}: ${says}`),
  );
}

/** How to answer a question on purpose, so that it is not asked again. */
function settleLines(suspicions: readonly Suspicion[], settled: number): string[] {
  const counted =
    settled === 0 ? [] : [`${settled} settled in stonehand.yaml ${settled === 1 ? 'is' : 'are'} not asked again`];
  if (suspicions.length === 0) return counted;
  return [
    ...counted,
    'Answered on purpose? With its line under "settled:" in stonehand.yaml a question is not asked again:',
    ...suspicions.map(({ kind, files, part }) => {
      const named = part === undefined ? '' : `, part: ${JSON.stringify(part)}`;
      return `  - { what: ${kind}, files: [${files.map((file) => JSON.stringify(file)).join(', ')}]${named} }`;
    }),
  ];
}
