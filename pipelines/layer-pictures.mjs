// Pictures of bead paths: five layers of three demo parts coloured by speed, and their seconds and grams layer by layer.
// Run after `npm run build`, on a machine with Chromium.
import { createRequire } from 'node:module';
import { estimatePaths, pathSpeeds } from '@stonehand/estimate';
import { bytesSource, readStl } from '@stonehand/mesh';
import { candidatePoses, poseMesh } from '@stonehand/orient';
import { beadLayersSvg, layerChartSvg } from '@stonehand/report';
import { loadWorkspace } from '@stonehand/shop';
import { BEAD_KINDS, beadPaths, loadPolygons, sliceMesh } from '@stonehand/slice';
import { fs, path } from 'zx';

const root = path.resolve(import.meta.dirname, '..');
const { chromium } = createRequire(path.join(root, 'tests/package.json'))('playwright-core');
const out = path.join(root, 'reports/pictures');
const SHARES = [0, 0.06, 0.3, 0.55, 0.8];
const PARTS = [
  ['skull', 'heron/head/skull.stl', 'shell', 'white-abs', 'loft'],
  ['neck-socket', 'heron/neck/neck-socket.stl', 'frame', 'grey-petg', 'bench'],
  ['hinge-hub', 'heron/legs/hinge-hub.stl', 'frame', 'grey-petg', 'shed'],
];

const workspace = await loadWorkspace(path.join(root, 'parts'));
const byId = (list, id) => list.find((item) => item.id === id);
const polygons = await loadPolygons();
const pictures = [];
for (const [name, file, recipeId, materialId, printerId] of PARTS) {
  const recipe = byId(workspace.recipes, recipeId);
  const printer = byId(workspace.printers, printerId);
  const material = byId(workspace.materials, materialId);
  const { mesh } = readStl(bytesSource(file, await fs.readFile(path.join(root, 'parts', file))));
  const [pose] = candidatePoses(mesh, recipe, { seed: workspace.seed });
  const paths = beadPaths(sliceMesh(poseMesh(mesh, pose), recipe), recipe, polygons);
  const speeds = pathSpeeds(paths, { printer, material });
  const estimate = estimatePaths(paths, { pieceId: name, recipe, printer, material });
  const title = `${name} on ${printerId}, ${recipe.layerMm} mm layers, ${material.kind}`;
  const layers = SHARES.map((share) => layerOf(paths, speeds, Math.round(share * (paths.topMm.length - 1))));
  pictures.push([`layers-${name}.png`, beadLayersSvg({ name: title, layers })]);
  pictures.push([`layer-chart-${name}.png`, layerChartSvg({ name: title, estimate, recipe })]);
}
await shoot(pictures);

function layerOf(paths, speeds, i) {
  const strokes = [];
  for (let p = paths.layerStart[i]; p < paths.layerStart[i + 1]; p++) {
    const travel = BEAD_KINDS[paths.kind[p]] === 'travel';
    strokes.push({
      xyMm: paths.xyMm.subarray(2 * paths.pathStart[p], 2 * paths.pathStart[p + 1]),
      closed: paths.closed[p] === 1,
      widthMm: travel ? 0 : paths.widthMm[p],
      speedMmS: speeds[p],
    });
  }
  return { title: `layer ${i + 1}, ${paths.topMm[i].toFixed(1)} mm`, strokes };
}

async function shoot(all) {
  await fs.ensureDir(out);
  const browser = await chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu'],
  });
  const page = await browser.newPage({ viewport: { width: 1180, height: 600 }, colorScheme: 'light' });
  for (const [name, svg] of all) {
    await page.setContent(
      `<body style="margin:12px;background:#fff">${svg.replace('<svg ', '<svg style="display:block;max-width:860px" ')}</body>`,
    );
    await page.locator('svg').screenshot({ path: path.join(out, name) });
  }
  await browser.close();
}
