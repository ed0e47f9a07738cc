import { spawnSync } from 'node:child_process';
import { appendFile, readFile, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { LedgerEntry } from '@stonehand/model';
import { appendLedger, LEDGER_FILE, LEDGER_VERSION, loadWorkspace, readLedger } from '@stonehand/shop';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

const AT = '2026-06-05T21:40:00+02:00';

describe('the ledger', () => {
  test('of a new workspace is empty', async () => {
    expect(await readLedger(await folderWith({}))).toEqual({ entries: [], newer: [], faults: [] });
  });

  test('what is appended is read back, in order, with version and moment', async () => {
    const root = await folderWith({});
    const first = await appendLedger(root, {
      what: 'started',
      printerId: 'bench',
      copyIds: ['lantern/frame#1'],
      at: AT,
    });
    expect(first).toEqual({
      version: LEDGER_VERSION,
      at: AT,
      what: 'started',
      printerId: 'bench',
      copyIds: ['lantern/frame#1'],
    });
    const second = await appendLedger(root, {
      what: 'failed',
      layer: 140,
      note: 'a line\nof two',
      snapshot: { pieces: [1, 2] },
    });
    expect(second.at).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/);
    expect(await readLedger(root)).toEqual({ entries: [first, second], newer: [], faults: [] });
    expect((await readFile(join(root, LEDGER_FILE), 'utf8')).split('\n')).toHaveLength(3);
  });

  test('any entry survives writing and reading', async () => {
    const text = fc.string({ unit: 'grapheme', maxLength: 20 });
    const entry: fc.Arbitrary<Omit<LedgerEntry, 'version' | 'at'>> = fc.record(
      {
        what: fc.constantFrom('started', 'done', 'failed', 'weighed', 'spoolChanged', 'forecast', 'have'),
        copyIds: fc.array(text, { maxLength: 3 }),
        massG: fc.double({ min: 0, max: 1e6, noNaN: true }).map((g) => g + 0),
        note: text,
        snapshot: fc.jsonValue({ maxDepth: 2 }),
      },
      { requiredKeys: ['what'] },
    );
    const root = await folderWith({});
    const written: LedgerEntry[] = [];
    await fc.assert(
      fc.asyncProperty(entry, async (e) => {
        written.push(await appendLedger(root, { ...e, at: AT }));
      }),
      { seed: 5, numRuns: 50 },
    );
    // −0 has no JSON form; it comes back as 0
    expect((await readLedger(root)).entries).toEqual(JSON.parse(JSON.stringify(written)));
  });

  test('an entry that says nothing known is refused and not written', async () => {
    const root = await folderWith({});
    await expect(appendLedger(root, { what: 'melted' as never })).rejects.toMatchObject({ code: 'DATA_INVALID' });
    await expect(appendLedger(root, { what: 'done', massG: -1 })).rejects.toMatchObject({ code: 'DATA_INVALID' });
    await expect(stat(join(root, LEDGER_FILE))).rejects.toMatchObject({ code: 'ENOENT' });
  });

  test('cut off at any byte of its last line, it keeps all lines before and reports the torn one', async () => {
    const root = await folderWith({});
    const first = await appendLedger(root, { what: 'started', at: AT });
    const before = (await stat(join(root, LEDGER_FILE))).size;
    await appendLedger(root, { what: 'done', note: 'größer', at: AT });
    const bytes = await readFile(join(root, LEDGER_FILE));
    // The last byte is the newline; without it the line is still whole.
    for (let length = before + 1; length < bytes.length - 1; length++) {
      await writeFile(join(root, LEDGER_FILE), bytes.subarray(0, length));
      const { entries, faults } = await readLedger(root);
      expect(entries).toEqual([first]);
      expect(faults).toMatchObject([
        { line: 2, message: 'ledger.jsonl:2:1 the last line is only half written; it is left out' },
      ]);
    }
  });

  test('after a crash the next line starts on its own, and the torn one stays in the file', async () => {
    const root = await folderWith({});
    const first = await appendLedger(root, { what: 'started', at: AT });
    await appendFile(join(root, LEDGER_FILE), '{"version":1,"at":"2026-06-');
    const second = await appendLedger(root, { what: 'done', at: AT });
    const { entries, faults } = await readLedger(root);
    expect(entries).toEqual([first, second]);
    expect(faults).toMatchObject([{ line: 2 }]);
    expect(await readFile(join(root, LEDGER_FILE), 'utf8')).toContain('{"version":1,"at":"2026-06-\n');
  });

  test('a torn line does not keep a workspace from loading; it is said first', async () => {
    const root = await folderWith({ ...SMALL, 'ledger.jsonl': '{"version":1,"at"' });
    const workspace = await loadWorkspace(root);
    expect(workspace.assumed[0]).toBe('ledger.jsonl:1:1 the last line is only half written; it is left out');
  });

  test('what a newer version adds is kept; what it alone has words for is set apart', async () => {
    const root = await folderWith({
      'ledger.jsonl': `{"version":1.2,"at":"${AT}","what":"done","colourOfSky":"grey"}\n{"version":2,"at":"${AT}","what":"melted"}\n`,
    });
    const { entries, newer, faults } = await readLedger(root);
    expect(entries).toEqual([{ version: 1.2, at: AT, what: 'done', colourOfSky: 'grey' }]);
    expect(newer).toEqual([{ version: 2, at: AT, what: 'melted' }]);
    expect(faults).toEqual([]);
  });

  test('a line of this version with a wrong value is named', async () => {
    const root = await folderWith({ 'ledger.jsonl': `\n{"version":1,"at":"yesterday","what":"done"}\n` });
    expect((await readLedger(root)).faults).toMatchObject([
      { line: 2, message: /^ledger\.jsonl:2:1 "at" must match pattern/ },
    ]);
  });

  test('several programs that append at once lose nothing', async () => {
    const root = await folderWith({});
    const shop = fileURLToPath(new URL('../dist/index.js', import.meta.url));
    const script = `import { appendLedger } from ${JSON.stringify(shop)}; for (let i = 0; i < 20; i++) await appendLedger(${JSON.stringify(root)}, { what: 'done', note: process.argv[1] + i });`;
    const started = ['a', 'b'].map((name) => `node --input-type=module -e "$SCRIPT" ${name} &`).join(' ');
    const shell = spawnSync('sh', ['-c', `${started} wait`], {
      env: { ...process.env, SCRIPT: script },
      encoding: 'utf8',
    });
    expect(shell.stderr).toBe('');
    const { entries, faults } = await readLedger(root);
    expect(faults).toEqual([]);
    expect(new Set(entries.map((entry) => entry.note)).size).toBe(40);
  });
});

