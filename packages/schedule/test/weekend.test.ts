import {
  finishSteps,
  hoursWithin,
  type KeptRun,
  replanRuns,
  type Schedule,
  type ScheduleInput,
  scheduleRuns,
  toEpochS,
  whatIf,
} from '@stonehand/schedule';
import { describe, expect, test } from 'vitest';
import { everyDay, plainMaterial, timePlate, timePrinter } from '../../../tests/arbitraries/shops.ts';

// Worked by hand. Work before a start 10 min, watch 12 min, unloading 5 min, a change of material 5 min, cooling 10 min.
const awake = everyDay([
  [0, 8, 'asleep'],
  [8, 22],
  [22, 24, 'asleep'],
]);
const loft = timePrinter('loft', { coolDownS: 600, changeS: 300 });
const base: Omit<ScheduleInput, 'plates'> = {
  printers: [loft],
  materials: [plainMaterial('white')],
  hours: awake,
  from: '2026-06-05T18:00:00+02:00',
  printersNow: { loft: { materialId: 'white' } },
};
const plate = (id: string, hours: number, printerId = 'loft'): ScheduleInput['plates'][number] => ({
  plate: timePlate(id, { printerId, hours }),
});
const startsOf = ({ runs }: Schedule): string[] => runs.map((run) => `${run.plateId} ${run.start.slice(5, 16)}`);
const keptOf = ({ runs }: Schedule): KeptRun[] =>
  runs.map(({ id, plateId, printerId, start, spools }) => ({
    runId: id,
    plateId,
    printerId,
    start,
    spoolIds: spools.map(({ spoolId }) => spoolId),
  }));

describe('the night when the clock changes, in two zones', () => {
  // Ten hours from 20:10. Berlin 28 March: the hour from 2 to 3 is skipped, so 7:10 on the wall; the next start is at 8:05 + 10 min.
  // Berlin 24 October and New York 31 October: the hour from 2 to 3 (1 to 2) comes twice, so 5:10.
  test.each([
    ['Europe/Berlin', '2026-03-28T20:00:00+01:00', '2026-03-29T07:10:00+02:00', '2026-03-29T08:15:00+02:00'],
    ['Europe/Berlin', '2026-10-24T20:00:00+02:00', '2026-10-25T05:10:00+01:00', '2026-10-25T08:15:00+01:00'],
    ['America/New_York', '2026-10-31T20:00:00-04:00', '2026-11-01T05:10:00-05:00', '2026-11-01T08:15:00-05:00'],
  ])('%s, from %s: ten hours end at %s, the next run starts at %s', (timeZone, from, end, next) => {
    const { runs } = scheduleRuns({
      ...base,
      from,
      hours: { ...awake, timeZone },
      plates: [plate('long', 10), { ...plate('next', 13), notBefore: `${end.slice(0, 10)}T06:00:00${end.slice(-6)}` }],
    });
    expect(runs.map((run) => [run.plateId, run.end])).toEqual([
      ['long', end],
      ['next', expect.stringContaining(`${end.slice(0, 10)}T21:15`)],
    ]);
    expect(runs[1]!.start).toBe(next);
  });
});

test('a printer that is out on Sunday: what would run into Sunday begins on Monday', () => {
  const out = timePrinter('loft', { ...loft, outOfService: [{ from: '2026-06-07', to: '2026-06-07' }] });
  const { runs } = scheduleRuns({ ...base, printers: [out], plates: [plate('a', 8), plate('b', 8), plate('c', 8)] });
  // Fri 18:10 to Sat 2:10; Sat 8:15 to 16:15; the third could start at 16:40 but would end on Sunday at 0:40; Monday 8:00, 5 to unload, 10 to start.
  expect(runs.map(({ start }) => start.slice(5, 16))).toEqual(['06-05T18:10', '06-06T08:15', '06-08T08:15']);
});

