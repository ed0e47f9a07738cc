import { type ScheduleInput, scheduleRuns, toEpochS } from '@stonehand/schedule';
import { describe, expect, test } from 'vitest';
import { everyDay, plainMaterial, timePlate, timePrinter } from '../../../tests/arbitraries/shops.ts';
import { brokenRules } from '../../../tests/oracles/run-rules.ts';

const figure = (hours: number): { value: number; from: string } => ({ value: 3600 * hours, from: 'test' });
const grams = { value: 100, from: 'test' };

// Hours on L / S, check values F9: P1 does not fit S.
const UNLIKE: readonly (readonly [string, number, number | undefined])[] = [
  ['P1', 10, undefined],
  ['P2', 6, 7],
  ['P3', 5, 6],
  ['P4', 4, 5],
  ['P5', 3, 3.5],
];

function unlike(about: Partial<ScheduleInput>, unloadWorkS: number): ScheduleInput {
  const weekend = [{ fromMin: 480, toMin: 1320, kind: 'present' as const }];
  return {
    plates: UNLIKE.map(([id, onL, onS]) => ({
      plate: timePlate(id, { printerId: 'L', hours: onL }),
      choices: [
        { printerId: 'L', durationS: figure(onL), massG: grams },
        ...(onS === undefined ? [] : [{ printerId: 'S', durationS: figure(onS), massG: grams }]),
      ],
    })),
    printers: [timePrinter('L'), timePrinter('S', { unattended: false })],
    materials: [plainMaterial('white')],
    hours: everyDay([], {
      startWorkS: 0,
      watchS: 0,
      unloadWorkS,
      exceptions: {
        '2026-06-05': [{ fromMin: 1080, toMin: 1320, kind: 'present' }],
        '2026-06-06': weekend,
        '2026-06-07': weekend,
      },
    }),
    from: '2026-06-05T00:00:00+02:00',
    persons: Number.POSITIVE_INFINITY,
    ...about,
  };
}

describe('unlike printers, one of which must be watched (check values F9, all 360 orders enumerated there)', () => {
  test('without a calendar the optimum is 15.5 h', () => {
    const { search } = scheduleRuns(
      unlike({ hours: everyDay([[0, 24]], { startWorkS: 0, watchS: 0, unloadWorkS: 0 }) }, 0),
    );
    expect(search.value / 3600).toBe(15.5);
    expect(search.bound).toBe(search.value);
    expect(search.ended).toBe('proven');
  });

  test('with attended time the optimum is Saturday 17:30, proven', () => {
    const input = unlike({}, 900);
    const schedule = scheduleRuns(input);
    expect(schedule.finish).toBe('2026-06-06T17:30:00+02:00');
    expect(schedule.search).toMatchObject({ value: 41.5 * 3600, bound: 41.5 * 3600, ended: 'proven' });
    expect(brokenRules(input, schedule)).toEqual([]);
  });

  test('one person cannot change over both at 8:00, and then it ends later or as early, never earlier', () => {
    const schedule = scheduleRuns(unlike({ persons: 1 }, 900));
    expect(schedule.search.value).toBeGreaterThanOrEqual(41.5 * 3600);
    expect(brokenRules(unlike({ persons: 1 }, 900), schedule)).toEqual([]);
  });
});

const base: ScheduleInput = {
  plates: [],
  printers: [timePrinter('loft', { changeS: 300, coolDownS: 600 })],
  materials: [plainMaterial('white'), plainMaterial('grey', { name: 'grey', dryS: 4 * 3600 })],
  hours: everyDay([
    [0, 8, 'asleep'],
    [8, 22],
    [22, 24, 'asleep'],
  ]),
  from: '2026-06-05T18:00:00+02:00',
};

