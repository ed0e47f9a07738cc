import { nearestName, StonehandError } from '@stonehand/base';
import type { MassReport } from '@stonehand/model';
import { renderWeigh } from '@stonehand/report';
import { planFor } from '../plan-for.ts';
import type { Verb } from '../program.ts';

export const weigh: Verb<object> = async (names, options, context) => {
  const { plan } = await planFor(undefined, options, context);
  const all = plan.mass.flatMap(withChildren);
  const wanted = names[0];
  const reports = wanted === undefined ? plan.mass : all.filter(({ assemblyId }) => assemblyId === wanted);
  if (reports.length === 0) {
    const near = nearestName(
      wanted ?? '',
      all.map(({ assemblyId }) => assemblyId),
    );
    throw new StonehandError(
      'DATA_UNKNOWN',
      `there is no assembly "${wanted ?? ''}"`,
      near === undefined ? 'Name one of the folders with an assembly.yaml.' : `Did you mean "${near}"?`,
    );
  }
  context.print(
    options.json === true
      ? JSON.stringify(reports)
      : renderWeigh(reports, { width: context.width, colour: context.colour, units: plan.unitsShown }),
  );
  return reports.flatMap(withChildren).some(({ limits }) => limits.some(({ margin }) => margin < 0)) ? 1 : 0;
};

function withChildren(report: MassReport): MassReport[] {
  return [report, ...report.children.flatMap(withChildren)];
}
