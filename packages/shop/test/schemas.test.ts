import { readdir, readFile } from 'node:fs/promises';
import Ajv2020 from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { generatedFiles } from '../generate.mjs';

const FOLDER = new URL('../schemas/', import.meta.url);
const NAMES = (await readdir(FOLDER)).sort();
const SCHEMAS = await Promise.all(
  NAMES.map(async (name) => JSON.parse(await readFile(new URL(name, FOLDER), 'utf8')) as Schema),
);

interface Schema {
  readonly $schema?: string;
  readonly $id?: string;
  readonly title?: string;
  readonly $ref?: string;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly additionalProperties?: unknown;
  readonly [key: string]: unknown;
}

describe('the schemas', () => {
  test('one for each kind of file', () => {
    expect(NAMES).toEqual(
      [
        'accepted',
        'assembly',
        'common',
        'hardware',
        'hours',
        'ledger-entry',
        'materials',
        'plan',
        'printers',
        'recipes',
        'spools',
        'stonehand',
      ].map((name) => `${name}.json`),
    );
  });

  test.each(NAMES.map((name, i) => [name, SCHEMAS[i]!] as const))(
    '%s is a valid 2020-12 schema by the meta-schema',
    (name, schema) => {
      expect(schema.$schema).toBe('https://json-schema.org/draft/2020-12/schema');
      expect(schema.$id).toBe(name);
      const ajv = new Ajv2020.default();
      expect(ajv.validateSchema(schema as object), ajv.errorsText()).toBe(true);
    },
  );

  test('every key that people write has a title', () => {
    const untitled: string[] = [];
    const visit = (value: unknown, path: string): void => {
      if (typeof value !== 'object' || value === null) return;
      const { properties } = value as Schema;
      for (const [key, schema] of Object.entries(properties ?? {})) {
        if (schema.title === undefined && schema.$ref === undefined) untitled.push(`${path}/${key}`);
      }
      for (const [key, child] of Object.entries(value)) visit(child, `${path}/${key}`);
    };
    NAMES.forEach((name, i) => {
      // The plan is written by the program; its inner members are named by their unit.
      if (name !== 'plan.json') visit(SCHEMAS[i], name);
    });
    expect(untitled).toEqual([]);
  });

  test('unknown keys are refused in every file that people write', async () => {
    const ajv = new Ajv2020.default({ schemas: SCHEMAS as object[], allowUnionTypes: true, strict: true });
    const main = ajv.getSchema('stonehand.json')!;
    expect(main({ name: 'x' })).toBe(true);
    expect(main({ name: 'x', nmae: 'y' })).toBe(false);
    const open: string[] = [];
    const visit = (value: unknown, path: string): void => {
      if (typeof value !== 'object' || value === null) return;
      const schema = value as Schema;
      if (schema.properties !== undefined && schema.additionalProperties !== false) open.push(path);
      for (const [key, child] of Object.entries(value)) visit(child, `${path}/${key}`);
    };
    NAMES.forEach((name, i) => {
      if (name !== 'plan.json' && name !== 'ledger-entry.json') visit(SCHEMAS[i], name);
    });
    expect(open).toEqual([]);
  });

  test('the validators are those of the schemas as they are now, and load no ajv', async () => {
    for (const [name, text] of Object.entries(await generatedFiles())) {
      expect(
        await readFile(new URL(`../src/generated/${name}`, import.meta.url), 'utf8'),
        'run node packages/shop/generate.mjs',
      ).toBe(text);
      const built = await readFile(new URL(`../dist/generated/${name.replace('.ts', '.js')}`, import.meta.url), 'utf8');
      expect(built).not.toMatch(/\brequire\(|from ['"]ajv|import\(/);
    }
  });
});