describe('a weekend', () => {
  test('the first run is told in plain words, with what it runs through', () => {
    const { todo, runs } = scheduleRuns({
      ...base,
      plates: [{ plate: { ...timePlate('a', { printerId: 'loft', hours: 9.5 }), name: 'skull and crown' } }],
      spools: [{ id: 'W2', materialId: 'white', netG: 412, lowG: 400, highG: 420, from: 'weighed' }],
      printersNow: { loft: { spoolId: 'W2' } },
    });
    expect(todo.map((one) => one.says)).toEqual([
      'start skull and crown on loft, spool W2, watch until 18:22, ends about Sat 03:40, runs while you are asleep',
      'unload skull and crown from loft',
    ]);
    expect(todo[0]!.latestStart).toBe('2026-06-05T21:38:00+02:00'); // 10 min work and 12 min watch before 22:00
    expect(runs[0]).toMatchObject({ unattended: true, alone: ['asleep'], unloadFrom: '2026-06-06T08:00:00+02:00' });
  });

  test('a printer that must be attended gets its long run in the morning, and nothing runs through the night', () => {
    const { runs } = scheduleRuns({
      ...base,
      printers: [timePrinter('loft', { unattended: false })],
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 9 }) }],
    });
    expect(runs[0]).toMatchObject({
      attendFrom: '2026-06-06T08:00:00+02:00',
      end: '2026-06-06T17:10:00+02:00',
      unattended: false,
    });
    expect(runs[0]!.alone).toBeUndefined();
  });

  test('being away is told apart from being asleep', () => {
    const hours = everyDay([
      [0, 8, 'asleep'],
      [8, 9],
      [9, 18, 'away'],
      [18, 22],
      [22, 24, 'asleep'],
    ]);
    const { runs } = scheduleRuns({
      ...base,
      hours,
      from: '2026-06-05T08:00:00+02:00',
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 6 }) }],
    });
    expect(runs[0]!.alone).toEqual(['away']);
  });

  test('a run over the night when the clock goes back ends at an hour that is right on the wall', () => {
    const { runs } = scheduleRuns({
      ...base,
      from: '2026-10-24T20:00:00+02:00',
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 10 }) }],
    });
    // Start 20:15 with loading; 10 hours later the wall shows one hour less than 06:15.
    expect(runs[0]).toMatchObject({ start: '2026-10-24T20:15:00+02:00', end: '2026-10-25T05:15:00+01:00' });
  });

  test('a printer that is out on Sunday does nothing on Sunday', () => {
    const printers = [
      timePrinter('loft', { outOfService: [{ from: '2026-06-07', to: '2026-06-07', why: 'nozzle ordered' }] }),
    ];
    const plates = ['a', 'b', 'c', 'd'].map((id) => ({ plate: timePlate(id, { printerId: 'loft', hours: 8 }) }));
    const { runs, waiting } = scheduleRuns({ ...base, printers, plates });
    expect(waiting).toEqual([]);
    expect(runs).toHaveLength(4);
    for (const run of runs) {
      const clear =
        toEpochS(run.end) <= toEpochS('2026-06-07T00:00:00+02:00') ||
        toEpochS(run.attendFrom) >= toEpochS('2026-06-08T00:00:00+02:00');
      expect(clear, `${run.attendFrom} to ${run.end}`).toBe(true);
    }
    expect(runs.some((run) => run.start > '2026-06-08')).toBe(true);
  });

  test('what would not finish in the window waits, with the reason', () => {
    const schedule = scheduleRuns({
      ...base,
      to: '2026-06-06T08:00:00+02:00',
      plates: [
        { plate: timePlate('short', { printerId: 'loft', hours: 6 }) },
        { plate: timePlate('long', { printerId: 'loft', hours: 16 }) },
        { plate: timePlate('second', { printerId: 'loft', hours: 5 }) },
      ],
    });
    expect(schedule.runs.map((run) => run.plateId)).toEqual(['short']);
    expect(schedule.waiting.map(({ plateId, copyIds, reason }) => [plateId, copyIds[0], reason])).toEqual([
      [
        'long',
        'long#1',
        'takes 16 h 00: even as the first run it would end Sat 10:10, after the window closes (Sat 08:00)',
      ],
      ['second', 'second#1', 'no room left in this window: it would not be finished by Sat 08:00 after the others'],
    ]);
  });

  test('of two plates that exclude each other the more important gets the window', () => {
    const plates = [
      { plate: timePlate('dull', { printerId: 'loft', hours: 10 }) },
      { plate: timePlate('dear', { printerId: 'loft', hours: 9 }), importance: 2 },
    ];
    const { runs } = scheduleRuns({ ...base, to: '2026-06-06T08:00:00+02:00', plates });
    expect(runs.map((run) => run.plateId)).toEqual(['dear']);
  });

  test('a deadline that cannot be met is said, by how much, and the rest is still in time', () => {
    const plates = [
      { plate: timePlate('a', { printerId: 'loft', hours: 4 }) },
      { plate: timePlate('b', { printerId: 'loft', hours: 12 }) },
    ];
    const { late, search } = scheduleRuns({ ...base, plates, deadline: '2026-06-06T12:00:00+02:00' });
    // b alone would end Sat 06:15 with loading; then a is started at 8:00: unload 5, start 10 minutes, 12:15.
    expect(late).toEqual([{ runId: expect.any(String), plateId: 'a', byS: 15 * 60 }]);
    expect(search.value).toBe(18.25 * 3600);
  });

  test('a run longer than its owner allows waits and says so', () => {
    const { waiting } = scheduleRuns({
      ...base,
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 21 }) }],
    });
    expect(waiting[0]!.reason).toBe('takes 21 h on loft, where 20 h is the longest run its owner allows');
  });

  test('a run that no presence can hold waits and says so', () => {
    const { waiting } = scheduleRuns({
      ...base,
      printers: [timePrinter('loft', { unattended: false })],
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 15 }) }],
    });
    expect(waiting[0]!.reason).toBe(
      'needs 15 h 10 of presence in one stretch as loft must not run unattended, and the longest is 14 h 00',
    );
  });

  test('running runs stay and are unloaded before the next', () => {
    const running = [
      {
        id: 'r0',
        plateId: 'old',
        printerId: 'loft',
        attendFrom: '2026-06-05T10:00:00+02:00',
        start: '2026-06-05T10:10:00+02:00',
        watchedUntil: '2026-06-05T10:22:00+02:00',
        end: '2026-06-05T19:00:00+02:00',
        unloadFrom: '2026-06-05T19:00:00+02:00',
        unloadEnd: '2026-06-05T19:05:00+02:00',
        unattended: false,
        state: 'running' as const,
        spools: [],
      },
    ];
    const { runs } = scheduleRuns({
      ...base,
      running,
      printersNow: { loft: { materialId: 'white' } },
      plates: [{ plate: timePlate('a', { printerId: 'loft', hours: 2 }) }],
    });
    expect(runs[0]).toMatchObject({ id: 'r0', state: 'running', unloadFrom: '2026-06-05T19:10:00+02:00' }); // after 10 min of cooling
    expect(runs[1]).toMatchObject({ attendFrom: '2026-06-05T19:15:00+02:00', start: '2026-06-05T19:25:00+02:00' });
  });

  test('unknown printers, unknown materials and plates given twice are refused', () => {
    const plate = timePlate('a', { printerId: 'loft', hours: 2 });
    const refused = (plates: ScheduleInput['plates'], code: string): void =>
      expect(() => scheduleRuns({ ...base, plates })).toThrow(expect.objectContaining({ code }));
    refused([{ plate: { ...plate, printerId: 'attic' } }], 'DATA_UNKNOWN');
    refused([{ plate: { ...plate, materialIds: ['mud'] } }], 'DATA_UNKNOWN');
    refused([{ plate }, { plate }], 'DATA_DUPLICATE');
  });
});