describe('spools after the ledger', () => {
  const SPOOLS = 'S1: { material: white-abs, net: 500, counted: 2026-06-01 }\nS2: { material: white-abs, net: 500 }\n';
  const line = (entry: object): string => `${JSON.stringify({ version: 1, ...entry })}\n`;

  test('later prints are taken off, earlier ones and forecasts are not', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/spools.yaml': SPOOLS,
      'ledger.jsonl': [
        line({ at: '2026-05-30T10:00:00Z', what: 'done', spoolId: 'S1', massG: 100 }),
        line({ at: '2026-06-01T10:00:00Z', what: 'done', spoolId: 'S1', massG: 50 }),
        line({ at: '2026-06-02T10:00:00Z', what: 'done', spoolId: 'S1', massG: 97.5 }),
        line({ at: '2026-06-03T10:00:00Z', what: 'failed', spoolId: 'S1', massG: 2.5 }),
        line({ at: '2026-06-03T11:00:00Z', what: 'forecast', spoolId: 'S1', massG: 60 }),
      ].join(''),
    });
    const [s1] = (await loadWorkspace(root)).spools;
    expect(s1).toMatchObject({ netG: 400, lowG: 400, highG: 400 });
    expect(s1).not.toHaveProperty('counted');
  });

  test('a weighing sets the figure anew', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/spools.yaml': SPOOLS,
      'ledger.jsonl':
        line({ at: '2026-06-02T10:00:00Z', what: 'done', spoolId: 'S1', massG: 97 }) +
        line({ at: '2026-06-03T10:00:00Z', what: 'weighed', spoolId: 'S1', massG: 380 }) +
        line({ at: '2026-06-04T10:00:00Z', what: 'done', spoolId: 'S1', massG: 30 }),
    });
    expect((await loadWorkspace(root)).spools[0]).toMatchObject({ netG: 350 });
  });

  test('without a date of counting the file is believed, and that is said', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/spools.yaml': SPOOLS,
      'ledger.jsonl': line({ at: '2026-06-02T10:00:00Z', what: 'done', spoolId: 'S2', massG: 97 }),
    });
    const workspace = await loadWorkspace(root);
    expect(workspace.spools[1]).toMatchObject({ netG: 500 });
    expect(workspace.assumed.join()).toContain('Spool S2 is taken as shop/spools.yaml says');
  });
});
