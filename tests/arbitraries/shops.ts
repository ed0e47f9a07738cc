import type { ByKind, DaySpan, Hours, Material, Plate, Printer, Spool } from '@stonehand/model';
import type { PlateToRun, PrinterNow, ScheduleInput } from '@stonehand/schedule';
import fc from 'fast-check';

const NO_SPEED: ByKind = {
  outerPerimeter: 0,
  innerPerimeter: 0,
  solid: 0,
  bridge: 0,
  infill: 0,
  support: 0,
  contact: 0,
  brim: 0,
  purge: 0,
  travel: 0,
};

/** A printer of which only the members about time matter. */
export function timePrinter(id: string, about: Partial<Printer> = {}): Printer {
  return {
    id,
    plate: [],
    usable: [],
    keepOut: [],
    plateSizeMm: [220, 220],
    marginMm: 5,
    heightMm: 250,
    nozzleMm: 0.4,
    nozzleMaxC: 260,
    plateMaxC: 100,
    has: [],
    speedMmS: NO_SPEED,
    accelMmS2: NO_SPEED,
    firstLayerMmS: 20,
    cornerSpeedMmS: 8,
    flowMm3S: 11,
    pullBackS: 0,
    layerChangeS: 0,
    warmUpS: 0,
    coolDownS: 0,
    changeS: 0,
    unattended: true,
    longestRunS: 72_000,
    failPerStart: 0,
    failPerHour: 0,
    ...about,
  };
}

export function plainMaterial(id: string, about: Partial<Material> = {}): Material {
  return {
    id,
    kind: 'PLA',
    colour: id,
    densityGPerCm3: 1.24,
    diameterMm: 1.75,
    nozzleC: 210,
    plateC: 60,
    shrinkShare: 0,
    flowMm3S: 11,
    spoolG: 1000,
    dryS: 0,
    needs: [],
    joins: [],
    ...about,
  };
}

export function timePlate(
  id: string,
  about: Readonly<{ printerId: string; hours: number; grams?: number; materialIds?: readonly string[] }>,
): Plate {
  const { printerId, hours, grams = 100, materialIds = ['white'] } = about;
  return {
    id,
    name: id,
    printerId,
    materialIds,
    recipeId: 'normal',
    placed: [{ copyId: `${id}#1`, xMm: 0, yMm: 0, turnDeg: 0 }],
    heightMm: 50,
    usedShare: 0.5,
    massG: { value: grams, from: 'test' },
    durationS: { value: 3600 * hours, from: 'test' },
  };
}

/** The same spans on every weekday, hours of the local day. */
export function everyDay(
  spans: readonly (readonly [number, number, DaySpan['kind']?])[],
  about: Partial<Hours> = {},
): Hours {
  const day = spans.map(([from, to, kind = 'present']) => ({ fromMin: 60 * from, toMin: 60 * to, kind }));
  const weekly: Hours['weekly'] = { mon: day, tue: day, wed: day, thu: day, fri: day, sat: day, sun: day };
  return {
    timeZone: 'Europe/Berlin',
    otherwise: 'away',
    weekly,
    exceptions: {},
    watchS: 720,
    startWorkS: 600,
    unloadWorkS: 300,
    ...about,
  };
}

const weekOf = ([mon, tue, wed, thu, fri, sat, sun]: readonly DaySpan[][]): Hours['weekly'] => ({
  mon: mon!,
  tue: tue!,
  wed: wed!,
  thu: thu!,
  fri: fri!,
  sat: sat!,
  sun: sun!,
});

const quarter = (max: number): fc.Arbitrary<number> => fc.integer({ min: 0, max }).map((n) => 15 * n);

const daySpans: fc.Arbitrary<DaySpan[]> = fc
  .tuple(quarter(30), quarter(40), quarter(6), fc.constantFrom('asleep' as const, 'away' as const))
  .map(([from, length, gap, kind]) => {
    const wake = Math.min(1440, from + 360);
    const middle = Math.min(1440, wake + 60 + length);
    return [
      { fromMin: 0, toMin: Math.min(wake, 420), kind },
      { fromMin: wake, toMin: middle, kind: 'present' as const },
      { fromMin: Math.min(1440, middle + gap), toMin: 1440, kind: 'present' as const },
    ].filter((span) => span.toMin > span.fromMin);
  });

