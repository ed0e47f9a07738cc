// npm run bench -- NAME [options]: runs tests/bench/NAME.mjs on built code.
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

const [name, ...rest] = process.argv.slice(2);
const file = join(import.meta.dirname, `${name}.mjs`);
if (name === undefined || name === 'run' || !existsSync(file)) {
  const names = readdirSync(import.meta.dirname).filter((entry) => entry.endsWith('.mjs') && entry !== 'run.mjs');
  console.error(
    `Usage: npm run bench -- NAME [options]\nBenchmarks: ${names.map((entry) => entry.slice(0, -4)).join(', ')}`,
  );
  process.exit(2);
}
process.argv.splice(1, 2, file, ...rest);
await import(file);
