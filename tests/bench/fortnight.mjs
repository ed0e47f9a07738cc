// Our own instance: a club's fortnight, 200 plates on 20 unlike printers with one person, evenings and weekends. Minutes from Friday 18:00.
import { seededRandom } from '@stonehand/base';

const FAMILIES = 4;
const DAY = 1440;

export function fortnightQueue({ plates = 200, printers = 20, persons = 'one', seed = 20260605 } = {}) {
  const random = seededRandom(seed);
  const machines = Array.from({ length: printers }, (_, k) => ({
    id: `p${k + 1}`,
    availableFrom: 0,
    loaded: k % FAMILIES,
    stocks: [],
    stockChange: 0,
    unloadFirst: false,
    // Every fifth may not run alone.
    unattended: k % 5 !== 4,
    coolDown: 10,
    down: [],
  }));
  const pace = machines.map(() => 0.8 + 0.5 * random.next());
  const jobs = Array.from({ length: plates }, (_, j) => {
    const hours = 1.5 + 14 * random.next() ** 1.5;
    const able = machines.map(() => random.next() < 0.6);
    able[j % printers] = true;
    return {
      id: `plate${j + 1}`,
      family: random.below(FAMILIES),
      durations: pace.map((p, k) =>
        able[k] && fits(machines[k], 60 * hours * p) ? Math.round(60 * hours * p) : Infinity,
      ),
      release: 0,
      due: Infinity,
      weight: 1,
      worth: 1,
      draws: [],
    };
  }).map((job) =>
    job.durations.some((d) => d < Infinity) ? job : { ...job, durations: pace.map((p) => Math.round(300 * p)) },
  );
  const change = machines.map(() =>
    Array.from({ length: FAMILIES }, (_, a) => Array.from({ length: FAMILIES }, (_, b) => (a === b ? 0 : 5))),
  );
  return {
    machines,
    jobs,
    change,
    startWork: 5,
    unload: 5,
    watch: 10,
    present: evenings(),
    persons,
    until: Infinity,
    measure: 'tardiness',
    visitGap: 15,
    stocks: [],
    taken: [],
  };
}

/** A run that must be watched to its end is no longer than a weekend day of presence. */
function fits(machine, minutes) {
  return machine.unattended || minutes <= 13 * 60;
}

/** Weekdays 17:30 to 22:30, Saturday and Sunday 8:00 to 22:30, for sixty days. */
function evenings() {
  return Array.from({ length: 60 }, (_, day) => {
    const weekend = day % 7 === 1 || day % 7 === 2;
    const midnight = day * DAY - 18 * 60;
    return [Math.max(0, midnight + (weekend ? 8 * 60 : 17 * 60 + 30)), midnight + 22 * 60 + 30];
  });
}