describe('a failure at 1 am that is found at 8', () => {
  // Plan of Friday 18:00: b 18:10 to 21:10, cooled 21:20, 5 to unload, 10 to start; a 21:35 to 1:35; c Sat 8:15 to 10:15. No order ends earlier.
  const plates = [plate('a', 4), plate('b', 3), plate('c', 2)];
  const friday = scheduleRuns({ ...base, plates });
  const [b, a, c] = keptOf(friday);

  test('the plan of Friday is the one worked by hand', () => {
    expect(startsOf(friday)).toEqual(['b 06-05T18:10', 'a 06-05T21:35', 'c 06-06T08:15']);
  });

  const night = { ...base, from: '2026-06-06T08:00:00+02:00', printersNow: { loft: { materialId: 'white' } } };

  test('what was planned stays where it was, and the failed plate comes after it', () => {
    const again = replanRuns(
      { ...night, plates: [plates[0]!, plates[2]!], endedRunIds: [b!.runId, a!.runId] },
      { earlier: [c!] },
    );
    expect(again.moved).toEqual([]);
    // c ends 10:15, cooled 10:25, 5 to unload, 10 to start.
    expect(startsOf(again)).toEqual(['c 06-06T08:15', 'a 06-06T10:40']);
    expect(again.runs[0]!.id).toBe(c!.runId);
    expect(again.runs[1]!.id).not.toBe(a!.runId);
  });

  test('a run that takes longer than planned moves what follows, and the move says why', () => {
    const running = { ...friday.runs[1]!, state: 'running' as const, end: '2026-06-06T09:00:00+02:00' };
    const again = replanRuns(
      { ...night, plates: [plates[2]!], running: [running], runningNames: { [running.id]: 'a' } },
      { earlier: [c!] },
    );
    // Ends 9:00, cooled 9:10, 5 to unload, 10 to start.
    expect(again.moved).toEqual([
      {
        runId: c!.runId,
        plateId: 'c',
        was: { start: c!.start, printerId: 'loft' },
        now: { start: '2026-06-06T09:25:00+02:00', printerId: 'loft' },
        why: 'loft is busy with a until 09:00',
      },
    ]);
  });

  test('a run of which nothing is recorded is taken as not started, and says so', () => {
    const again = replanRuns({ ...night, plates }, { earlier: [b!, a!, c!] });
    expect(again.moved[0]).toMatchObject({
      runId: b!.runId,
      now: { start: '2026-06-06T08:10:00+02:00' },
      why: 'it was to start Fri 18:10 and nothing is recorded of it, so it is taken as not started',
    });
  });

  test('the order is changed only for a gain, and the gain is the reason', () => {
    // Until 14:30. With c at 8:15, a would run 10:40 to 14:40: no. Without c, a runs 8:10 to 12:10, and a (importance 9) is worth more than b and c.
    const input = {
      ...night,
      to: '2026-06-06T14:30:00+02:00',
      plates: [{ ...plates[0]!, importance: 9 }, ...plates.slice(1)],
    };
    const held = replanRuns(input, { earlier: [c!] });
    expect(startsOf(held)).toEqual(['c 06-06T08:15', 'b 06-06T10:40']);
    const free = replanRuns(input, { earlier: [c!], holdS: 0 });
    expect(startsOf(free)).toEqual(['a 06-06T08:10']);
    expect(free.moved).toMatchObject([{ runId: c!.runId, why: 'so that a gets into this window too' }]);
    expect(free.moved[0]!.now).toBeUndefined();
  });
});

describe('a deadline that cannot be met', () => {
  // bench may not run alone: one run of ten hours a day from 8:10. Saturday and Sunday; both by Saturday 22:00 is impossible.
  const bench = timePrinter('bench', { unattended: false });
  const schedule: ScheduleInput = {
    ...base,
    printers: [bench],
    printersNow: {},
    plates: [plate('a', 10, 'bench'), plate('b', 10, 'bench')],
    deadline: '2026-06-06T22:00:00+02:00',
  };

  test('says by how much: the second run ends on Sunday at 18:15 (5 to unload first), 20 h 15 late', () => {
    const { late, finish } = scheduleRuns(schedule);
    expect(finish).toBe('2026-06-07T18:15:00+02:00');
    expect(late).toMatchObject([{ byS: 20 * 3600 + 900 }]);
  });

  test('says what would help: a second bench, or one that may run alone', () => {
    const rows = whatIf({ schedule, samples: 50 });
    expect(rows.map(({ what, forecast }) => [what, forecast.finish?.slice(5, 16), forecast.chance])).toEqual([
      ['as it is', '06-07T18:15', 0],
      // One person: 8:10 on the one, watched until 8:22, 8:32 on the other.
      ['a second bench', '06-06T18:32', 1],
      // Fri 18:10 to Sat 4:10, then 8:15 to 18:15.
      ['bench allowed to run alone', '06-06T18:15', 1],
    ]);
  });
});

