import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { freshFolder, ROOT } from './helpers/stonehand.ts';

const npm = (args: readonly string[], cwd: string): string =>
  execFileSync('npm', args, { cwd, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });

describe('the command, packed and installed elsewhere', () => {
  test('npm pack gives a package that installs into an empty folder and works there', () => {
    const away = freshFolder('packed');
    const name = npm(['pack', '--silent', '--pack-destination', away], join(ROOT, 'packages/cli'))
      .trim()
      .split('\n')
      .at(-1)!;
    const home = join(away, 'elsewhere');
    mkdirSync(home);
    writeFileSync(join(home, 'package.json'), '{"private":true}');
    npm(['install', '--no-audit', '--no-fund', '--no-package-lock', join(away, name)], home);
    const manifest = JSON.parse(readFileSync(join(home, 'node_modules/stonehand/package.json'), 'utf8'));
    expect(JSON.stringify(manifest)).not.toContain('workspace:');
    expect(manifest.devDependencies).toBeUndefined();
    const command = join(home, 'node_modules/.bin/stonehand');
    const run = (args: readonly string[]): string =>
      execFileSync(command, args, {
        cwd: home,
        encoding: 'utf8',
        env: { ...process.env, XDG_CACHE_HOME: join(away, 'cache') },
      });
    expect(run(['--help'])).toContain('plan');
    // Four parts, so that the packed worker is used too.
    const rows = JSON.parse(run(['fit', join(ROOT, 'parts/heron/neck'), '--bed', '220x220x250', '--json']));
    expect(rows.map((row: { fits: { verdict: string }[] }) => row.fits[0]!.verdict)).not.toContain('no');
    const [reading] = JSON.parse(run(['measure', join(ROOT, 'parts/heron/neck/neck-socket.stl'), '--json']));
    expect(reading.closed).toBe(true);
  }, 180_000);

  test('the manifest in the project is as it was', () => {
    const manifest = JSON.parse(readFileSync(join(ROOT, 'packages/cli/package.json'), 'utf8'));
    expect(manifest.devDependencies['@stonehand/engine']).toBe('workspace:*');
  });
});
