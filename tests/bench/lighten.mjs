// node tests/bench/lighten.mjs: parts × choices solved by package balance to a stated gap, beside the same choice made one part after the other
// (most grams for each hour first), which is what a person with a table would do.
import { performance } from 'node:perf_hooks';
import { lighten, loadSolver } from '@stonehand/balance';
import { seededRandom } from '@stonehand/base';

const GAP = 0.001;
const started = performance.now();
const solver = await loadSolver();
console.log(`solver loaded in ${(performance.now() - started).toFixed(0)} ms`);

/** Parts of 5 to 120 g round a balance point, choices between 50 and 100 % of today's mass. */
function puppet(parts, choices, seed) {
  const random = seededRandom(seed);
  const between = (low, high) => low + (high - low) * random.next();
  const specs = [];
  const byPart = {};
  const pieceMass = {};
  for (let p = 0; p < parts; p++) {
    const id = `a/p${p}`;
    const at = [between(-200, 260), between(-90, 90), between(0, 300)];
    specs.push({
      id,
      name: id,
      quantity: 1,
      places: [[1, 0, 0, at[0], 0, 1, 0, at[1], 0, 0, 1, at[2]]],
      materialId: 'pla',
    });
    const massG = between(5, 120);
    byPart[id] = Array.from({ length: choices }, (_, k) => {
      const share = k === 0 ? 1 : between(0.5, 1);
      const mass = {
        massG: { value: massG * share, from: '' },
        centreMm: [between(-3, 3), 0, 0],
        inertiaGMm2: [0, 0, 0, 0, 0, 0],
      };
      const stiffness = k === 0 ? 1 : Math.min(1.1, share * between(0.8, 1.2));
      return { id: `c${k}`, says: `c${k}`, mass, durationS: 180 * massG * between(0.7, 1.1), stiffness };
    });
    pieceMass[id] = byPart[id][0].mass;
  }
  const assembly = { id: 'a', name: 'a', parts: specs, hardware: [], children: [], joints: [], limits: {} };
  return { assembly, input: { pieceMass, hardware: [], choices: byPart } };
}

/** Lowers the mass by the change that costs least for each gram, until the mass limit holds; looks at nothing else. */
function greedyCost({ input }, mostG, stiffnessH) {
  const cost = ({ durationS, stiffness }) => durationS / 3600 + stiffnessH * Math.max(0, 1 - stiffness);
  const picks = Object.values(input.choices).map((mine) => mine.reduce((a, b) => (cost(b) < cost(a) ? b : a)));
  let massG = picks.reduce((sum, { mass }) => sum + mass.massG.value, 0);
  while (massG > mostG) {
    let best;
    Object.values(input.choices).forEach((mine, i) => {
      for (const one of mine) {
        const saved = picks[i].mass.massG.value - one.mass.massG.value;
        if (saved <= 0) continue;
        const price = (cost(one) - cost(picks[i])) / saved;
        if (best === undefined || price < best.price) best = { price, i, one, saved };
      }
    });
    if (best === undefined) return Number.POSITIVE_INFINITY;
    picks[best.i] = best.one;
    massG -= best.saved;
  }
  return picks.reduce((sum, one) => sum + cost(one), 0);
}

for (const [parts, choices] of [
  [25, 8],
  [50, 12],
  [100, 12],
  [200, 12],
]) {
  for (const seed of [1, 2, 3]) {
    const one = puppet(parts, choices, seed);
    const free = lighten(one.assembly, one.input, solver, { aim: 'lightest', curvePoints: 0, gap: GAP });
    const mostG = free.after.massG.value + 0.25 * (free.before.massG.value - free.after.massG.value);
    const [x, y] = free.before.centreMm;
    const limits = {
      massG: mostG,
      centreMm: { min: [x - 6, y - 2, null], max: [x - 3, y + 2, null] },
      moments: [
        {
          name: 'frame',
          atMm: [-40, 0, 0],
          axis: [0, 1, 0],
          mostNmm: 0.95 * mostG * 9.80665e-3 * (x + 40),
          swings: false,
        },
      ],
      centreNear: { atMm: [x - 5, y, 0], axis: [0, 0, 1], radiusMm: 4 },
    };
    const wall = performance.now();
    const cpu = process.cpuUsage();
    const found = lighten({ ...one.assembly, limits }, one.input, solver, { curvePoints: 0, gap: GAP, limitS: 60 });
    const used = process.cpuUsage(cpu);
    const greedy = greedyCost(one, mostG, 10);
    console.log(
      JSON.stringify({
        parts,
        choices,
        seed,
        holds: found.holds,
        ended: found.search.ended,
        gapPercent: Number((100 * found.search.gap).toFixed(4)),
        cpuMs: Math.round((used.user + used.system) / 1000),
        wallMs: Math.round(performance.now() - wall),
        costH: Number(found.search.cost.toFixed(3)),
        massAloneOneByOneH: Number(greedy.toFixed(3)),
      }),
    );
  }
}
