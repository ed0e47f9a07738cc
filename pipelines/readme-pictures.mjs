// Pictures of the README, taken of the page that the demo wrote. Run after `npm run demo`, on a machine with Chromium.
import { createRequire } from 'node:module';
import { fs, path } from 'zx';

const root = path.resolve(import.meta.dirname, '..');
const { chromium } = createRequire(path.join(root, 'tests/package.json'))('playwright-core');
const out = path.join(root, 'reports/pictures');
const arguments_ = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

await fs.ensureDir(out);
const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: arguments_ });
const page = await browser.newPage({ viewport: { width: 1080, height: 760 }, colorScheme: 'light' });
await page.goto(`file://${path.join(root, 'reports/heron/page.html')}`);
await page.screenshot({ path: path.join(out, 'page.png') });
await page.evaluate(() => document.getElementById('plates').scrollIntoView({ behavior: 'instant' }));
await page.screenshot({ path: path.join(out, 'plates.png') });
await browser.close();