// Zones and days around clock changes in both directions, so that nights of 23 and 25 hours come up.
const moments = fc.constantFrom(
  { timeZone: 'Europe/Berlin', from: '2026-06-05T18:00:00+02:00', days: ['2026-06-06', '2026-06-07'] },
  { timeZone: 'Europe/Berlin', from: '2026-03-27T18:00:00+01:00', days: ['2026-03-28', '2026-03-29'] },
  { timeZone: 'Europe/Berlin', from: '2026-10-24T09:30:00+02:00', days: ['2026-10-25', '2026-10-26'] },
  { timeZone: 'America/New_York', from: '2026-10-31T17:00:00-04:00', days: ['2026-11-01', '2026-11-02'] },
);

/** Small shops with everything that the rules speak of. */
export const shops: fc.Arbitrary<ScheduleInput> = fc
  .record({
    moment: moments,
    week: fc.array(daySpans, { minLength: 7, maxLength: 7 }),
    otherwise: fc.constantFrom('asleep' as const, 'away' as const, 'present' as const),
    works: fc.constantFrom([600, 720, 300], [300, 0, 600], [0, 720, 0], [900, 900, 900]),
    printers: fc.array(
      fc.record({
        unattended: fc.boolean(),
        changeS: fc.constantFrom(0, 300, 600),
        coolDownS: fc.constantFrom(0, 900),
        longest: fc.constantFrom(8, 20, 20),
        down: fc.integer({ min: 0, max: 5 }),
        alone: fc.constantFrom(undefined, undefined, 'asleep' as const, 'away' as const),
        loud: fc.constantFrom(false, false, true),
      }),
      { minLength: 1, maxLength: 3 },
    ),
    plates: fc.array(
      fc.record({
        printer: fc.nat(2),
        both: fc.boolean(),
        minutes: fc.integer({ min: 5, max: 600 }),
        grams: fc.integer({ min: 5, max: 250 }),
        spread: fc.constantFrom(1, 1.2),
        material: fc.constantFrom('white', 'grey', 'white', 'grey', 'both'),
        importance: fc.constantFrom(1, 1, 3),
        dueH: fc.option(fc.integer({ min: 4, max: 60 })),
        later: fc.boolean(),
        proven: fc.constantFrom(false, false, true),
        pauseAt: fc.option(fc.double({ min: 0.2, max: 0.8, noNaN: true }), { freq: 1 }),
      }),
      { maxLength: 8 },
    ),
    shelf: fc.option(
      fc.array(
        fc.record({
          material: fc.constantFrom('white', 'grey'),
          g: fc.integer({ min: 60, max: 1000 }),
          damp: fc.constantFrom(false, false, true),
        }),
        {
          minLength: 2,
          maxLength: 6,
        },
      ),
      { freq: 3 },
    ),
    loaded: fc.array(fc.nat(5), { minLength: 3, maxLength: 3 }),
    windowH: fc.option(fc.integer({ min: 8, max: 90 })),
    running: fc.boolean(),
    persons: fc.constantFrom(1 as const, 1 as const, 1 as const, Number.POSITIVE_INFINITY),
    seed: fc.integer({ min: 1, max: 1000 }),
  })
  .map((drawn): ScheduleInput => {
    const { moment, works } = drawn;
    const hours: Hours = {
      timeZone: moment.timeZone,
      otherwise: drawn.otherwise,
      weekly: weekOf(drawn.week),
      exceptions: { [moment.days[1]!]: drawn.week[0]! },
      startWorkS: works[0]!,
      watchS: works[1]!,
      unloadWorkS: works[2]!,
      quiet: [{ fromMin: 1320, toMin: 1440 }],
    };
    const fromMs = Date.parse(moment.from);
    const after = (h: number): string => new Date(fromMs + 3_600_000 * h).toISOString().replace('.000', '');
    const printers = drawn.printers.map((printer, k) =>
      timePrinter(`p${k}`, {
        unattended: printer.unattended,
        changeS: printer.changeS,
        coolDownS: printer.coolDownS,
        longestRunS: 3600 * printer.longest,
        ...(printer.alone === undefined ? {} : { aloneWhile: [printer.alone] }),
        loud: printer.loud,
        ...(printer.down === 0
          ? { outOfService: [{ from: `${moment.days[0]} 10:00`, to: `${moment.days[1]} 09:00` }] }
          : {}),
      }),
    );
    const spools: Spool[] | undefined = drawn.shelf?.map(({ material, g, damp }, i) => ({
      id: `s${i}`,
      materialId: material,
      netG: g,
      lowG: 0.95 * g,
      highG: 1.05 * g,
      from: 'weighed',
      ...(damp ? { dry: false } : {}),
    }));
    const plates = drawn.plates.map((plate, i): PlateToRun => {
      const printerId = `p${plate.printer % printers.length}`;
      const materialIds = plate.material === 'both' ? ['white', 'grey'] : [plate.material];
      const figures = (factor: number) => ({
        durationS: { value: 60 * plate.minutes * factor, from: 'test' },
        massG: { value: plate.grams, low: plate.grams / plate.spread, high: plate.grams * plate.spread, from: 'test' },
      });
      return {
        plate: { ...timePlate(`plate${i}`, { printerId, hours: 1, materialIds }), ...figures(1) },
        ...(materialIds.length > 1 ? { needG: { white: plate.grams / 2, grey: plate.grams / 4 } } : {}),
        ...(plate.both
          ? { choices: printers.map((printer, k) => ({ printerId: printer.id, ...figures(1 + k / 4) })) }
          : {}),
        importance: plate.importance,
        ...(plate.dueH === null ? {} : { due: after(plate.dueH) }),
        ...(plate.later ? { notBefore: after(5) } : {}),
        ...(plate.proven && i > 0 ? { after: [`plate${i - 1}`] } : {}),
        ...(plate.pauseAt === null
          ? {}
          : {
              pauses: [
                {
                  says: 'put a nut in',
                  atS: Object.fromEntries(
                    printers.map((printer, k) => [
                      printer.id,
                      Math.round(60 * plate.minutes * (plate.both ? 1 + k / 4 : 1) * plate.pauseAt!),
                    ]),
                  ),
                },
              ],
            }),
      };
    });
    const printersNow: Record<string, PrinterNow> = Object.fromEntries(
      printers.map((printer, k) => {
        const spool = spools?.[drawn.loaded[k]!];
        const free = drawn.loaded.slice(0, k).every((other) => other !== drawn.loaded[k]);
        return [
          printer.id,
          {
            ...(spool !== undefined && free ? { spoolId: spool.id, materialId: spool.materialId } : {}),
            onPlate: drawn.loaded[k] === 5,
          },
        ];
      }),
    );
    const hangs = Object.values(printersNow)[0]?.spoolId;
    const running = drawn.running
      ? [
          {
            id: 'run-before',
            plateId: 'before',
            printerId: 'p0',
            attendFrom: after(-2),
            start: after(-1.5),
            watchedUntil: after(-1.3),
            end: after(3),
            unloadFrom: after(3),
            unloadEnd: after(3),
            unattended: false,
            state: 'running' as const,
            spools: hangs === undefined ? [] : [{ spoolId: hangs, massG: 4 }],
          },
        ]
      : [];
    return {
      plates,
      printers,
      materials: [plainMaterial('white'), plainMaterial('grey', { dryS: 14_400 })],
      hours,
      from: moment.from,
      running,
      printersNow,
      ...(drawn.windowH === null ? {} : { to: after(drawn.windowH) }),
      ...(spools === undefined ? {} : { spools }),
      persons: drawn.persons,
      seed: drawn.seed,
      rounds: 2,
    };
  });
