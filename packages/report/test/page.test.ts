import { createHash } from 'node:crypto';
import type { Plan } from '@stonehand/model';
import { cautionsOf, posePng, renderMarkdown, renderPage, summaryOf } from '@stonehand/report';
import { describe, expect, test } from 'vitest';
import { MESHES, WEEKEND } from './fixture.ts';

const SCRIPT = 'document.title += "";';
const html = renderPage({ plan: WEEKEND });
const live = renderPage({ plan: WEEKEND, view: { script: SCRIPT } });
const EMPTY: Plan = {
  ...WEEKEND,
  parts: [],
  readings: [],
  pieces: [],
  estimates: [],
  plates: [],
  runs: [],
  presence: [],
  todo: [],
  searches: [],
  fits: [],
  buy: [],
  buyAll: [],
  mass: [],
  waiting: [],
  hardware: [],
  assumed: [],
};

/** Every string of the plan replaced by one that would do harm unescaped; times, ids that refer and enumerations stay. */
function hostile(plan: Plan): Plan {
  const evil = `<img src=x onerror="alert('1')">&amp;</script><script>alert(2)</script>`;
  return {
    ...plan,
    name: evil,
    madeBy: evil,
    parts: plan.parts.map((p) => ({ ...p, name: evil, assemblyId: evil })),
    plates: plan.plates.map((p) => ({ ...p, name: evil, massG: { ...p.massG, from: evil } })),
    printers: plan.printers.map((p) => ({ ...p, name: evil })),
    materials: plan.materials.map((m) => ({ ...m, name: evil })),
    todo: plan.todo.map((t) => ({ ...t, says: evil })),
    searches: plan.searches.map((s) => ({ ...s, what: evil })),
    fits: plan.fits.map((f) => ({ ...f, why: evil })),
    mass: plan.mass.map((m) => ({ ...m, name: evil, missing: [evil] })),
    hardware: plan.hardware.map((h) => ({ ...h, item: { ...h.item, name: evil, note: evil, massFrom: evil } })),
    waiting: plan.waiting.map((w) => ({ ...w, reason: evil })),
    assumed: [evil],
    cautions: [evil],
  };
}

