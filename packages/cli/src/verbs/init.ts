import { access } from 'node:fs/promises';
import { relative, resolve, sep } from 'node:path';
import { StonehandError } from '@stonehand/base';
import {
  errorOfFault,
  measureFiles,
  meshFilesOf,
  type Suspicion,
  suspicionsIn,
  type Unpacked,
  unpackArchives,
} from '@stonehand/engine';
import type { MeasureRow } from '@stonehand/model';
import { renderMeasure } from '@stonehand/report';
import { WORKSPACE_FILE, writeNewWorkspace } from '@stonehand/shop';
import type { Verb } from '../program.ts';

type InitOptions = Readonly<{ unit?: string }>;

export const init: Verb<InitOptions> = async (names, options, context) => {
  const folder = resolve(names[0] ?? '.');
  await refuseWorkspace(folder, names[0] ?? 'this folder');
  const unpacked = await unpackArchives(folder);
  const files = filesIn(folder, unpacked);
  const engine = context.engine();
  const measured = await measureFiles(engine, files, options.unit === undefined ? {} : { unit: options.unit });
  const named = measured.map((row) => namedFrom(folder, row));
  const rows = [...named, ...unpacked.left];
  const suspicions = await suspicionsIn(engine, folder, rows);
  const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const { written } = await writeNewWorkspace(folder, named, {
    timeZone,
    ...(options.units === undefined ? {} : { units: options.units }),
  });
  if (options.json === true) {
    const { written: unpackedFiles } = unpacked;
    context.print(
      JSON.stringify({ root: folder, files: written, unpacked: unpackedFiles, readings: rows, suspicions }),
    );
  } else {
    context.print(
      renderMeasure(rows, { width: context.width, colour: context.colour, units: options.units ?? 'metric' }),
    );
    for (const line of suspicionLines(suspicions, rows)) context.print(line);
    context.print(
      `\nmade a workspace in ${folder}: ${written.join(', ')}\nnext: edit shop/printers.yaml, then: stonehand fit ${names[0] ?? ''}`,
    );
  }
  return rows.some((row) => 'error' in row) ? 1 : 0;
};

/** Two lines a suspicion: what looks how, and what to do if it is so. What stands below the table of `rows` already is not said twice. */
export function suspicionLines(suspicions: readonly Suspicion[], rows: readonly MeasureRow[]): string[] {
  const said = new Set(rows.flatMap((row) => ('error' in row ? [] : row.findings.map(({ says }) => says))));
  return suspicions
    .filter(({ kind, reason }) => kind !== 'unreadable' && !said.has(reason))
    .map(({ files, reason, confirm }) => `? ${files.join(', ')}: ${reason}\n  ${confirm}`);
}

// Where nothing is left to read, the archive that could not be opened is the reason.
function filesIn(folder: string, { left }: Unpacked): string[] {
  try {
    return meshFilesOf([folder]);
  } catch (error) {
    throw left[0] === undefined ? error : errorOfFault(left[0].error);
  }
}

function namedFrom(folder: string, row: MeasureRow): MeasureRow {
  const file = relative(folder, row.file).split(sep).join('/');
  if (!('error' in row)) {
    const items = row.items?.map((item) =>
      item.reading === undefined ? item : { ...item, reading: namedFrom(folder, item.reading) },
    );
    return { ...row, file, ...(items === undefined ? {} : { items }) };
  }
  return { file, error: { ...row.error, message: row.error.message.replaceAll(row.file, file) } };
}

// Before anything is unpacked into it.
async function refuseWorkspace(folder: string, name: string): Promise<void> {
  const isOne = await access(resolve(folder, WORKSPACE_FILE)).then(
    () => true,
    () => false,
  );
  if (isOne)
    throw new StonehandError('USAGE', `${name} is a workspace already`, 'Add parts to its assembly.yaml files.');
}
