// Bundles the command: main and worker with our own packages inside; third-party packages stay outside as exact
// dependencies of the published package. And the script of the page that the command writes. Runs after `tsc -b`.
import { createHash } from 'node:crypto';
import { build } from 'esbuild';
import { chalk, fs, glob, path } from 'zx';

const root = path.resolve(import.meta.dirname, '..');
const cli = path.join(root, 'packages/cli');
const manifest = await fs.readJson(path.join(cli, 'package.json'));
const out = path.join(cli, 'dist');

const sources = (
  await glob(['packages/*/dist/**/*.js', 'packages/cli/build/**/*.js', 'pnpm-lock.yaml'], {
    cwd: root,
    ignore: ['packages/cli/dist/**'],
  })
).sort();
const hash = createHash('sha256');
for (const file of sources) hash.update(file).update(await fs.readFile(path.join(root, file)));
const buildHash = hash.digest('hex').slice(0, 16);

const outside = new Set();
const thirdPartyOutside = {
  name: 'third-party-outside',
  setup(builder) {
    builder.onResolve({ filter: /^[^./]/ }, ({ path: name, kind }) => {
      if (kind === 'entry-point' || name.startsWith('node:') || name.startsWith('@stonehand/')) return undefined;
      outside.add(
        name
          .split('/')
          .slice(0, name.startsWith('@') ? 2 : 1)
          .join('/'),
      );
      return { path: name === 'commander' ? './commander.mjs' : name, external: true };
    });
  },
};

// An index is a list of names by hand and no code, but the bundler keeps all that it lists in one piece, which every verb would load
// (1.2 MB for `measure` on cached files). So a name is imported from the file that the index names for it.
const listed = new Map();
const straightToTheFile = {
  name: 'straight-to-the-file',
  setup(builder) {
    builder.onLoad({ filter: /packages[\\/][^\\/]+[\\/](dist|build)[\\/].*\.js$/ }, async ({ path: file }) => {
      const text = await fs.readFile(file, 'utf8');
      const imports = /^(import|export) \{([^}]*)\} from '(@stonehand\/[a-z]+)';$/gm;
      return {
        contents: text.replace(imports, (_, how, names, name) => importsOf(how, names, name)),
        loader: 'js',
      };
    });
  },
};

function importsOf(how, names, name) {
  const files = listed.get(name) ?? filesOf(name);
  return names
    .split(',')
    .map((each) => each.trim())
    .filter((each) => each !== '')
    .map((each) => `${how} { ${each} } from ${JSON.stringify(files.get(each.split(' as ')[0].trim()))};`)
    .join(' ');
}

function filesOf(name) {
  const folder = path.join(root, 'packages', name.split('/')[1], 'dist');
  const files = new Map();
  const index = fs.readFileSync(path.join(folder, 'index.js'), 'utf8');
  for (const [, names, file] of index.matchAll(/export \{([^}]*)\} from '([^']*)';/g)) {
    for (const each of names.split(',').map((one) => one.trim())) {
      if (each !== '') files.set(each, path.join(folder, file));
    }
  }
  listed.set(name, files);
  return files;
}

await fs.emptyDir(out);
await build({
  entryPoints: { main: path.join(cli, 'build/main.js'), worker: path.join(cli, 'build/worker.js') },
  outdir: out,
  bundle: true,
  splitting: true,
  format: 'esm',
  platform: 'node',
  target: 'node20',
  chunkNames: '[name]-[hash]',
  sourcemap: 'linked',
  legalComments: 'none',
  logLevel: 'warning',
  define: { STONEHAND_BUILD: JSON.stringify(buildHash), STONEHAND_VERSION: JSON.stringify(manifest.version) },
  plugins: [thirdPartyOutside, straightToTheFile],
});
// Every call loads the parser of the command line: in one file it costs 10 ms less than in eight (of 105 for a cached measure).
await build({
  stdin: { contents: "export * from 'commander';", resolveDir: cli },
  outfile: path.join(out, 'commander.mjs'),
  bundle: true,
  minify: true,
  format: 'esm',
  platform: 'node',
  target: 'node20',
  banner: { js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);" },
  logLevel: 'warning',
});
await fs.copy(path.join(cli, 'node_modules/commander/LICENSE'), path.join(out, 'commander-LICENSE'));
// The page's script is one text that is written into every page: everything inside, third-party code too.
await build({
  entryPoints: [path.join(root, 'packages/view/dist/page/main.js')],
  outfile: path.join(out, 'page.js'),
  bundle: true,
  minify: true,
  format: 'iife',
  platform: 'browser',
  target: 'es2022',
  charset: 'ascii',
  legalComments: 'inline',
  logLevel: 'warning',
  plugins: [straightToTheFile],
});
await fs.chmod(path.join(out, 'main.js'), 0o755);
await fs.copy(path.join(root, 'packages/shop/schemas'), path.join(out, 'schemas'));
await fs.copy(path.join(root, 'LICENSE'), path.join(out, 'LICENSE'));

// What the bundle leaves outside must be what the published package installs, at the very versions tested here.
const stated = manifest.dependencies;
const missing = [...outside].filter((name) => stated[name] === undefined);
// Some are loaded by name on first use (createRequire), which the bundler does not see as an import.
const texts = await Promise.all(
  (await glob('*.js', { cwd: out })).map((file) => fs.readFile(path.join(out, file), 'utf8')),
);
const idle = Object.keys(stated).filter(
  (name) => !outside.has(name) && !texts.some((text) => text.includes(`"${name}`)),
);
const loose = Object.entries(stated).filter(([, version]) => !/^\d+\.\d+\.\d+$/.test(version));
const differing = await versionsThatDiffer(stated);
const faults = [
  ...missing.map((name) => `${name} is imported by the bundle but not a dependency of packages/cli`),
  ...idle.map((name) => `${name} is a dependency of packages/cli but the bundle does not import it`),
  ...loose.map(([name, version]) => `${name} ${version}: state an exact version`),
  ...differing,
];
if (faults.length > 0) {
  for (const fault of faults) console.error(chalk.red(`packages/cli/package.json: ${fault}`));
  process.exit(1);
}

async function versionsThatDiffer(wanted) {
  const found = [];
  for (const file of await glob('packages/*/package.json', { cwd: root })) {
    const { name, dependencies = {} } = await fs.readJson(path.join(root, file));
    for (const [dependency, version] of Object.entries(dependencies)) {
      if (wanted[dependency] !== undefined && wanted[dependency] !== version)
        found.push(`${dependency} is ${wanted[dependency]} here but ${version} in ${name}`);
    }
  }
  return found;
}
