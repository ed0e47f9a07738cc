import type { MeasureRow, Plan } from '@stonehand/model';
import {
  fitRows,
  renderBuy,
  renderCalendar,
  renderCsv,
  renderEstimate,
  renderFit,
  renderMeasure,
  renderSplit,
  renderSummary,
  renderWeigh,
  textTable,
  textWidth,
  wrapText,
} from '@stonehand/report';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { WEEKEND } from './fixture.ts';

const broken: MeasureRow = {
  file: 'x/broken.stl',
  error: {
    code: 'MESH_TRUNCATED',
    message: 'x/broken.stl: header promises 1204 triangles, the file ends after 977',
    remedy: 'Export the file again; this copy is cut off.',
  },
};

const texts = (width: number, colour: boolean, plan: Plan = WEEKEND): Record<string, string> => ({
  summary: renderSummary(plan, { width, colour }),
  fit: renderFit(
    { rows: fitRows(plan), printers: plan.printers, suspicions: ['shin, left and shin, right are mirror images'] },
    { width, colour },
  ),
  buy: renderBuy(plan, { width, colour }),
  weigh: renderWeigh(plan.mass, { width, colour, units: plan.unitsShown }),
  measure: renderMeasure([...plan.readings, broken], { width, colour, units: plan.unitsShown }),
  estimate: renderEstimate(plan.estimates, { width, colour, units: plan.unitsShown }),
});

describe('terminal texts', () => {
  test.each([60, 80, 100, 120, 200])('never exceed a width of %i', (width) => {
    for (const units of ['metric', 'US'] as const) {
      for (const [name, text] of Object.entries(texts(width, false, { ...WEEKEND, unitsShown: units }))) {
        for (const line of text.split('\n')) expect(textWidth(line), `${name}: ${line}`).toBeLessThanOrEqual(width);
      }
    }
  });

  test('say the same with and without colour', () => {
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the sequences are what is taken out
    const bare = (text: string): string => text.replace(/\u001b\[\d+m/g, '');
    const plain = texts(100, false);
    const coloured = texts(100, true);
    expect(Object.values(coloured).join('')).not.toBe(Object.values(plain).join(''));
    for (const name of Object.keys(plain)) expect(bare(coloured[name]!)).toBe(plain[name]);
  });

  test('let no control character of a name reach the terminal', () => {
    const evil = 'a\u001b[2J\u0007\u202eb\nc';
    const plan: Plan = {
      ...WEEKEND,
      name: evil,
      parts: WEEKEND.parts.map((p) => ({ ...p, name: evil })),
      todo: WEEKEND.todo.map((t) => ({ ...t, says: evil })),
      plates: WEEKEND.plates.map((p) => ({ ...p, name: evil })),
    };
    for (const text of Object.values(texts(80, false, plan))) expect(text).not.toMatch(/[^\P{Cc}\n]|\u202e/u);
  });

  test('put the part that fits worst first and what fits everywhere into one line', () => {
    const text = renderFit({ rows: fitRows(WEEKEND), printers: WEEKEND.printers }, { width: 120 });
    const rows = text.split('\n').filter((line) => /^(back shell|shin|skull|upper beak)/.test(line));
    expect(rows.map((line) => line.split('  ')[0])).toEqual(['back shell', 'shin, left', 'shin, right', 'upper beak']);
    expect(text).toContain('19 parts more fit every printer as they are: skull');
  });

  test('give one row a file in the given order, errors with their remedy', () => {
    const text = renderMeasure([broken, WEEKEND.readings[0]!], { width: 120 });
    const lines = text.split('\n');
    expect(lines[1]).toMatch(/^x\/broken\.stl +unreadable$/);
    expect(lines[2]).toMatch(/^heron\/head\/skull\.stl +sound/);
    expect(text).toContain('Export the file again; this copy is cut off.');
  });
});

describe('tables', () => {
  test('fall back to blocks when the columns cannot fit, and lose nothing', () => {
    const text = textTable(
      [{ title: 'a' }, { title: 'b' }, { title: 'c' }],
      [['first', 'x'.repeat(20), 'y'.repeat(20)]],
      { width: 30 },
    );
    expect(text).toBe(`first\n  b: ${'x'.repeat(20)}\n  c: ${'y'.repeat(20)}\n`);
  });

  test('wrapping keeps every letter and holds the width', () => {
    fc.assert(
      fc.property(
        fc.array(fc.stringMatching(/^[a-zé漢/.-]{1,30}$/u), { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 4, max: 40 }),
        (words, width) => {
          const lines = wrapText(words.join(' '), width);
          expect(lines.join('').replace(/ /g, '')).toBe(words.join(''));
          for (const line of lines) expect(textWidth(line)).toBeLessThanOrEqual(width);
        },
      ),
      { seed: 3 },
    );
  });

  test('count East Asian letters as two columns and combining marks as none (Unicode TR 11)', () => {
    expect(textWidth('漢字')).toBe(4);
    expect(textWidth('e\u0301')).toBe(1);
    expect(textWidth('9½ h (8 to 12½)')).toBe(15);
  });
});

/** A reader of RFC 4180 written for this test. */
function readCsv(text: string): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = '';
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i]!;
    if (quoted) {
      if (c === '"' && text[i + 1] === '"') {
        cell += '"';
        i++;
      } else if (c === '"') quoted = false;
      else cell += c;
    } else if (c === '"') quoted = true;
    else if (c === ',') {
      row.push(cell);
      cell = '';
    } else if (c === '\r' && text[i + 1] === '\n') {
      rows.push([...row, cell]);
      row = [];
      cell = '';
      i++;
    } else cell += c;
  }
  expect(quoted).toBe(false);
  expect(cell).toBe('');
  return rows;
}

