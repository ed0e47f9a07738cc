// npm run bench -- page [--parts N]
// The demo's page and one of N parts (the demo's parts again and again, shapes and pictures in the size that the command gives to so many) in Chromium, opened from disk: size of the file, time to
// the first paint of words, to the end of loading, memory of the process that shows it. Needs `npm run demo` first.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { posePng, renderPage } from '@stonehand/report';
import { packShape, trianglesAPiece, unpackShape } from '@stonehand/view';
import { chromium } from 'playwright-core';

const { values } = parseArgs({
  options: { parts: { type: 'string', default: '500' }, rounds: { type: 'string', default: '5' } },
});
const root = join(import.meta.dirname, '../..');
const demo = join(root, 'reports/heron');
if (!existsSync(join(demo, 'page.html'))) {
  console.error('There is no demo page yet: npm run demo');
  process.exit(2);
}
const folder = mkdtempSync(join(tmpdir(), 'stonehand-page-'));
const many = join(folder, 'many.html');
writeFileSync(many, await pageOfMany(Number(values.parts)));

const browser = await chromium.launch({
  executablePath: ['/usr/bin/chromium', '/usr/bin/google-chrome'].find((path) => existsSync(path)),
  args: ['--no-sandbox', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'],
});
console.log(
  `${'page'.padEnd(16)}${'MB'.padStart(8)}${'first words ms'.padStart(16)}${'loaded ms'.padStart(12)}${'memory MB'.padStart(12)}`,
);
for (const [name, file] of [
  ['demo', join(demo, 'page.html')],
  [`${values.parts} parts`, many],
]) {
  const rounds = [];
  for (let i = 0; i < Number(values.rounds); i++) rounds.push(await look(file));
  const cells = [
    statSync(file).size / 1e6,
    median(rounds.map((r) => r.wordsMs)),
    median(rounds.map((r) => r.loadedMs)),
    Math.max(...rounds.map((r) => r.memoryMb)),
  ];
  console.log(
    name.padEnd(16) + [8, 16, 12, 12].map((width, i) => cells[i].toFixed(i === 0 ? 2 : 0).padStart(width)).join(''),
  );
}
console.log(
  'goals: demo under 4 MB and first view within 1 s; 500 parts under 20 MB, within 2 s, under 500 MB of memory',
);
await browser.close();
rmSync(folder, { recursive: true });

async function look(file) {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  await page.goto(pathToFileURL(file).href, { waitUntil: 'load' });
  await page.waitForTimeout(300);
  const { wordsMs, loadedMs } = await page.evaluate(() => ({
    wordsMs: performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? Number.NaN,
    loadedMs: performance.getEntriesByType('navigation')[0].loadEventEnd,
  }));
  const session = await browser.newBrowserCDPSession();
  const { processInfo } = await session.send('SystemInfo.getProcessInfo');
  const renderers = processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => residentMb(id));
  await page.close();
  return { wordsMs, loadedMs, memoryMb: Math.max(...renderers) };
}

function residentMb(pid) {
  return Number(execFileSync('ps', ['-o', 'rss=', '-p', String(pid)]).toString()) / 1000;
}

async function pageOfMany(count) {
  const plan = JSON.parse(readFileSync(join(demo, 'plan.json'), 'utf8'));
  const html = readFileSync(join(demo, 'page.html'), 'utf8');
  const shapes = {};
  const pictures = {};
  for (const [id, text] of Object.entries(packed(html, 'shape'))) {
    const shape = { ...unpackShape(Buffer.from(text, 'base64')), originMm: [0, 0, 0] };
    const packedAgain = await packShape(shape, { mostTriangles: trianglesAPiece(count) });
    shapes[id] = Buffer.from(packedAgain).toString('base64');
    const { rotation, offsetMm } = plan.pieces.find((piece) => piece.id === id).pose;
    pictures[id] = posePng(turned(shape, rotation, offsetMm), { widthPx: 200, heightPx: 100 });
  }
  const rounds = Math.ceil(count / plan.parts.length);
  const most = (list) => list.slice(0, count);
  const again = (list, rename) =>
    Array.from({ length: rounds }, (_, i) => list.map((each) => rename(each, `-${i}`))).flat();
  const copyId = (id, tail) => id.replace(/#/, `${tail}#`);
  const large = {
    ...plan,
    parts: most(
      again(plan.parts, (part, tail) => ({
        ...part,
        id: part.id + tail,
        name: part.name + tail,
        pieceIds: part.pieceIds.map((id) => id + tail),
      })),
    ),
    pieces: again(plan.pieces, (piece, tail) => ({ ...piece, id: piece.id + tail, partId: piece.partId + tail })),
    estimates: again(plan.estimates, (estimate, tail) => ({ ...estimate, pieceId: estimate.pieceId + tail })),
    plates: again(plan.plates, (plate, tail) => ({
      ...plate,
      id: plate.id + tail,
      placed: plate.placed.map((p) => ({ ...p, copyId: copyId(p.copyId, tail) })),
    })),
    waiting: again(plan.waiting, (row, tail) => ({ ...row, copyId: copyId(row.copyId, tail) })),
    fits: again(plan.fits, (fit, tail) => ({ ...fit, partId: fit.partId + tail })),
  };
  const repeat = (record) =>
    Object.fromEntries(
      Array.from({ length: rounds }, (_, i) =>
        Object.entries(record).map(([id, value]) => [`${id}-${i}`, value]),
      ).flat(),
    );
  return renderPage({
    plan: large,
    pictures: repeat(pictures),
    view: { script: readFileSync(join(root, 'packages/cli/dist/page.js'), 'utf8'), shapes: repeat(shapes) },
  });
}

function turned(mesh, r, offsetMm) {
  const positions = new Float32Array(mesh.positions.length);
  for (let v = 0; v < positions.length; v += 3)
    for (let k = 0; k < 3; k++)
      positions[v + k] =
        r[3 * k] * mesh.positions[v] +
        r[3 * k + 1] * mesh.positions[v + 1] +
        r[3 * k + 2] * mesh.positions[v + 2] +
        offsetMm[k];
  return { ...mesh, positions };
}

function packed(html, kind) {
  return Object.fromEntries(
    [...html.matchAll(new RegExp(`<script type="text/plain" data-${kind}="([^"]*)">([^<]*)`, 'g'))].map(
      ([, id, text]) => [id, text],
    ),
  );
}

function median(numbers) {
  return numbers.toSorted((p, q) => p - q)[numbers.length >> 1];
}