test('hours within a window: Friday from 18:00 to Sunday 12:00 is there, every week, and nothing else', () => {
  const hours = hoursWithin(awake, '2026-06-05T18:00:00+02:00', '2026-06-07T12:00:00+02:00');
  const present = (day: 'thu' | 'fri' | 'sat' | 'sun'): number[][] =>
    hours.weekly[day].filter(({ kind }) => kind === 'present').map(({ fromMin, toMin }) => [fromMin / 60, toMin / 60]);
  expect([present('thu'), present('fri'), present('sat'), present('sun')]).toEqual([
    [],
    [[18, 22]],
    [[8, 22]],
    [[8, 12]],
  ]);
  expect(hoursWithin(awake, '2026-06-05T18:00:00+02:00', '2026-06-13T18:00:00+02:00')).toBe(awake);
});

test('plates without filament get what plates without room would have drawn', () => {
  // 14 h until Saturday 8:00 hold one run only. White lasts for one plate; the long one has it first, being worth more, but never ends in time.
  const spools = [{ id: 'W', materialId: 'white', netG: 130, lowG: 130, highG: 130, from: 'weighed' }];
  const { runs, waiting } = scheduleRuns({
    ...base,
    printersNow: { loft: { spoolId: 'W' } },
    spools,
    to: '2026-06-06T08:00:00+02:00',
    plates: [{ ...plate('long', 15), importance: 3 }, plate('short', 6)],
  });
  expect(startsOf({ runs } as Schedule)).toEqual(['short 06-05T18:10']);
  expect(waiting).toMatchObject([{ plateId: 'long', cause: 'room' }]);
  expect(toEpochS(runs[0]!.end)).toBeLessThan(toEpochS('2026-06-06T08:00:00+02:00'));
});

