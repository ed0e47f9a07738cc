import { resolve } from 'node:path';
import { measureFiles, meshFilesOf } from '@stonehand/engine';
import { renderMeasure } from '@stonehand/report';
import { writeNewWorkspace } from '@stonehand/shop';
import type { Verb } from '../program.ts';

type InitOptions = Readonly<{ unit?: string }>;

export const init: Verb<InitOptions> = async (names, options, context) => {
  const folder = resolve(names[0] ?? '.');
  const files = meshFilesOf([folder]);
  const engine = context.engine();
  const rows = await measureFiles(engine, files, options.unit === undefined ? {} : { unit: options.unit });
  const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const { written } = await writeNewWorkspace(folder, rows, {
    timeZone,
    ...(options.units === undefined ? {} : { units: options.units }),
  });
  if (options.json === true) context.print(JSON.stringify({ root: folder, files: written, readings: rows }));
  else {
    context.print(
      renderMeasure(rows, { width: context.width, colour: context.colour, units: options.units ?? 'metric' }),
    );
    context.print(
      `\nmade a workspace in ${folder}: ${written.join(', ')}\nnext: edit shop/printers.yaml, then: stonehand fit ${names[0] ?? ''}`,
    );
  }
  return rows.some((row) => 'error' in row) ? 1 : 0;
};
