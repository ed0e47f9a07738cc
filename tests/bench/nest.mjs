// Packs the published nesting and rectangle instances with package nest and prints what it reaches, beside the best
// published value. Usage: node tests/bench/nest.mjs --data DIR --seconds N [--seed N] [--only TEXT] [--cpu] [--json]
// --cpu: seconds of this process's processor time, for a machine that has other work to do.
// An instance's `solution` is dropped unread; only the listed turns are used. Turn about the origin, then move.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { packBins, packStrip, shapeOf } from '@stonehand/nest';

const { values } = parseArgs({
  options: {
    data: { type: 'string', default: '../shared/data/nesting' },
    seconds: { type: 'string', default: '10' },
    seed: { type: 'string', default: '1' },
    only: { type: 'string', default: '' },
    cpu: { type: 'boolean', default: false },
    json: { type: 'boolean', default: false },
  },
});

const rows = [];
for (const file of readdirSync(values.data).sort()) {
  if (!file.endsWith('.json') || !file.includes(values.only)) continue;
  const { solution: _, ...instance } = JSON.parse(readFileSync(join(values.data, file), 'utf8'));
  const row = solve(instance, Number(values.seconds), Number(values.seed));
  rows.push(row);
  if (!values.json) {
    const figures = [row.value, row.best].map((v) => (Number.isInteger(v) ? String(v) : v.toFixed(4)).padStart(8));
    console.log(
      row.instance.padEnd(20),
      row.problem.padEnd(15),
      ...figures,
      row.ratio.toFixed(4),
      `${row.seconds.toFixed(1)} s`,
    );
  }
}
if (values.json) console.log(JSON.stringify(rows));
else printMeans(rows);

function solve(instance, seconds, seed) {
  const problem = problemOf(instance);
  const from = secondsNow();
  const options = { rounds: 1e9, seed, stop: () => secondsNow() - from > seconds };
  const isStrip = instance.problem.toLowerCase().includes('strip');
  const result = isStrip
    ? packStrip(problem, instance.strip.height, options)
    : packBins(problem, instance.bin.width, instance.bin.height, options);
  const taken = secondsNow() - from;
  const value = isStrip ? instance.totals.area / (instance.strip.height * result.lengthMm) : result.bins;
  const best = isStrip ? instance.best.density : instance.best.bins;
  return {
    instance: instance.name,
    problem: instance.problem,
    value,
    best,
    ratio: isStrip ? value / best : best / value,
    seconds: taken,
    placements: result.places.map((p) => ({
      item: problem.ids[p.item],
      x: p.xMm,
      y: p.yMm,
      rotationDeg: p.turnDeg,
      bin: p.bin,
    })),
  };
}

function secondsNow() {
  return values.cpu ? process.cpuUsage().user / 1e6 : performance.now() / 1000;
}

/** Equal outlines with equal turns become one shape, so that they share their tables. */
function problemOf(instance) {
  const shapes = [];
  const turnsDeg = [];
  const items = [];
  const ids = [];
  const known = new Map();
  // Outlines of a hundred corners lose most of them for 0.05 % of the height; the layout keeps that much room.
  const simplifyMm = 5e-4 * (instance.strip?.height ?? instance.bin.height);
  for (const item of instance.items) {
    const [w, h] = item.size ?? [];
    const ring = item.polygon ?? [
      [0, 0],
      [w, 0],
      [w, h],
      [0, h],
    ];
    const turns = w !== undefined && w === h ? [0] : item.rotationsDeg;
    const key = JSON.stringify([ring, turns]);
    if (!known.has(key)) {
      known.set(key, shapes.length);
      shapes.push(shapeOf([counterClockwise(ring)], { simplifyMm, what: `${instance.name} ${item.id}` }));
      turnsDeg.push(turns);
    }
    for (let k = 0; k < item.quantity; k++) {
      items.push(known.get(key));
      ids.push(item.id);
    }
  }
  return { shapes, turnsDeg, items, ids };
}

function counterClockwise(ring) {
  let twice = 0;
  for (let i = 0; i < ring.length; i++) {
    const [x, y] = ring[i];
    const [nx, ny] = ring[(i + 1) % ring.length];
    twice += x * ny - y * nx;
  }
  return twice > 0 ? ring : [...ring].reverse();
}

function printMeans(rows) {
  for (const problem of [...new Set(rows.map((row) => row.problem))]) {
    const ratios = rows.filter((row) => row.problem === problem).map((row) => row.ratio);
    console.log(
      `${problem}: mean ratio ${(ratios.reduce((a, b) => a + b, 0) / ratios.length).toFixed(4)} of ${ratios.length}`,
    );
  }
}