describe('spools', () => {
  const spool = (
    id: string,
    netG: number,
    lowG = netG,
  ): { id: string; materialId: string; netG: number; lowG: number; highG: number; from: string } => ({
    id,
    materialId: 'grey',
    netG,
    lowG,
    highG: netG,
    from: 'weighed',
  });
  const plate = (id: string, g: number): ScheduleInput['plates'][number] => ({
    plate: timePlate(id, { printerId: 'loft', hours: 2, grams: g, materialIds: ['grey'] }),
  });

  test('a plate that needs more than the shelf has waits, with both figures', () => {
    const { waiting } = scheduleRuns({ ...base, plates: [plate('tail fan', 637)], spools: [spool('G1', 405)] });
    expect(waiting[0]!.reason).toBe('needs 640 g grey, 390 g on the shelf'); // 637 and 3 purge; 405 less 15 kept back
  });

  test('a spool that would run out is not taken: the low estimate counts, and the other one is used', () => {
    const { runs } = scheduleRuns({
      ...base,
      plates: [plate('a', 300)],
      spools: [spool('G1', 330, 310), spool('G2', 400)],
      printersNow: { loft: { spoolId: 'G1' } },
    });
    expect(runs[0]!.spools).toEqual([{ spoolId: 'G2', massG: 303 }]);
  });

  test('enough on the shelf, but on no single spool', () => {
    const { waiting } = scheduleRuns({
      ...base,
      plates: [plate('a', 400)],
      spools: [spool('G1', 300), spool('G2', 300)],
    });
    expect(waiting[0]!.reason).toBe('needs 403 g grey from one spool, the fullest has 285 g');
  });

  test('two printers do not print from one spool at the same time', () => {
    const printers = [timePrinter('loft'), timePrinter('shed')];
    const two = [plate('a', 100), { plate: timePlate('b', { printerId: 'shed', hours: 2, materialIds: ['grey'] }) }];
    const [first, second] = scheduleRuns({ ...base, printers, plates: two, spools: [spool('G1', 800)] }).runs;
    expect(toEpochS(second!.attendFrom)).toBeGreaterThanOrEqual(toEpochS(first!.end));
    const apart = scheduleRuns({ ...base, printers, plates: two, spools: [spool('G1', 800), spool('G2', 800)] }).runs;
    expect(toEpochS(apart[1]!.attendFrom)).toBeLessThan(toEpochS(apart[0]!.end));
  });

  test('a kind that wants drying is dried before its first run, and the list says so', () => {
    const { todo } = scheduleRuns({ ...base, plates: [plate('a', 100)], spools: [spool('G1', 800)] });
    expect(todo[0]).toMatchObject({
      what: 'dry',
      says: expect.stringContaining(
        'dry spool G1 (grey, 800 g) for 4 h 00; its run starts 18:00, so it should have begun before this plan',
      ),
    });
  });
});

