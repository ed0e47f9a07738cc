import { StonehandError } from '@stonehand/base';
import { fitParts, fitRow, type PartOutcome, readingsOfParts, summaryOfPart } from '@stonehand/engine';
import type { Vec3 } from '@stonehand/model';
import { fitRows, meshesToLookAt, renderFindings, renderFit } from '@stonehand/report';
import { asModelled } from '../as-modelled.ts';
import type { Verb } from '../program.ts';
import { workspaceOf } from '../workspace-of.ts';

type FitOptions = Readonly<{ bed?: string; unit?: string; pose?: string }>;

export const fit: Verb<FitOptions> = async (names, options, context) => {
  if (options.pose !== undefined && options.pose !== 'asModelled') {
    throw new StonehandError('USAGE', `--pose ${options.pose}: not a rule`, 'The one rule to ask for is asModelled.');
  }
  const { workspace, onDisk } = await workspaceOf(names[0], options);
  const engine = context.engine(onDisk ? workspace.root : undefined);
  const outcomes = await fitParts(engine, options.pose === 'asModelled' ? asModelled(workspace) : workspace, {
    seed: workspace.seed,
  });
  if (options.json === true) context.print(JSON.stringify(outcomes.map(fitRow)));
  else {
    const rows = fitRows({
      ...workspace,
      fits: outcomes.flatMap(({ fits }) => fits),
      parts: outcomes.map(summaryOfPart),
      readings: [],
    });
    const sized = rows.map((row) => ({ ...row, ...sizeOf(outcomes, row.partId) }));
    context.print(
      renderFit(
        {
          rows: sized,
          printers: workspace.printers,
          units: workspace.unitsShown,
          ...(onDisk ? {} : { bedNote: workspace.assumed[0]! }),
        },
        { width: context.width, colour: context.colour },
      ),
    );
    const parts = outcomes.map(summaryOfPart);
    const doubtful = meshesToLookAt({ parts, readings: await readingsOfParts(engine, outcomes) });
    if (doubtful.length > 0) context.print(`\n${renderFindings(doubtful, { width: context.width })}`);
    for (const { part, why } of outcomes) if (why !== undefined) context.print(`${part.spec.name}: ${why}`);
  }
  if (outcomes.some(({ fault }) => fault !== undefined)) return 2;
  return outcomes.some(({ part, pieces }) => part.spec.status === 'print' && pieces.length === 0) ? 1 : 0;
};

function sizeOf(outcomes: readonly PartOutcome[], partId: string): { sizeMm?: Vec3 } {
  const poses = outcomes.find(({ part }) => part.spec.id === partId)?.poses ?? [];
  const sizeMm = (poses.find(({ id }) => id === 'asModelled') ?? poses[0])?.sizeMm;
  return sizeMm === undefined ? {} : { sizeMm };
}
