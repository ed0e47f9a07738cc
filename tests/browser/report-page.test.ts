import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { posePng, renderPage } from '@stonehand/report';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { MESHES, WEEKEND } from '../../packages/report/test/fixture.ts';
import { CHROMIUM, launchBrowser, PAGE_SCRIPT } from './browser.ts';

describe.skipIf(CHROMIUM === undefined)(
  'the page in a browser, opened from disk (skipped where no Chromium is installed)',
  () => {
    let browser: Browser;
    let folder: string;
    let url: string;
    const complaints: string[] = [];

    beforeAll(async () => {
      folder = mkdtempSync(join(tmpdir(), 'stonehand-page-'));
      const pictures = Object.fromEntries([...MESHES].slice(0, 4).map(([id, mesh]) => [id, posePng(mesh)]));
      writeFileSync(join(folder, 'plan.html'), renderPage({ plan: WEEKEND, pictures, view: { script: PAGE_SCRIPT } }));
      url = pathToFileURL(join(folder, 'plan.html')).href;
      browser = await launchBrowser();
    });
    afterAll(async () => {
      await browser?.close();
      rmSync(folder, { recursive: true, force: true });
    });

    const open = async (width: number, colorScheme: 'light' | 'dark' = 'light'): Promise<Page> => {
      const page = await browser.newPage({ viewport: { width, height: 900 }, colorScheme });
      page.on('console', (message) => complaints.push(message.text()));
      page.on('pageerror', (error) => complaints.push(error.message));
      page.on('request', (request) => {
        if (!/^(file|data):/.test(request.url())) complaints.push(`asks the network for ${request.url()}`);
      });
      await page.goto(url);
      return page;
    };

    test.each([360, 400, 700, 768, 880, 1024, 1280])('does not scroll sideways at %i px', async (width) => {
      const page = await open(width);
      const wide = await page.evaluate(() => {
        const limit = document.documentElement.clientWidth;
        const main = document.querySelector('main')!;
        const edge = main.getBoundingClientRect().right - Number.parseFloat(getComputedStyle(main).paddingRight);
        return {
          sideways: document.documentElement.scrollWidth - limit,
          beyond: [...document.querySelectorAll('main table')].filter((t) => t.getBoundingClientRect().right > edge + 1)
            .length,
          images: [...document.images].every((i) => !i.complete || i.naturalWidth > 0),
        };
      });
      expect(wide).toEqual({ beyond: 0, sideways: 0, images: true });
      await page.close();
    });

    test('draws all plates to one scale', async () => {
      const page = await open(1280);
      const scales = await page.evaluate(() =>
        [...document.querySelectorAll('.sheet figure > svg')].map(
          (svg) => svg.getBoundingClientRect().width / Number(svg.getAttribute('viewBox')!.split(' ')[2]),
        ),
      );
      expect(scales).toHaveLength(WEEKEND.plates.length);
      for (const scale of scales) expect(scale / scales[0]!).toBeCloseTo(1, 3);
      await page.close();
    });

    test('keeps a row of what to do on one line at 1280 px, and the times whole at 400 px', async () => {
      for (const width of [400, 1280]) {
        const page = await open(width);
        const lines = await page.evaluate(() => {
          const tall = (e: Element): number =>
            e.getBoundingClientRect().height / Number.parseFloat(getComputedStyle(e).lineHeight);
          return {
            times: [...document.querySelectorAll('.todo time')].map(tall),
            rows: [...document.querySelectorAll('.todo li > span:last-child')].map(tall),
          };
        });
        for (const time of lines.times) expect(time).toBeLessThan(1.6);
        if (width === 1280) for (const row of lines.rows) expect(row).toBeLessThan(1.6);
        await page.close();
      }
    });

    test('prints tables as tables within the page of A4', async () => {
      const page = await open(688); // 210 mm less two margins of 14 mm, at 96 px an inch
      await page.emulateMedia({ media: 'print' });
      const print = await page.evaluate(() => ({
        beyond: [...document.querySelectorAll('main table, main svg')].filter(
          (e) => e.getBoundingClientRect().right > window.innerWidth + 1,
        ).length,
        cells: getComputedStyle(document.querySelector('table.stack td')!).display,
      }));
      expect(print).toEqual({ beyond: 0, cells: 'table-cell' });
      await page.close();
    });

    test('prints plates at 1 : 4 of a millimetre, as it says', async () => {
      const page = await open(1280);
      await page.emulateMedia({ media: 'print' });
      const pxPerMm = await page.evaluate(() => {
        const svg = document.querySelector('.sheet figure > svg')!;
        return svg.getBoundingClientRect().width / Number(svg.getAttribute('viewBox')!.split(' ')[2]);
      });
      expect((pxPerMm / 96) * 25.4).toBeCloseTo(0.25, 3); // CSS: 96 px an inch
      await page.close();
    });

    test('tells by keyboard where a figure came from', async () => {
      const page = await open(400, 'dark');
      await page.locator('abbr.from').first().focus();
      const said = await page.evaluate(() => getComputedStyle(document.activeElement!, '::after').content);
      expect(said).toContain('from ');
      await page.close();
    });

    test('makes no complaint and no request', () => {
      expect(complaints).toEqual([]);
    });
  },
);
