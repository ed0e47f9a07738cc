import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ERROR_CODES, StonehandError } from '@stonehand/base';
import { expect, test } from 'vitest';

test('every error code stands in DEVELOPERS.md with the same words, and no other does', () => {
  const page = readFileSync(join(import.meta.dirname, '../../../DEVELOPERS.md'), 'utf8');
  const rows = [...page.slice(page.indexOf('## Error codes')).matchAll(/^\| ([A-Z_]+) \| (.+) \|$/gm)].map((m) => [
    m[1],
    m[2],
  ]);
  expect(rows.filter(([code]) => code !== 'code')).toEqual(Object.entries(ERROR_CODES));
});

test('an error keeps its code, its remedy and its place', () => {
  const error = new StonehandError('YAML_SYNTAX', 'a.yaml:3:7 a quote is open', 'Close it.', { line: 3, column: 7 });
  expect(error).toMatchObject({ name: 'StonehandError', code: 'YAML_SYNTAX', remedy: 'Close it.', line: 3, column: 7 });
  expect(error).toBeInstanceOf(Error);
});