test('the oracle of the rules notices what is wrong', () => {
  const input: ScheduleInput = {
    ...base,
    plates: [
      { plate: timePlate('a', { printerId: 'loft', hours: 2 }) },
      { plate: timePlate('b', { printerId: 'loft', hours: 2 }) },
    ],
    spools: [{ id: 'W', materialId: 'white', netG: 900, lowG: 900, highG: 900, from: 'weighed' }],
    to: '2026-06-08T00:00:00+02:00',
  };
  const good = scheduleRuns(input);
  expect(brokenRules(input, good)).toEqual([]);
  const [first, second] = good.runs;
  const tampered = (change: object, says: RegExp): void => {
    const broken = brokenRules(input, { ...good, runs: [first!, { ...second!, ...change }] });
    expect(broken.join('\n'), JSON.stringify(change)).toMatch(says);
  };
  tampered({ plateId: 'a' }, /exactly once/);
  tampered({ attendFrom: first!.start }, /one person cannot/);
  tampered({ end: '2026-06-09T00:00:00+02:00' }, /within the window/);
  tampered({ watchedUntil: second!.start }, /watched/);
  tampered({ unloadFrom: second!.end }, /cooling/);
  tampered({ unattended: !second!.unattended }, /unattended/);
  tampered({ spools: [] }, /a spool for each/);
  expect(brokenRules({ ...input, spools: [{ ...input.spools![0]!, lowG: 200 }] }, good).join()).toMatch(
    /would run out/,
  );
  expect(
    brokenRules(
      { ...input, printers: [timePrinter('loft', { unattended: false })], hours: everyDay([[18, 18.5]]) },
      good,
    ).join(),
  ).toMatch(/must not run unattended/);
});
