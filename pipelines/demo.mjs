// Plans the walking heron of parts/ for one weekend and says where the page is. Run twice unchanged, the second run comes from
// the cache. Plans start at a stated moment, never at the clock, so the small text results in reports/ can be reviewed.
import { performance } from 'node:perf_hooks';
import { $, chalk, path } from 'zx';

const root = path.resolve(import.meta.dirname, '..');
const command = path.join(root, 'packages/cli/dist/main.js');
const out = path.join(root, 'reports/heron');
const started = performance.now();
$.cwd = root;
await $({
  stdio: 'inherit',
})`node ${command} plan parts --from ${'2026-06-05T18:00+02:00'} --to ${'2026-06-07T22:00+02:00'} --anew --layers ${'skull,upper-beak,neck-yoke'} --out ${out}`;
console.log(chalk.dim(`planned in ${((performance.now() - started) / 1000).toFixed(1)} s`));