describe('what a weekend has beside runs', () => {
  const alone = everyDay([
    [0, 8, 'asleep'],
    [8, 9],
    [9, 18, 'away'],
    [18, 22],
    [22, 24, 'asleep'],
  ]);

  test('a printer that may run alone only while its owner sleeps at home does not run while nobody is there', () => {
    const printers = [timePrinter('loft', { aloneWhile: ['asleep'] })];
    const { runs } = scheduleRuns({
      ...base,
      printers,
      hours: alone,
      from: '2026-06-05T08:00:00+02:00',
      plates: [plate('a', 6)],
    });
    // From 8:10 it would run into the hours away; from 18:10 to 0:10 it runs in the evening and the night.
    expect(runs[0]).toMatchObject({ start: '2026-06-05T18:10:00+02:00', alone: ['asleep'] });
  });

  test('a loud printer stands still in the quiet hours', () => {
    const printers = [timePrinter('loft', { loud: true })];
    const hours = {
      ...awake,
      quiet: [
        { fromMin: 0, toMin: 420 },
        { fromMin: 1320, toMin: 1440 },
      ],
    };
    const { runs } = scheduleRuns({ ...base, printers, hours, plates: [plate('a', 6)] });
    // 18:10 to 0:10 is too late; Saturday 8:00 it is.
    expect(runs[0]!.start).toBe('2026-06-06T08:10:00+02:00');
  });

  test('what is put in while it runs is put in when somebody is there', () => {
    const put = (atS: number): ScheduleInput['plates'][number] => ({
      ...plate('a', 10),
      pauses: [{ says: 'put 4 nuts into a', atS: { loft: atS } }],
    });
    // After 3 h: 18:10 + 3 h = 21:10, fine. After 5 h: 23:10 is night; the latest evening start is no help; Saturday 8:10 + 5 h.
    const early = scheduleRuns({ ...base, plates: [put(3 * 3600)] });
    expect(early.runs[0]!.start).toBe('2026-06-05T18:10:00+02:00');
    expect(early.todo.find(({ what }) => what === 'pause')).toMatchObject({
      from: '2026-06-05T21:10:00+02:00',
      says: 'a on loft waits: put 4 nuts into a',
    });
    expect(scheduleRuns({ ...base, plates: [put(5 * 3600)] }).runs[0]!.start).toBe('2026-06-06T08:10:00+02:00');
    // After 13 h 50: from 18:10 that is exactly 8:00 on Saturday.
    expect(
      scheduleRuns({
        ...base,
        plates: [{ ...put(13 * 3600 + 3000), plate: timePlate('a', { printerId: 'loft', hours: 15 }) }],
      }).runs[0]!.start,
    ).toBe('2026-06-05T18:10:00+02:00');
  });

  test('a spool that is known to be damp is dried first; one that is known to be dry is not dried', () => {
    const materials = [plainMaterial('white', { dryS: 4 * 3600 })];
    const spool = (dry: boolean): NonNullable<ScheduleInput['spools']>[number] => ({
      id: 'W',
      materialId: 'white',
      netG: 900,
      lowG: 900,
      highG: 900,
      from: 'weighed',
      dry,
    });
    const damp = scheduleRuns({ ...base, materials, spools: [spool(false)], printersNow: {}, plates: [plate('a', 2)] });
    // Into the dryer at 18:00, out at 22:00, when the day ends: Saturday 8:00, 5 to put it on, 10 to start.
    expect(damp.runs[0]!.start).toBe('2026-06-06T08:15:00+02:00');
    expect(damp.todo[0]).toMatchObject({ what: 'dry', from: '2026-06-05T18:00:00+02:00' });
    const dry = scheduleRuns({ ...base, materials, spools: [spool(true)], printersNow: {}, plates: [plate('a', 2)] });
    expect(dry.runs[0]!.start).toBe('2026-06-05T18:15:00+02:00');
    expect(dry.todo.map(({ what }) => what)).toEqual(['change', 'start', 'unload']);
  });

  test('a test piece comes before the part it proves, and the part waits where the test piece does', () => {
    const proven = { ...plate('yoke', 3), after: ['test'] };
    // Shortest finish would print the yoke first (18:10 to 21:10, test 21:35); the test piece is off at 20:20 at the earliest.
    const { runs } = scheduleRuns({ ...base, plates: [proven, plate('test', 2)] });
    expect(startsOf({ runs } as Schedule)).toEqual(['test 06-05T18:10', 'yoke 06-05T20:35']);
    const { waiting } = scheduleRuns({ ...base, plates: [proven, plate('test', 30)] });
    expect(waiting.find(({ plateId }) => plateId === 'yoke')!.reason).toBe(
      'waits for the test piece on test, which waits itself',
    );
  });

  test('glue and paint come when the last piece is off, in hours of the person, and then wait', () => {
    const { runs } = scheduleRuns({ ...base, plates: [plate('a', 2)] });
    // Unloaded 20:20 to 20:25; an hour of work fits before 22:00; 24 h to wait; the second hour from 21:25 does not fit, so Sunday 8:00.
    const chains = [
      {
        id: 'shell',
        name: 'shell',
        plateIds: ['a'],
        steps: [
          { what: 'weld', handsOnS: 3600, waitS: 86_400 },
          { what: 'paint', handsOnS: 3600, waitS: 7200 },
        ],
      },
    ];
    const { todo, built } = finishSteps({ chains, runs, hours: awake, from: base.from });
    expect(todo.map(({ from, says }) => [from, says])).toEqual([
      ['2026-06-05T20:25:00+02:00', 'shell: weld (60 min, then 24 h to wait)'],
      ['2026-06-07T08:00:00+02:00', 'shell: paint (60 min, then 2 h to wait)'],
    ]);
    expect(built).toBe('2026-06-07T11:00:00+02:00');
  });
});
