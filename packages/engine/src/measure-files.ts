import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { unitToMm } from '@stonehand/mesh';
import type { BuildItem, MeasureRow, Reading } from '@stonehand/model';
import type { Engine, Outcome } from './engine.ts';
import { type MeasureInput, measureTask } from './measure-task.ts';
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
  const inputOf: InputOf = ({ file, contentHash }, item) => ({
    mesh: {
      name: file,
      path: resolve(file),
      contentHash,
      scale: 1,
      ...(unit === undefined ? {} : { unit }),
      ...(item === undefined ? {} : { item }),
    },
    sectionsMm,
    ...(depth === undefined ? {} : { depth }),
    ...(thinMm === undefined ? {} : { thinMm }),
  });
  const outcomes = await engine.map(
    measureTask,
    readable.map((file) => inputOf(file)),
    'measuring',
  );
  const byFile = new Map<string, Outcome<Reading>>(readable.map(({ file }, i) => [file, outcomes[i]!]));
  const items = await itemReadings(engine, readable, byFile, inputOf);
  return Promise.all(
    files.map(async (file, i): Promise<MeasureRow> => {
      const fault = hashes[i];
      if (typeof fault !== 'string') return { file, error: fault! };
      const outcome = byFile.get(file)!;
      if (!outcome.ok) return { file, error: outcome.fault };
      const mine = items.get(file);
      const reading = { ...outcome.value, file, ...(mine === undefined ? {} : { items: mine }) };
      return second
        ? { ...reading, secondReading: await secondReading(resolve(file), reading, unitToMm(reading.unit)) }
        : reading;
    }),
  );
}

type HashedFile = Readonly<{ file: string; contentHash: string }>;
type InputOf = (file: HashedFile, item?: string) => MeasureInput;

/** Each thing that a file asks to be built, measured by itself, where there are several. */
async function itemReadings(
  engine: Engine,
  files: readonly HashedFile[],
  byFile: ReadonlyMap<string, Outcome<Reading>>,
  inputOf: InputOf,
): Promise<ReadonlyMap<string, readonly BuildItem[]>> {
  const jobs = files.flatMap((file) => {
    const outcome = byFile.get(file.file);
    const items = outcome?.ok ? (outcome.value.items ?? []) : [];
    return items.map((item) => ({ file, item }));
  });
  const outcomes = await engine.map(
    measureTask,
    jobs.map(({ file, item }) => inputOf(file, item.item)),
    'measuring items',
  );
  const found = new Map<string, BuildItem[]>();
  for (const [i, { file, item }] of jobs.entries()) {
    const outcome = outcomes[i]!;
    const reading: MeasureRow = outcome.ok
      ? { ...outcome.value, file: file.file, item: item.item }
      : { file: file.file, error: outcome.fault };
    found.set(file.file, [...(found.get(file.file) ?? []), { ...item, reading }]);
  }
  return found;
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
