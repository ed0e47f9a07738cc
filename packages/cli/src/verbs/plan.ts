import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { type Engine, otherRecipes, partWorks, planWorkspace } from '@stonehand/engine';
import type { Workspace } from '@stonehand/model';
import { renderSummary } from '@stonehand/report';
import { parseMoment, toInstant } from '@stonehand/schedule';
import { earlierPlan, plansFolder } from '../earlier-plan.ts';
import { partIdNamed } from '../part-named.ts';
import type { Verb } from '../program.ts';
import { workspaceOf } from '../workspace-of.ts';
import { writePlan } from '../write-plan.ts';

type PlanOptions = Readonly<{
  from?: string;
  to?: string;
  bed?: string;
  unit?: string;
  seed?: number;
  out?: string;
  layers?: string;
  plates?: string;
  withSupport?: boolean;
  anew?: boolean;
  /** named parts by other recipes; without names, other evenings and printers */
  whatIf?: string | true;
}>;

export const plan: Verb<PlanOptions> = async (names, options, context) => {
  const { workspace, onDisk } = await workspaceOf(names[0], options);
  const { timeZone } = workspace;
  const now = toInstant(Math.floor(Date.now() / 1000), timeZone);
  const from = options.from === undefined ? now : parseMoment(options.from, { timeZone, reference: now });
  const to = options.to === undefined ? undefined : parseMoment(options.to, { timeZone, reference: from });
  const engine = context.engine(onDisk ? workspace.root : undefined);
  const layersOf = await partsToShow(engine, workspace, options.layers);
  const recipesOf = typeof options.whatIf === 'string' ? await partsToShow(engine, workspace, options.whatIf) : [];
  const folder = onDisk ? plansFolder(workspace, options.out) : resolve(options.out ?? 'stonehand-plan');
  const earlier = onDisk && options.anew !== true ? await earlierPlan(workspace, folder) : undefined;
  const planned = await planWorkspace(engine, workspace, {
    from,
    ...(to === undefined ? {} : { to }),
    ...(options.seed === undefined ? {} : { seed: options.seed }),
    ...(options.plates === undefined ? {} : { platesAim: aimOf(options.plates) }),
    ...(earlier === undefined ? {} : { earlier }),
    ...(options.whatIf === true ? { whatIf: true } : {}),
  });
  const otherWays =
    recipesOf.length === 0 ? {} : { otherRecipes: await otherRecipes(engine, workspace, planned.pieces, recipesOf) };
  const result = { ...planned, plan: { ...planned.plan, ...otherWays } };
  const written = await writePlan(engine, result, folder, { layersOf, withSupport: options.withSupport === true });
  context.print(
    options.json === true
      ? JSON.stringify(result.plan)
      : `${renderSummary(result.plan, { width: context.width, colour: context.colour })}\npage: ${written.page}`,
  );
  return result.plan.readings.some((reading) => reading.grade === 'untrusted') ||
    result.parts.some(({ fault }) => fault !== undefined)
    ? 1
    : 0;
};

/** Known before the long work begins, so that a mistyped name costs nothing. */
async function partsToShow(engine: Engine, workspace: Workspace, names: string | undefined): Promise<string[]> {
  if (names === undefined) return [];
  const ids = (await partWorks(engine, workspace)).map(({ spec }) => spec.id);
  const wanted = names.split(',').map((name) => name.trim());
  return wanted.filter((name) => name !== '').map((name) => partIdNamed(ids, name));
}

function aimOf(word: string): 'surest' | 'fewest' {
  if (word === 'surest' || word === 'fewest') return word;
  throw new StonehandError(
    'USAGE',
    `--plates ${word}: there is no such aim`,
    'Write --plates surest (least expected hours with reprints) or --plates fewest.',
  );
}
