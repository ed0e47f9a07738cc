// Plates of whole shops with package nest: how many, against which bound, at what expected hours, how long it takes.
// Usage: npm run -s bench -- nest-plates [--plan FILE] [--only TEXT] [--aim surest|fewest] [--rounds N] [--seed N] [--json]
//   curved   200 mixed curved parts, two printers: fewest plates, against their bounding boxes packed by the same package
//   shop     1,000 mixed copies, ten printers of three sizes, both aims
//   sixty    60 copies, three printers, few and many rounds
//   demo     the copies of a plan.json (--plan), both aims
// Seconds are processor time: the machine may have other work to do.
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { seededRandom } from '@stonehand/base';
import { plateSeconds } from '@stonehand/estimate';
import { packBins, packPlates, runCost, shapeOf } from '@stonehand/nest';
import { listOfRings, loadPolygons, ringsOf } from '@stonehand/slice';

const { values } = parseArgs({
  options: {
    plan: { type: 'string', default: '' },
    only: { type: 'string', default: '' },
    rounds: { type: 'string', default: '400' },
    seed: { type: 'string', default: '1' },
    aim: { type: 'string', default: '' },
    json: { type: 'boolean', default: false },
  },
});
const rounds = Number(values.rounds);
const seed = Number(values.seed);
const HANDLING_S = 900;
const AIMS = values.aim === '' ? ['surest', 'fewest'] : [values.aim];
const rows = [];

if (wanted('curved')) curved();
if (wanted('shop')) shop();
if (wanted('sixty')) sixty();
if (wanted('demo') && values.plan !== '') demo(JSON.parse(readFileSync(values.plan, 'utf8')), await loadPolygons());
if (values.json) console.log(JSON.stringify(rows));

function wanted(name) {
  return name.includes(values.only);
}

function curved() {
  const printers = [printer('wide', 300, 300), printer('small', 220, 220)];
  const items = curvedItems(200, printers, seed);
  report('curved 200, fewest', items, printers, { aim: 'fewest', rounds, seed });
  const boxes = items.map((item) => ({ ...item, footprint: [boxOf(item.footprint[0])], turnsDeg: [0, 90] }));
  report('curved 200, boxes', boxes, printers, { aim: 'fewest', rounds, seed });
  // A second opinion on the boxes: the rectangle packer, gaps added to box and bin.
  const [bed] = printers;
  const gap = 3;
  const shapes = boxes.map(({ footprint: [[, , [w, h]]] }) => shapeOf([rect(0, 0, w + gap, h + gap)]));
  const side = bed.usable[2][0] - bed.usable[0][0] + gap;
  const problem = { shapes, turnsDeg: shapes.map(() => [0, 90]), items: shapes.map((_, i) => i) };
  const from = cpuS();
  const { bins, search } = packBins(problem, side, side, { rounds: 20000, seed });
  line({ name: 'curved 200, boxes by packBins', plates: bins, bound: search.bound, seconds: cpuS() - from });
}

function shop() {
  const printers = [
    ...[1, 2, 3, 4].map((k) => printer(`small-${k}`, 180, 180)),
    ...[1, 2, 3, 4].map((k) => printer(`usual-${k}`, 250, 210)),
    ...[1, 2].map((k) => printer(`large-${k}`, 350, 350)),
  ];
  const items = curvedItems(1000, printers, seed);
  for (const aim of AIMS)
    report(`shop 1000 on 10, ${aim}`, items, printers, { aim, rounds: Math.min(rounds, 100), seed });
}

function sixty() {
  const printers = [printer('bench', 220, 220), printer('loft', 256, 256), printer('shed', 300, 300)];
  const items = curvedItems(60, printers, seed);
  for (const aim of AIMS)
    for (const many of [100, 4000])
      report(`60 copies on 3, ${aim}, ${many} rounds`, items, printers, { aim, rounds: many, seed });
}

function demo(plan, polygons) {
  const recipeOf = new Map(plan.recipes.map((recipe) => [recipe.id, recipe]));
  const layers = new Map(plan.estimates.map((e) => [`${e.pieceId} ${e.printerId}`, e.layerS]));
  const pieceOf = (copyId) => copyId.slice(0, copyId.lastIndexOf('#'));
  const outlines = new Map(plan.pieces.map(({ id, footprint }) => [id, packingOutline(footprint, polygons)]));
  const copyIds = plan.plates.flatMap((plate) => plate.placed.map(({ copyId }) => copyId));
  const items = copyIds.map((copyId) => {
    const piece = plan.pieces.find(({ id }) => id === pieceOf(copyId));
    const turn = plan.plates.flatMap(({ placed }) => placed).find((p) => p.copyId === copyId).turnDeg;
    return {
      copyId,
      footprint: outlines.get(piece.id),
      heightMm: piece.pose.heightMm,
      brimMm: recipeOf.get(piece.recipeId).brimMm,
      materialId: piece.materialId,
      recipeId: piece.recipeId,
      choices: plan.estimates
        .filter((e) => e.pieceId === piece.id)
        .map((e) => ({ printerId: e.printerId, durationS: e.durationS.value, massG: e.massG.value })),
      family: piece.partId,
      turnsDeg: [...new Set([0, 45, 90, 135, 180, 225, 270, 315, turn])],
    };
  });
  const plateTime = (on, printer) =>
    plateSeconds({
      layerS: on.map(({ copyId }) => layers.get(`${pieceOf(copyId)} ${printer.id}`)),
      recipe: recipeOf.get(on[0].recipeId),
      printer,
    });
  const least = ([{ copyId }], printer) =>
    layers.get(`${pieceOf(copyId)} ${printer.id}`).reduce((sum, s) => sum + Math.max(0, s - printer.layerChangeS), 0);
  for (const aim of AIMS)
    report(`plan, ${aim}`, items, plan.printers, { aim, rounds, seed, plateSeconds: plateTime, leastSeconds: least });
  const old = plan.plates.map((plate) => ({ ...plate, massG: plate.massG.value, durationS: plate.durationS.value }));
  line({ name: 'plan as read', ...figuresOf(old, plan.printers) });
}

