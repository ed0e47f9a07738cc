// Turns schemas/*.json into src/generated/*.ts, so that a start neither compiles schemas nor loads ajv.
// Run before tsc: node packages/shop/generate.mjs
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import Ajv2020 from 'ajv/dist/2020.js';
import standaloneCode from 'ajv/dist/standalone/index.js';

const SCHEMAS = new URL('schemas/', import.meta.url);
const OUT = new URL('src/generated/', import.meta.url);

/** File name to text of everything in src/generated, for the schemas as they are now. */
export async function generatedFiles() {
  const names = (await readdir(SCHEMAS)).filter((name) => name.endsWith('.json')).sort();
  const schemas = await Promise.all(
    names.map(async (name) => JSON.parse(await readFile(new URL(name, SCHEMAS), 'utf8'))),
  );
  const kinds = names.filter((name) => name !== 'common.json');
  // plan.json is half of the code and no start needs it: its own module, loaded with checkPlanJson.
  return {
    'workspace-validators.ts': moduleText(
      schemas,
      kinds.filter((name) => name !== 'plan.json'),
    ),
    'plan-validator.ts': moduleText(schemas, ['plan.json']),
  };
}

function moduleText(schemas, names) {
  const ajv = new Ajv2020.default({
    schemas,
    allErrors: true,
    allowUnionTypes: true,
    inlineRefs: false,
    // Complaints quote a key's own description, so breaches must carry the schema they broke.
    verbose: !names.includes('plan.json'),
    code: { source: true, esm: true, lines: true },
  });
  const code = standaloneCode.default(ajv, Object.fromEntries(names.map((name) => [exportName(name), name])));
  if (/\brequire\(/.test(code)) throw new Error('a schema uses a keyword that would load ajv at run time');
  const typed = code
    .replace(/^export const (\w+) = (\w+);/gm, 'export const $1: Validator = $2;')
    // Whole schemas are carried along for the sake of one reserved name; the code never reads them.
    .replace(/^const (schema\d+) = \{.*\};$/gm, (line, name) => (uses(code, name) ? line : ''));
  return `// @ts-nocheck\n// Written by generate.mjs from schemas/*.json. Do not edit.\nimport type { Validator } from '../validator.ts';\n${typed}\n`;
}

function uses(code, name) {
  return code.split(new RegExp(`\\b${name}\\b`)).length > 2;
}

/** printers.json -> validatePrinters, ledger-entry.json -> validateLedgerEntry */
function exportName(file) {
  const words = file.replace('.json', '').split('-');
  return `validate${words.map((word) => word[0].toUpperCase() + word.slice(1)).join('')}`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  await mkdir(OUT, { recursive: true });
  for (const [name, text] of Object.entries(await generatedFiles())) {
    const before = await readFile(new URL(name, OUT), 'utf8').catch(() => '');
    // An unchanged file keeps its time stamp, so tsc -b has nothing to do.
    if (before !== text) await writeFile(new URL(name, OUT), text);
  }
}
