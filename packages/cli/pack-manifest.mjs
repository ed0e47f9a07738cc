// Before packing: the manifest without what only the workspace needs (workspace packages, build-time types). After packing: back again.
import { copyFileSync, existsSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

const manifest = join(import.meta.dirname, 'package.json');
const kept = join(import.meta.dirname, 'package.json.kept');

if (process.argv[2] === 'clean') {
  // An interrupted packing leaves the kept copy behind: it is the true one.
  if (existsSync(kept)) renameSync(kept, manifest);
  copyFileSync(manifest, kept);
  const { devDependencies: _, scripts: __, ...published } = JSON.parse(readFileSync(manifest, 'utf8'));
  writeFileSync(manifest, `${JSON.stringify(published, null, 2)}\n`);
} else if (existsSync(kept)) {
  renameSync(kept, manifest);
}