/** As `plan` packs: bays and holes that no other piece could use are closed. */
function packingOutline(shadow, polygons) {
  const grown = polygons.offset(ringsOf(shadow), 6, { join: 'round' });
  const closed = polygons.union(ringsOf(shadow), polygons.offset(grown, -6, { join: 'round' }));
  return listOfRings(closed).filter((ring) => areaOf(ring) > 0 || areaOf(ring) < -500);
}

function areaOf(ring) {
  return ring.reduce((sum, [x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length];
    return sum + (x * ny - nx * y) / 2;
  }, 0);
}

function report(name, items, printers, options) {
  const from = cpuS();
  const result = packPlates(items, printers, options);
  const seconds = cpuS() - from;
  const { bound } = result.searches.find(({ what }) => what === 'plates');
  line({ name, ...figuresOf(result.plates, printers), bound, unplaced: result.unplaced.length, seconds });
  for (const { reason } of result.unplaced.slice(0, 3)) console.error(reason);
}

function figuresOf(plates, printers) {
  let expectedS = 0;
  let expectedG = 0;
  for (const { durationS, massG, placed, printerId } of plates) {
    const at = printers.find(({ id }) => id === printerId);
    const cost = runCost({ durationS, massG, copies: placed.length, startS: HANDLING_S }, at);
    expectedS += cost.expectedS;
    expectedG += cost.expectedG;
  }
  const total = plates.reduce((sum, { durationS }) => sum + durationS, 0);
  return {
    plates: plates.length,
    hours: total / 3600,
    expectedHours: expectedS / 3600,
    expectedG,
    used: plates.reduce((sum, { usedShare }) => sum + usedShare, 0) / plates.length,
  };
}

function line(row) {
  rows.push(row);
  if (values.json) return;
  const said = Object.entries(row)
    .filter(([key, value]) => key !== 'name' && value !== undefined)
    .map(([key, value]) => `${key} ${Number.isInteger(value) ? value : value.toFixed(2)}`);
  console.log(`${row.name.padEnd(34)} ${said.join(', ')}`);
}

function cpuS() {
  return process.cpuUsage().user / 1e6;
}

/** Crescents, brackets, rings, hooks, blobs and discs of 25 to 110 mm: five kinds in eight sizes, in uneven numbers. */
function curvedItems(count, printers, from) {
  const random = seededRandom(1000 + from);
  const kinds = Array.from({ length: 40 }, (_, k) => {
    const size = 25 + 85 * random.next() ** 1.5;
    return { outline: [crescent, bracket, ring, hook, blob][k % 5](size, random), size };
  });
  return Array.from({ length: count }, (_, n) => {
    const { outline, size } = kinds[random.below(kinds.length)];
    const hours = (size / 60) ** 2;
    return {
      copyId: `part-${n}#1`,
      footprint: outline,
      heightMm: 10 + size / 2,
      brimMm: 0,
      materialId: 'petg',
      recipeId: 'usual',
      choices: printers.map(({ id }) => ({ printerId: id, durationS: hours * 3600, massG: 12 * hours })),
    };
  });
}

function crescent(size) {
  const r = size / 2;
  const outer = arc(0, 0, r, -2.1, 2.1, 20);
  const inner = arc(-0.35 * r, 0, 0.8 * r, 1.75, -1.75, 16);
  return [[...outer, ...inner]];
}

function bracket(size, random) {
  const t = size * (0.18 + 0.1 * random.next());
  return [[[0, 0], [size, 0], ...arc(size - t / 2, t / 2, t / 2, 0, 1.57, 4), [t, t], [t, size], [0, size]]];
}

function ring(size) {
  return [arc(0, 0, size / 2, 0, 2 * Math.PI * (31 / 32), 32), arc(0, 0, size * 0.36, 2 * Math.PI * (31 / 32), 0, 32)];
}

function hook(size, random) {
  const t = size * (0.14 + 0.06 * random.next());
  const r = size / 2;
  return [[...arc(0, 0, r, -2.6, 0.9, 18), ...arc(0, 0, r - t, 0.9, -2.6, 16)]];
}

function blob(size, random) {
  const phase = 2 * Math.PI * random.next();
  return [
    Array.from({ length: 28 }, (_, k) => {
      const a = (2 * Math.PI * k) / 28;
      const r = (size / 2) * (0.72 + 0.28 * Math.sin(3 * a + phase) * Math.cos(a - phase));
      return [r * Math.cos(a), r * Math.sin(a)];
    }),
  ];
}

function arc(x, y, r, from, to, steps) {
  return Array.from({ length: steps }, (_, k) => {
    const a = from + ((to - from) * k) / (steps - 1);
    return [x + r * Math.cos(a), y + r * Math.sin(a)];
  });
}

function boxOf(outline) {
  const xs = outline.map(([x]) => x);
  const ys = outline.map(([, y]) => y);
  return rect(0, 0, Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
}

function rect(x0, y0, x1, y1) {
  return [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ];
}

function printer(id, width, depth) {
  return {
    id,
    usable: rect(5, 5, width - 5, depth - 5),
    keepOut: [],
    heightMm: 300,
    warmUpS: 300,
    longestRunS: 72 * 3600,
    failPerStart: 0.03,
    failPerHour: 0.005,
  };
}