describe('CSV (RFC 4180)', () => {
  const files = renderCsv(WEEKEND);

  test('every table has a header, CRLF line ends and as many fields in each record', () => {
    for (const [file, text] of Object.entries(files)) {
      expect(text.replace(/\r\n/g, ''), file).not.toMatch(/[\r\n]/);
      const rows = readCsv(text);
      expect(new Set(rows.map((r) => r.length)).size, file).toBe(1);
      expect(new Set(rows[0]).size).toBe(rows[0]!.length);
    }
    expect(Object.keys(files)).toContain('plates.csv');
  });

  test('commas, quotes and line breaks in names come back as they were', () => {
    const name = 'shin, "left"\r\nsecond line';
    const rows = readCsv(renderCsv({ ...WEEKEND, parts: [{ ...WEEKEND.parts[0]!, name }] })['parts.csv']!);
    expect(rows[1]![1]).toBe(name);
  });

  test('figures keep value and bounds as numbers', () => {
    const rows = readCsv(files['plates.csv']!);
    const column = (title: string): number => rows[0]!.indexOf(title);
    WEEKEND.plates.forEach((plate, i) => {
      expect(Number(rows[i + 1]![column('mass_g')])).toBeCloseTo(plate.massG.value, 9);
      expect(Number(rows[i + 1]![column('mass_low_g')])).toBeCloseTo(plate.massG.low!, 9);
      expect(Number(rows[i + 1]![column('time_high_s')])).toBeCloseTo(plate.durationS.high!, 6);
    });
  });

  test('a name that a spreadsheet would run is defused; negative numbers are left alone', () => {
    const plan: Plan = { ...WEEKEND, waiting: [{ copyId: '=HYPERLINK("x")', reason: '@sum' }], mass: WEEKEND.mass };
    expect(readCsv(renderCsv(plan)['waiting.csv']!)[1]).toEqual(['\'=HYPERLINK("x")', "'@sum"]);
    const mass = readCsv(files['mass.csv']!);
    expect(mass.some((row) => row.includes('-6'))).toBe(true);
  });
});

