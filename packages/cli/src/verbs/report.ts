import { readFileSync, statSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { checkPlanJson } from '@stonehand/shop';
import type { Verb } from '../program.ts';
import { writeTexts } from '../write-plan.ts';

type ReportOptions = Readonly<{ out?: string }>;

export const report: Verb<ReportOptions> = async (names, options, context) => {
  const named = resolve(names[0] ?? join('reports', 'plan.json'));
  const file = statSync(named, { throwIfNoEntry: false })?.isDirectory() === true ? join(named, 'plan.json') : named;
  const plan = checkPlanJson(readJson(file));
  const folder = resolve(options.out ?? dirname(file));
  // Pictures need the meshes; a plan alone gives the page without them.
  await writeTexts(plan, folder, {});
  context.print(
    options.json === true ? JSON.stringify({ page: join(folder, 'page.html') }) : `page: ${join(folder, 'page.html')}`,
  );
  return 0;
};

function readJson(file: string): unknown {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (cause) {
    throw new StonehandError('FILE_MISSING', `${file}: there is no plan`, 'Make one with: stonehand plan', { cause });
  }
  try {
    return JSON.parse(text);
  } catch (cause) {
    throw new StonehandError(
      'DATA_INVALID',
      `${file}: not a JSON file (${(cause as Error).message})`,
      'Make the plan again with: stonehand plan',
      { cause },
    );
  }
}