describe('the page', () => {
  test('says first whether it is in time, what comes next, what to buy, what does not fit, the mass and what waits', () => {
    const main = html.slice(html.indexOf('<main'), html.indexOf('id="do"'));
    const order = [
      'probably in time',
      'about 4 in 5',
      'Next: ',
      'No filament need be bought',
      'fits no printer whole',
      'over the limit',
      'Waits:',
    ];
    const at = order.map((text) => main.indexOf(text));
    expect(at.every((i) => i > 0)).toBe(true);
    expect([...at].sort((a, b) => a - b)).toEqual(at);
  });

  test('lets no markup of a name through, in whatever field it stands', () => {
    const page = renderPage({ plan: hostile(WEEKEND), view: { script: SCRIPT } });
    // Every < that survives opens or closes one of the page's own elements.
    const own =
      /^<\/?(!doctype|html|head|body|meta|title|style|script|a|nav|ul|ol|li|main|section|h[1-3]|p|div|span|b|br|abbr|table|thead|tbody|tr|th|td|svg|g|path|rect|line|text|figure|figcaption|time|img|label|input|output|code|footer|details|summary|select|option|dialog|template|canvas|header|button)\b/;
    const inside = page.replace(/<style>[\s\S]*?<\/style>/, '').replace(/<script[ >][\s\S]*?<\/script>/g, '');
    const foreign = [...inside.matchAll(/<[^\s>]*/g)].filter((m) => !own.test(m[0]));
    expect(foreign.map((m) => m[0])).toEqual([]);
    // One that runs and one of data, whatever the names hold.
    expect(page.match(/<script/g)).toHaveLength(2);
    expect(page.match(/<script>/g)).toHaveLength(1);
    expect(page.match(/<img/g)).toBeNull();
    expect(inside).not.toMatch(/\sonerror\s*=\s*"/);
  });

  test('needs no network: nothing is loaded but data in the file', () => {
    const page = renderPage({
      plan: WEEKEND,
      pictures: { 'heron/head/skull': posePng(MESHES.get('heron/head/skull')!) },
    });
    const loads = [...page.matchAll(/(?:src|href)="([^"]*)"/g)].map((m) => m[1]!);
    expect(loads.length).toBeGreaterThan(10);
    for (const target of loads)
      expect(target.startsWith('#') || target.startsWith('data:image/png;base64,')).toBe(true);
    expect(page.match(/https?:\/\/[^"' )]*/g)?.filter((u) => u !== 'http://www.w3.org/2000/svg') ?? []).toEqual([]);
    expect(page).not.toMatch(/@import|url\(/);
  });

  test('names its one script by hash in its content policy', () => {
    const script = /<script>([\s\S]*?)<\/script>/.exec(live)![1]!;
    expect(script).toBe(SCRIPT);
    const hash = createHash('sha256').update(script).digest('base64');
    expect(html).toContain(`script-src 'none'`);
    expect(live).toContain(`script-src 'sha256-${hash}'`);
    expect(html).toContain("default-src 'none'");
  });

  test('has no id twice, and every inner link leads somewhere', () => {
    for (const page of [html, live]) {
      const ids = [...page.matchAll(/\sid="([^"]*)"/g)].map((m) => m[1]!);
      expect(new Set(ids).size).toBe(ids.length);
      const known = [...ids, ...WEEKEND.pieces.map((piece) => `look=${encodeURIComponent(piece.id)}`)];
      for (const [, target] of page.matchAll(/href="#([^"]*)"/g)) expect(known).toContain(target);
    }
  });

  test('names a plate’s printer once, and folds what is not in the centre', () => {
    const caption = /<figcaption>([\s\S]*?)<\/figcaption>/.exec(html)![1]!.replace(/ title="[^"]*"/g, '');
    const plate = WEEKEND.plates[0]!;
    expect(caption).toContain(`<b>${plate.name}</b>, ${plate.printerId}`);
    expect(caption.split(plate.printerId)).toHaveLength(2);
    expect(html).toMatch(/<details><summary>Not in the centre: wing felt<\/summary>/);
  });

  test('says magnetic only where a magnet is listed', () => {
    expect(html).toContain('Sticks to the magnets in the list: bearing 608');
    const hardware = WEEKEND.hardware.filter(({ item }) => !item.name.includes('magnet'));
    expect(renderPage({ plan: { ...WEEKEND, hardware } })).not.toContain('Sticks to the magnets');
  });

  test('is the same text for the same plan', () => {
    expect(renderPage({ plan: WEEKEND })).toBe(html);
  });

  test('of an empty plan still says that nothing is planned', () => {
    const page = renderPage({ plan: EMPTY });
    expect(page).toContain('No run is planned');
    expect(page).not.toMatch(/NaN|undefined|Infinity/);
  });

  test('holds no figure that is not a number', () => {
    expect(html).not.toMatch(/NaN|undefined|Infinity/);
  });
});

describe('contrast (WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text)', () => {
  const luminance = (hex: string): number => {
    const full = hex.length === 4 ? [...hex.slice(1)].map((c) => c + c) : hex.slice(1).match(/../g)!;
    const [r, g, b] = full.map((c) => {
      const v = Number.parseInt(c, 16) / 255;
      return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
  };
  const ratio = (a: string, b: string): number => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
    return (x! + 0.05) / (y! + 0.05);
  };
  const schemes = [...html.matchAll(/:root\{([^}]*--paper[^}]*)\}/g)].map((m) =>
    Object.fromEntries([...m[1]!.matchAll(/--(\w+):(#[0-9a-fA-F]+)/g)].map((t) => [t[1]!, t[2]!])),
  );

  test('holds for ink, soft text, accent and warnings on every ground they stand on, light, dark and in print', () => {
    expect(schemes).toHaveLength(3);
    for (const scheme of schemes) {
      const { ink = '', soft = '', accent = '', warn = '', warnbg = '', paper = '' } = scheme;
      for (const ground of ['paper', 'card', 'band', 'night', 'grid']) {
        expect(ratio(ink, scheme[ground]!)).toBeGreaterThanOrEqual(4.5);
        expect(ratio(soft, scheme[ground]!)).toBeGreaterThanOrEqual(4.5);
      }
      expect(ratio(accent, paper)).toBeGreaterThanOrEqual(4.5);
      expect(ratio(warn, warnbg)).toBeGreaterThanOrEqual(4.5);
      expect(ratio(warn, paper)).toBeGreaterThanOrEqual(4.5);
    }
  });
});

describe('cautions', () => {
  test('come with what they are about and stay away without it', () => {
    const all = cautionsOf(WEEKEND).join('\n');
    for (const word of [/unattended|nobody watches/, /ABS/, /magnets/, /Lithium/, /carried/]) expect(all).toMatch(word);
    const plain: Plan = { ...EMPTY, materials: [] };
    expect(cautionsOf(plain)).toEqual(WEEKEND.cautions);
  });

  test('that the plan states itself are not said again', () => {
    const own = 'Magnets: keep them away from the hall sensor.';
    const said = cautionsOf({ ...WEEKEND, cautions: [own] });
    expect(said[0]).toBe(own);
    expect(said.filter((text) => /magnet/i.test(text))).toEqual([own]);
  });
});

describe('the summary', () => {
  const inTime = (onTimeChance: number): string =>
    summaryOf({ ...WEEKEND, onTimeChance })
      .inTime.map((s) => s.text)
      .join('');

  test('turns with the chance of being in time', () => {
    expect(inTime(0.95)).toContain('; in time for');
    expect(inTime(0.6)).toContain('probably in time');
    expect(inTime(0.3)).toContain('probably not in time');
  });

  test('names spools to buy when the window needs them', () => {
    const buy = WEEKEND.buy.map((row) => (row.materialId === 'abs-white' ? { ...row, spools: 2 } : row));
    expect(
      summaryOf({ ...WEEKEND, buy })
        .buy.map((s) => s.text)
        .join(''),
    ).toBe('To buy for this plan: 2 spools of ABS white.');
  });
});

describe('Markdown', () => {
  test('closes every stretch of strong text where CommonMark lets it close (no space before the stars)', () => {
    for (const line of renderMarkdown(WEEKEND).split('\n')) {
      const parts = line.split('**');
      expect(parts.length % 2).toBe(1);
      parts.forEach((part, i) => {
        if (i % 2 === 1) expect(part).toBe(part.trim());
      });
    }
  });

  test('keeps tables whole and markup harmless', () => {
    const text = renderMarkdown(hostile({ ...WEEKEND, name: 'a | b' }));
    expect(text).not.toMatch(/<(?!\/?$)/);
    for (const block of text.split('\n\n').filter((b) => b.startsWith('|'))) {
      const bars = block.split('\n').map((line) => line.replace(/\\\|/g, '').match(/\|/g)!.length);
      expect(new Set(bars).size).toBe(1);
    }
  });
});
