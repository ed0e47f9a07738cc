import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { unitToMm } from '@stonehand/mesh';
import type { MeasureRow, Reading } from '@stonehand/model';
import type { Engine, Outcome } from './engine.ts';
import { measureTask } from './measure-task.ts';
import { secondReading } from './second-reading.ts';

export type MeasureOptions = Readonly<{
  unit?: string;
  sectionsMm?: readonly number[];
  second?: boolean;
  depth?: 'quick' | 'full';
  thinMm?: number;
}>;

/** One row a file, in order; a file that cannot be read gives a row with its error. */
export async function measureFiles(
  engine: Engine,
  files: readonly string[],
  { unit, sectionsMm = [], second = false, depth, thinMm }: MeasureOptions,
): Promise<MeasureRow[]> {
  if (unit !== undefined) unitToMm(unit);
  const hashes = await Promise.all(files.map((file) => hashOrFault(engine, file)));
  const readable = files.flatMap((file, i) =>
    typeof hashes[i] === 'string' ? [{ file, contentHash: hashes[i] }] : [],
  );
  const outcomes = await engine.map(
    measureTask,
    readable.map(({ file, contentHash }) => ({
      mesh: { name: file, path: resolve(file), contentHash, scale: 1, ...(unit === undefined ? {} : { unit }) },
      sectionsMm,
      ...(depth === undefined ? {} : { depth }),
      ...(thinMm === undefined ? {} : { thinMm }),
    })),
    'measuring',
  );
  const byFile = new Map<string, Outcome<Reading>>(readable.map(({ file }, i) => [file, outcomes[i]!]));
  return Promise.all(
    files.map(async (file, i): Promise<MeasureRow> => {
      const fault = hashes[i];
      if (typeof fault !== 'string') return { file, error: fault! };
      const outcome = byFile.get(file)!;
      if (!outcome.ok) return { file, error: outcome.fault };
      const reading = { ...outcome.value, file };
      return second
        ? { ...reading, secondReading: await secondReading(resolve(file), reading, unitToMm(reading.unit)) }
        : reading;
    }),
  );
}

async function hashOrFault(
  engine: Engine,
  file: string,
): Promise<string | { code: string; message: string; remedy: string }> {
  try {
    return await engine.content.hashOf(resolve(file), file);
  } catch (error) {
    if (!(error instanceof StonehandError)) throw error;
    const { code, message, remedy } = error;
    return { code, message, remedy };
  }
}