describe('a split', () => {
  const flange = {
    kind: 'flange' as const,
    between: ['heron/body/back-shell/a', 'heron/body/back-shell/b'],
    atMm: [206, 0, 40] as const,
    axis: [1, 0, 0] as const,
    diameterMm: 1.75,
    lengthMm: 6,
    gapPerSideMm: 0.1,
    glueGapMm: 0.1,
    leastWallMm: 0.8,
  };
  const split = {
    file: 'heron/body/back-shell',
    planes: [{ normal: [1, 0, 0] as const, offsetMm: 206 }],
    bound: 2,
    slabs: 3,
    accepted: false,
    symmetric: true,
    crossed: 1,
    supportG: 62,
    pieces: [
      { id: 'a', sizeMm: [200, 180, 90] as const, solidG: 120, printers: ['loft'] },
      { id: 'b', sizeMm: [206, 180, 90] as const, solidG: 130, printers: [] },
    ],
    joints: [
      { id: 'a-b-1', ...flange },
      { id: 'a-b-2', ...flange },
    ],
    glueMm3: 1234,
    together: [{ lower: ['a'], upper: ['b'] }],
    pins: [{ diameterMm: 1.75, lengthMm: 6, count: 2, stock: 'filament' }],
    files: [],
  };

  test('says how many pieces, why, where it cuts, what joins them and what to have ready', () => {
    const text = renderSplit(split, { width: 80 });
    expect(text).toContain('2 pieces (fewer cannot do; equal slabs would make 3). About 62 g of support');
    expect(text.replaceAll(/\s+/g, ' ')).toContain('The part is its own mirror image. 1 bore or boss cut through');
    expect(text).toMatch(/1 +x +206 mm +the whole/);
    expect(text).toMatch(/a and b +2 flanges +pin 1.75 mm across, 6 mm long, 0.1 mm free a side/);
    expect(text).toMatch(/b +206 × 180 × 90 +130 g +no printer/);
    expect(text).toContain('together: a to b');
    expect(text).toContain('to have ready: 2 × 6 mm of 1.75 mm filament and glue, 1.2 cm³');
    for (const line of text.split('\n')) expect(textWidth(line)).toBeLessThanOrEqual(80);
    expect(renderSplit({ ...split, bound: 1 }, { width: 80 })).toContain('at least 1 is needed');
    expect(renderSplit({ ...split, accepted: true }, { width: 80 })).toContain('cut as accepted');
  });
});

test('the scheduler’s own words are not said twice', () => {
  const todo = WEEKEND.todo.map((t) => ({ ...t, says: `${t.says}, watch until 18:22, ends about 03:40` }));
  const text = renderSummary({ ...WEEKEND, todo }, { width: 200 });
  expect(text.match(/watch until/g)).toHaveLength(todo.filter((t) => t.what === 'start').length);
  expect(text.match(/ends /g)).toHaveLength(todo.filter((t) => t.what === 'start').length);
});

test('a printer that refuses a part comes before one that is too small, with its reason', () => {
  const fits = WEEKEND.fits.map((f) => (f.partId.endsWith('toe') ? { ...f, refused: 'its nozzle reaches 240 °C' } : f));
  const rows = fitRows({ ...WEEKEND, fits });
  expect(rows[0]!.name).toBe('toe');
  expect(renderFit({ rows, printers: WEEKEND.printers }, { width: 120 })).toMatch(
    /toe .*refused .*its nozzle reaches 240 °C/,
  );
});

describe('what to do', () => {
  const start = WEEKEND.todo.find((t) => t.what === 'start')!;
  const spoolId = WEEKEND.runs.find((r) => r.id === start.runId)!.spools[0]!.spoolId;
  const earlier = (instant: string, s: number): string => new Date(Date.parse(instant) - s * 1000).toISOString();

  test('a change of spools stands in one row with the start that it serves; the calendar keeps both', () => {
    const change = {
      ...start,
      what: 'change' as const,
      from: earlier(start.from, 300),
      to: start.from,
      says: 'put it on',
    };
    const plan: Plan = { ...WEEKEND, todo: [change, ...WEEKEND.todo] };
    const text = renderSummary(plan, { width: 200 });
    const row = text.split('\n').filter((line) => line.includes(`put spool ${spoolId} on, start `));
    expect(row).toHaveLength(1);
    expect(row[0]).toContain('watch until');
    expect(text).not.toContain('put it on');
    expect(renderCalendar(plan).match(/BEGIN:VEVENT/g)).toHaveLength(plan.todo.length);
  });

  test('a change that serves no known start keeps its own row', () => {
    const change = { ...start, what: 'change' as const, runId: 'none', says: 'put spool Z9 on the loft' };
    expect(renderSummary({ ...WEEKEND, todo: [change, ...WEEKEND.todo] }, { width: 200 })).toContain(change.says);
  });

  test('what must dry at the start of the plan is one row, with the hours of each kind', () => {
    const starts = WEEKEND.todo.filter((t) => t.what === 'start').slice(0, 2);
    const ids = starts.map((t) => WEEKEND.runs.find((r) => r.id === t.runId)!.spools[0]!.spoolId);
    expect(new Set(ids).size).toBe(2);
    const dry = starts.map(({ latestStart: _, ...t }, i) => ({
      ...t,
      what: 'dry' as const,
      from: WEEKEND.planFrom,
      says: `dry spool ${ids[i]} (x) for long`,
    }));
    const text = renderSummary({ ...WEEKEND, todo: [...dry, ...WEEKEND.todo] }, { width: 200 });
    const rows = text.split('\n').filter((line) => line.includes(' dry '));
    expect(rows).toHaveLength(1);
    expect(rows[0]).toContain(`dry spools ${ids[0]} and ${ids[1]}; 4 h, should have begun before this plan`);
  });
});

