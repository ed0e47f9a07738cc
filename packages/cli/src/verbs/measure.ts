import { measureFiles, meshFilesOf } from '@stonehand/engine';
import type { MeasureRow } from '@stonehand/model';
import type { Verb } from '../program.ts';

type MeasureOptions = Readonly<{
  unit?: string;
  sections?: readonly number[];
  secondReading?: boolean;
  thorough?: boolean;
  thin?: number;
  repair?: string;
}>;

export const measure: Verb<MeasureOptions> = async (names, options, context) => {
  const files = names.flatMap((name) => filesOf(name));
  const engine = context.engine();
  const rows = await measureFiles(engine, files, {
    ...(options.unit === undefined ? {} : { unit: options.unit }),
    ...(options.sections === undefined ? {} : { sectionsMm: options.sections }),
    second: options.secondReading === true,
    ...(options.thorough === true || options.thin !== undefined ? { depth: 'full' as const } : {}),
    ...(options.thin === undefined ? {} : { thinMm: options.thin }),
  });
  context.print(
    options.json === true
      ? JSON.stringify(rows)
      : (await import('../measure-text.ts')).renderMeasure(rows, {
          width: context.width,
          colour: context.colour,
          units: options.units ?? 'metric',
        }),
  );
  if (options.json !== true) for (const line of secondReadingLines(rows)) context.print(line);
  if (options.repair !== undefined) {
    const { writeRepaired } = await import('../write-repaired.ts');
    const readable = rows.filter((row) => !('error' in row)).map(({ file }) => file);
    for (const line of await writeRepaired(engine, readable, options.repair)) context.say(line);
  }
  if (rows.some((row) => 'error' in row)) return 2;
  return rows.some((row) => 'findings' in row && row.findings.some(({ severity }) => severity === 'stop')) ? 1 : 0;
};

// A file that is not there still gets its row, so that rows and names correspond.
function filesOf(name: string): string[] {
  try {
    return meshFilesOf([name]);
  } catch {
    return [name];
  }
}

function secondReadingLines(rows: readonly MeasureRow[]): string[] {
  return rows.flatMap((row) => {
    if ('error' in row || row.secondReading === undefined) return [];
    const { library, differs, why } = row.secondReading;
    return [`${row.file}: ${library} ${differs.length === 0 ? 'agrees' : `differs in ${differs.join(', ')}`}; ${why}`];
  });
}
