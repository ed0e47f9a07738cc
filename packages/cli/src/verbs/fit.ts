import { StonehandError } from '@stonehand/base';
import { type FitOutcome, fitParts, fitRow, readingsOfParts, summaryOfPart } from '@stonehand/engine';
import type { Workspace } from '@stonehand/model';
import { type FitRow, fitRows, meshesToLookAt, renderFindings, renderFit, renderWays } from '@stonehand/report';
import { asModelled } from '../as-modelled.ts';
import type { Verb } from '../program.ts';
import { workspaceOf } from '../workspace-of.ts';
import { writeFitPage } from '../write-fit.ts';

type FitOptions = Readonly<{ bed?: string; unit?: string; pose?: string; weights?: string; out?: string }>;

/** With so few parts their ways up are told one by one. */
const FEW = 3;

export const fit: Verb<FitOptions> = async (names, options, context) => {
  if (options.pose !== undefined && options.pose !== 'asModelled') {
    throw new StonehandError('USAGE', `--pose ${options.pose}: not a rule`, 'The one rule to ask for is asModelled.');
  }
  if (options.weights !== undefined && options.weights !== 'support') {
    throw new StonehandError('USAGE', `--weights ${options.weights}: not known`, 'The one to ask for is support.');
  }
  const { workspace, onDisk } = await workspaceOf(names[0], options);
  const engine = context.engine(onDisk ? workspace.root : undefined);
  const outcomes = await fitParts(engine, options.pose === 'asModelled' ? asModelled(workspace) : workspace, {
    seed: workspace.seed,
    ...(options.weights === 'support' ? { weights: 'support' } : {}),
  });
  const rows = rowsOf(outcomes, workspace);
  const text = {
    title: workspace.name,
    rows,
    printers: workspace.printers,
    units: workspace.unitsShown,
    ...(onDisk ? {} : { bedNote: workspace.assumed[0]! }),
  };
  if (options.json === true) context.print(JSON.stringify(outcomes.map(fitRow)));
  else {
    context.print(renderFit(text, { width: context.width, colour: context.colour }));
    if (outcomes.length <= FEW || options.pose !== undefined) {
      for (const { part, poses, facts } of outcomes) {
        if (poses.length === 0) continue;
        context.print(
          renderWays(
            { name: part.spec.name, poses, ...(facts && { causes: facts.causes }), gramsPerMm3: gramsOf(part) },
            { width: context.width, colour: context.colour },
          ),
        );
      }
    }
    const parts = outcomes.map(summaryOfPart);
    const doubtful = meshesToLookAt({ parts, readings: await readingsOfParts(engine, outcomes) });
    if (doubtful.length > 0) context.print(`\n${renderFindings(doubtful, { width: context.width })}`);
    for (const { part, why } of outcomes) if (why !== undefined) context.print(`${part.spec.name}: ${why}`);
  }
  if (options.out !== undefined) {
    const page = await writeFitPage(engine, outcomes, text, options.out);
    context.say(`page: ${page}`);
  }
  if (outcomes.some(({ fault }) => fault !== undefined)) return 2;
  return outcomes.some(({ part, pieces }) => part.spec.status === 'print' && pieces.length === 0) ? 1 : 0;
};

/** Grams of support for a mm³ of its columns. */
function gramsOf({ recipe, material }: FitOutcome['part']): number {
  return (recipe.supportShare * material.densityGPerCm3) / 1000;
}

function rowsOf(outcomes: readonly FitOutcome[], workspace: Workspace): FitRow[] {
  const rows = fitRows({
    ...workspace,
    fits: outcomes.flatMap(({ fits }) => fits),
    parts: outcomes.map(summaryOfPart),
    readings: [],
  });
  return rows.map((row) => {
    const outcome = outcomes.find(({ part }) => part.spec.id === row.partId);
    const pose = outcome?.poses[0];
    if (outcome === undefined || pose === undefined) return row;
    const { facts } = outcome;
    const sized = { ...row, sizeMm: (outcome.poses.find(({ id }) => id === 'asModelled') ?? pose).sizeMm };
    // What goes nowhere is not printed: its support would be a figure about nothing.
    if (row.verdicts.every(({ verdict, refused }) => verdict === 'no' || refused !== undefined)) return sized;
    return {
      ...sized,
      supportG: pose.supportMm3 * gramsOf(outcome.part),
      ...(facts && { smallestBedMm: facts.smallestBedMm, causes: facts.causes, leaning: facts.leaning }),
    };
  });
}
