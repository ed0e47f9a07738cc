import { open, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { StonehandError } from '@stonehand/base';
import type { Fault, LedgerEntry } from '@stonehand/model';
import { validateLedgerEntry } from './generated/workspace-validators.ts';
import { flushFolder } from './replace-file.ts';
import type { SchemaBreach } from './validator.ts';

export const LEDGER_FILE = 'ledger.jsonl';
/** Version of the lines that appendLedger writes. */
export const LEDGER_VERSION = 1;

/** What a ledger holds. */
export interface LedgerReading {
  readonly entries: readonly LedgerEntry[];
  /** lines of a newer version that say something this one has no word for; they stay in the file */
  readonly newer: readonly unknown[];
  /** lines left out: half written, or not what a line must be. Each names its line */
  readonly faults: readonly Fault[];
}

/**
 * Reads ledger.jsonl of a workspace. A line that a crash cut off is reported and left where it is; the others count. A
 * missing file is an empty ledger.
 * @throws StonehandError FILE_UNREADABLE
 */
export async function readLedger(root: string): Promise<LedgerReading> {
  const text = await ledgerText(join(root, LEDGER_FILE));
  const entries: LedgerEntry[] = [];
  const newer: unknown[] = [];
  const faults: Fault[] = [];
  const lines = text.split('\n');
  for (const [i, line] of lines.entries()) {
    if (line.trim() === '') continue;
    const value = parseLine(line);
    if (value === undefined) faults.push(tornLine(i + 1, i === lines.length - 1));
    else if (validateLedgerEntry(value)) entries.push(value as LedgerEntry);
    else if (isNewer(value)) newer.push(value);
    else faults.push(badEntry(i + 1, validateLedgerEntry.errors?.[0]));
  }
  return { entries, newer, faults };
}

/**
 * Appends one line to ledger.jsonl in a single write and flushes it to the disk before returning. `version` and, unless
 * given, `at` are filled in. After a crash in the middle of a line, the new one starts on a line of its own.
 * @throws StonehandError DATA_INVALID, FILE_UNREADABLE
 */
export async function appendLedger(
  root: string,
  entry: Omit<LedgerEntry, 'version' | 'at'> & { readonly at?: string },
): Promise<LedgerEntry> {
  const line: LedgerEntry = { version: LEDGER_VERSION, at: new Date().toISOString(), ...entry };
  if (!validateLedgerEntry(line)) {
    const fault = badEntry(undefined, validateLedgerEntry.errors?.[0]);
    throw new StonehandError('DATA_INVALID', fault.message, fault.remedy);
  }
  const path = join(root, LEDGER_FILE);
  try {
    const file = await open(path, 'a+');
    try {
      const { size } = await file.stat();
      const torn = size > 0 && !(await endsWithNewline(file, size));
      const bytes = Buffer.from(`${torn ? '\n' : ''}${JSON.stringify(line)}\n`);
      const { bytesWritten } = await file.write(bytes);
      if (bytesWritten < bytes.length)
        throw new Error(`only ${bytesWritten} of ${bytes.length} bytes could be written`);
      await file.sync();
      if (size === 0) await flushFolder(root);
    } finally {
      await file.close();
    }
  } catch (cause) {
    const reason = cause instanceof Error ? cause.message : String(cause);
    throw new StonehandError(
      'FILE_UNREADABLE',
      `${LEDGER_FILE} cannot be written: ${reason}`,
      'Make room or mend the rights, then record it again.',
      { cause },
    );
  }
  return line;
}

async function ledgerText(path: string): Promise<string> {
  try {
    return await readFile(path, 'utf8');
  } catch (cause) {
    if ((cause as NodeJS.ErrnoException).code === 'ENOENT') return '';
    throw new StonehandError('FILE_UNREADABLE', `${LEDGER_FILE} cannot be read`, 'Mend the rights of the file.', {
      cause,
    });
  }
}

async function endsWithNewline(file: Awaited<ReturnType<typeof open>>, size: number): Promise<boolean> {
  const last = Buffer.alloc(1);
  await file.read(last, 0, 1, size - 1);
  return last[0] === 0x0a;
}

function parseLine(line: string): unknown {
  try {
    const value: unknown = JSON.parse(line);
    return typeof value === 'object' && value !== null ? value : undefined;
  } catch {
    return undefined;
  }
}

function isNewer(value: unknown): boolean {
  const version = (value as { version?: unknown }).version;
  return typeof version === 'number' && version >= LEDGER_VERSION + 1;
}

function tornLine(line: number, isLast: boolean): Fault {
  return {
    code: 'DATA_INVALID',
    message: `${LEDGER_FILE}:${line}:1 ${isLast ? 'the last line is only half written' : 'the line is only half written, or no JSON'}; it is left out`,
    remedy: 'Record that event again; the broken line does no harm and stays as it is.',
    line,
    column: 1,
  };
}

function badEntry(line: number | undefined, breach: SchemaBreach | undefined): Fault {
  const where = breach?.instancePath.slice(1) ?? '';
  const what = `${where === '' ? 'the entry' : `"${where}"`} ${breach?.message ?? 'is not an entry of the ledger'}`;
  return {
    code: 'DATA_INVALID',
    message: line === undefined ? `${LEDGER_FILE}: ${what}` : `${LEDGER_FILE}:${line}:1 ${what}`,
    remedy: 'See schemas/ledger-entry.json for what a line holds.',
    ...(line === undefined ? {} : { line, column: 1 }),
  };
}