describe('limits', () => {
  const body = WEEKEND.mass[0]!.children[2]!;
  const bound = (side: 'least' | 'most', allowed: number, margin: number, chance: number) => ({
    limit: `centre x at ${side}`,
    unit: 'mm',
    value: { value: 18.05, low: 15.8, high: 20.3, from: 'centre' },
    allowed,
    margin,
    chance,
  });
  const withLimits = (limits: (typeof body)['limits'], missing: readonly string[] = []): Plan => ({
    ...WEEKEND,
    mass: [{ ...body, limits, missing, children: [] }],
  });

  test('both bounds of one axis are one line, and the broken one is told', () => {
    const plan = withLimits([bound('least', -30, 48.05, 1), bound('most', 6, -12.05, 1e-9)]);
    const text = renderSummary(plan, { width: 200 });
    expect(text).toContain('Body: centre x 18.1 mm (15.8 to 20.3), allowed −30 to 6 mm, 12.1 mm beyond the limit.');
    expect(text.match(/centre x/g)).toHaveLength(1);
    const weighed = renderWeigh(plan.mass, { width: 200 });
    expect(weighed.match(/centre x 18/g)).toHaveLength(1);
  });

  test('one that is kept with a chance below 9 in 10 is told, others in one sentence', () => {
    const mass = {
      limit: 'mass at most',
      unit: 'g',
      value: { value: 490, low: 450, high: 530, from: 'm' },
      allowed: 505,
    };
    const plan = withLimits([{ ...mass, margin: 15, chance: 0.65 }, bound('most', 60, 42, 0.99)]);
    expect(renderSummary(plan, { width: 200 })).toContain(
      'Body: 490 g (450 to 530) of 505 g allowed, chance about 2 in 3. All other limits hold.',
    );
    const sure = renderSummary(withLimits([{ ...mass, margin: 15, chance: 0.95 }]), { width: 200 });
    expect(sure).toContain('All limits on mass and balance hold.');
    expect(sure).not.toContain('490 g');
  });

  test('items without a place are counted once', () => {
    const missing = [
      'h/a: no place is stated for 4 of 4 M3 nut',
      'h/b: no place is stated for 5 of 6 M3 nut',
      'h/c: its shape is not known for 2 of 2',
    ];
    const text = renderSummary(withLimits([], missing), { width: 200 });
    expect(text).toContain(
      '9 bought items without a stated place and 2 pieces without a known shape: in the mass, not in the centre.',
    );
    expect(text).not.toContain('M3 nut');
  });
});

describe('why it does not fit', () => {
  const skull = WEEKEND.parts[0]!;
  const whyOf = (fits: Plan['fits']): string => fitRows({ ...WEEKEND, parts: [skull], fits })[0]!.why;
  const short = { partId: skull.id, verdict: 'no' as const, overMm: [80.02, 80.02, 74.8] as const };

  test('is said once, with equal axes together and never rounded to less', () => {
    expect(whyOf([{ ...short, printerId: 'loft', why: 'too large by 80 mm in x, 80 mm in y, 75 mm in z' }])).toBe(
      'loft: short by 81 mm in x and y, 75 mm in z',
    );
    expect(whyOf([{ ...short, printerId: 'loft', overMm: [0.018, 0, 0] }])).toBe(
      'loft: short by less than 0.1 mm in x',
    );
  });

  test('leaves size out where the printer refuses the part anyway', () => {
    const refused = 'ABS needs an enclosure';
    expect(whyOf(['bench', 'shed'].map((printerId) => ({ ...short, printerId, refused })))).toBe(
      `bench, shed: ${refused}`,
    );
  });

  test('turns the other way with a true minus', () => {
    const fits = [{ partId: skull.id, printerId: 'loft', verdict: 'turned' as const, turnDeg: -39.2 }];
    const rows = fitRows({ ...WEEKEND, parts: [skull], fits });
    expect(renderFit({ rows, printers: WEEKEND.printers }, { width: 120 })).toContain('turned −39°');
  });
});

test('a long name of a printer gives way to its id in labels', () => {
  const printers = WEEKEND.printers.map((p) => ({ ...p, name: `the one that stands in the ${p.id}` }));
  const text = renderSummary({ ...WEEKEND, printers }, { width: 200 });
  expect(text).not.toContain('that stands');
});
