// node tests/bench/schedule.mjs --data DIR --seconds N --json
// Runs the solver of package schedule over the development set of scheduling, packing and spool instances, and over our own
// fortnight of 200 plates and 20 printers. Seconds are processor time: on a machine that others use, the clock says little.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { assignSpools, solveQueue } from '@stonehand/schedule';
import { fortnightQueue } from './fortnight.mjs';

const { values } = parseArgs({
  options: {
    data: { type: 'string', default: '../shared/data/scheduling' },
    seconds: { type: 'string', default: '10' },
    only: { type: 'string', default: '' },
    json: { type: 'boolean', default: false },
  },
});
const seconds = Number(values.seconds);
// The exact programme takes about 4 s for 18 jobs on 3 machines, and three times less for each job fewer.
const exactJobs = seconds >= 10 ? 18 : seconds >= 4 ? 17 : 16;

const always = [[0, 1e9]];
const machineDefaults = { stocks: [], stockChange: 0, unloadFirst: false, unattended: true, coolDown: 0, down: [] };
const queueDefaults = {
  startWork: 0,
  unload: 0,
  watch: 0,
  present: always,
  persons: 'enough',
  until: Infinity,
  measure: 'tardiness',
  visitGap: 15,
  stocks: [],
  taken: [],
};
const jobDefaults = { family: 0, release: 0, due: Infinity, weight: 1, worth: 1, draws: [] };

function attendedQueue(data) {
  const family = (name) => data.families.indexOf(name);
  return {
    ...queueDefaults,
    machines: data.machines.map((m) => ({
      ...machineDefaults,
      id: m.id,
      availableFrom: m.availableFromMin,
      loaded: family(m.loaded),
    })),
    change: data.machines.map((m) => data.families.map((a) => data.families.map((b) => data.changeMin[m.id][a][b]))),
    jobs: data.jobs.map((job) => ({
      ...jobDefaults,
      id: job.id,
      family: family(job.family),
      durations: data.machines.map((m) => job.durationMin[m.id] ?? Infinity),
      release: job.releaseMin,
      due: job.dueMin ?? Infinity,
    })),
    startWork: data.startWorkMin,
    unload: data.unloadMin,
    present: data.attended,
    persons: data.operators === 1 ? 'one' : 'enough',
    measure: data.best.measure === 'lateness' ? 'lateness' : 'tardiness',
  };
}

function unrelatedQueue(data) {
  return {
    ...queueDefaults,
    machines: data.setup.map((_, k) => ({ ...machineDefaults, id: `m${k}`, availableFrom: 0, loaded: -1 })),
    change: data.setup,
    jobs: data.duration.map((durations, j) => ({ ...jobDefaults, id: `j${j}`, family: j, durations })),
  };
}

function identicalQueue(one) {
  const machines = Array.from({ length: one.machines }, (_, k) => ({
    ...machineDefaults,
    id: `m${k}`,
    availableFrom: 0,
    loaded: -1,
  }));
  return {
    ...queueDefaults,
    machines,
    change: machines.map(() => [[0]]),
    jobs: one.durations.map((d, j) => ({ ...jobDefaults, id: `j${j}`, durations: machines.map(() => d) })),
  };
}

function rowOf(instance, queue, best, measure) {
  const from = processorS();
  const answer = solveQueue(queue, { rounds: 1e9, seed: 1, exactJobs, stop: () => processorS() > from + seconds });
  const value = measure === 'lateness' ? answer.score[1] : answer.score[2];
  const bound = measure === 'lateness' ? answer.bound.late : answer.bound.finish;
  const { start, end } = answer.timing;
  return {
    instance,
    value,
    best,
    ratio: best === null ? value / bound : best > 0 ? value / best : value === best ? 1 : null,
    proven: answer.proven,
    bound: bound ?? null,
    seconds: processorS() - from,
    runs: queue.jobs.map((job, j) => ({
      job: job.id,
      machine: queue.machines[answer.choice.machineOf[j]].id,
      startMin: start[j],
      endMin: end[j],
    })),
  };
}

// Packing and spools: value is [new spools, shelf spools opened]; bins are new spools of an empty shelf.
function spoolRow(instance, input, best) {
  const from = processorS();
  const stop = () => processorS() > from + seconds;
  const answer = assignSpools({ ...input, prefer: 'fewest', rounds: 1e9, seed: 1, stop });
  const opened = answer.opened.length;
  const value = instance.startsWith('pack-') ? answer.newSpools.length : [answer.newSpools.length, opened];
  const sum = (x) => (Array.isArray(x) ? x[0] + x[1] : x);
  return {
    instance,
    value,
    best,
    ratio: sum(best) === 0 ? 1 : sum(value) / sum(best),
    proven: answer.proven,
    bound: answer.proven ? value : null,
    seconds: processorS() - from,
    assignment: answer.spoolOf,
  };
}

function packRow(instance, data) {
  const needs = data.sizes.map((size, i) => ({ id: `i${i}`, materialId: 'any', massG: size }));
  return spoolRow(instance, { needs, spools: [], keepBackG: 0, newSpoolG: { any: data.capacity } }, data.best.bins);
}

function shelfRow(instance, data) {
  const spools = data.spools.map(({ id, material, gramsLeft: g }) => ({
    id,
    materialId: material,
    netG: g,
    lowG: g,
    highG: g,
    from: 'file',
  }));
  const needs = data.jobs.map(({ id, material, grams }) => ({ id, materialId: material, massG: grams }));
  const materials = [...new Set(data.jobs.map((job) => job.material))];
  const newSpoolG = Object.fromEntries(materials.map((id) => [id, data.newSpoolGrams]));
  const input = { needs, spools, keepBackG: data.keepBackGrams, newSpoolG };
  return spoolRow(instance, input, [data.best.newSpools, data.best.shelfSpoolsOpened]);
}

function processorS() {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
}

function* rows() {
  for (const file of readdirSync(values.data)
    .filter((f) => f.endsWith('.json'))
    .sort()) {
    const instance = file.slice(0, -5);
    if (!instance.includes(values.only)) continue;
    const data = JSON.parse(readFileSync(join(values.data, file), 'utf8'));
    if (instance.startsWith('att-')) yield rowOf(instance, attendedQueue(data), data.best.value, data.best.measure);
    else if (instance.startsWith('vr-')) yield rowOf(instance, unrelatedQueue(data), data.best.value);
    else if (instance.startsWith('pack-')) yield packRow(instance, data);
    else if (instance.startsWith('spool-')) yield shelfRow(instance, data);
    else if (instance === 'graham') {
      for (const [i, one] of data.cases.entries()) yield rowOf(`graham-${i + 1}`, identicalQueue(one), one.optimum);
    }
  }
  // No best is known: the ratio is that to our own bound.
  if ('fortnight-200x20'.includes(values.only)) yield rowOf('fortnight-200x20', fortnightQueue(), null);
}

for (const row of rows()) {
  if (values.json) console.log(JSON.stringify(row));
  else {
    const { instance, value, best, bound, proven } = row;
    const seen = `${row.seconds.toFixed(2)} s`;
    console.log(`${instance.padEnd(24)} ${value} best ${best} bound ${bound} ${proven ? 'proven' : ''} ${seen}`);
  }
}
