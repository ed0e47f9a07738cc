import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { posePng, renderPage } from '@stonehand/report';
import { packShape } from '@stonehand/view';
import axe from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { MESHES, WEEKEND } from '../../packages/report/test/fixture.ts';
import { CHROMIUM, launchBrowser, PAGE_SCRIPT } from './browser.ts';

const SKULL = 'heron/head/skull';

describe.skipIf(CHROMIUM === undefined)(
  'choosing parts and looking at them (skipped where no Chromium is installed)',
  () => {
    let browser: Browser;
    let folder: string;
    let url: string;
    const complaints: string[] = [];

    beforeAll(async () => {
      folder = mkdtempSync(join(tmpdir(), 'stonehand-look-'));
      const pictures = Object.fromEntries([...MESHES].slice(0, 4).map(([id, mesh]) => [id, posePng(mesh)]));
      const shapes = Object.fromEntries(
        await Promise.all(
          [...MESHES].map(async ([id, mesh]) => [id, Buffer.from(await packShape(mesh)).toString('base64')] as const),
        ),
      );
      const page = renderPage({ plan: WEEKEND, pictures, view: { script: PAGE_SCRIPT, shapes } });
      writeFileSync(join(folder, 'plan.html'), page);
      url = pathToFileURL(join(folder, 'plan.html')).href;
      browser = await launchBrowser();
    }, 60_000);
    afterAll(async () => {
      await browser?.close();
      rmSync(folder, { recursive: true, force: true });
    });

    const open = async (
      hash: string,
      { width = 1280, dark = false }: Readonly<{ width?: number; dark?: boolean }> = {},
    ): Promise<Page> => {
      const page = await browser.newPage({
        viewport: { width, height: 900 },
        colorScheme: dark ? 'dark' : 'light',
        reducedMotion: 'reduce',
      });
      page.on('console', (message) => {
        // The software renderer warns of its own slowness.
        if (!/GPU stall|GL Driver Message/.test(message.text())) complaints.push(message.text());
      });
      page.on('pageerror', (error) => complaints.push(error.message));
      page.on('request', (request) => {
        if (!/^(file|data|blob):/.test(request.url())) complaints.push(`asks the network for ${request.url()}`);
      });
      await page.goto(url + hash);
      return page;
    };
    const shownRows = (page: Page): Promise<string[]> =>
      page.evaluate(() =>
        [...document.querySelectorAll<HTMLElement>('#part-table tbody tr')]
          .filter((row) => row.offsetParent !== null)
          .map((row) => row.dataset['piece']!),
      );
    /** How many different colours the canvas holds, and whether its middle differs from its corner. */
    const painted = (page: Page): Promise<{ colours: number; middle: number[]; corner: number[] }> =>
      page.evaluate(async () => {
        await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
        const canvas = document.querySelector<HTMLCanvasElement>('#look canvas')!;
        const copy = document.createElement('canvas');
        copy.width = canvas.width;
        copy.height = canvas.height;
        const pen = copy.getContext('2d')!;
        pen.drawImage(canvas, 0, 0);
        const { data } = pen.getImageData(0, 0, copy.width, copy.height);
        const colours = new Set<number>();
        for (let i = 0; i < data.length; i += 4)
          colours.add((data[i]! << 24) | (data[i + 1]! << 16) | (data[i + 2]! << 8) | data[i + 3]!);
        const at = (x: number, y: number): number[] => [
          ...data.slice(4 * (y * copy.width + x), 4 * (y * copy.width + x) + 4),
        ];
        return { colours: colours.size, middle: at(copy.width >> 1, copy.height >> 1), corner: at(3, 3) };
      });

    test('filters the parts from the keyboard, and shows all again', async () => {
      const page = await open('');
      await page.getByRole('searchbox').focus();
      await page.keyboard.type('shin petg');
      expect(await shownRows(page)).toHaveLength(2);
      await page.keyboard.press('Control+A');
      await page.keyboard.press('Delete');
      expect(await shownRows(page)).toHaveLength(WEEKEND.parts.length);
      await page.close();
    });

    test('keeps a choice in the address, and finds it again there', async () => {
      const page = await open('');
      await page.getByRole('combobox', { name: 'assembly' }).selectOption('heron/legs');
      const chosen = await shownRows(page);
      expect(chosen.length).toBeGreaterThan(0);
      expect(chosen.every((id) => id.startsWith('heron/legs/'))).toBe(true);
      const hash = await page.evaluate(() => location.hash);
      await page.close();
      const again = await open(hash);
      expect(await shownRows(again)).toEqual(chosen);
      await again.close();
    });

    test('sorts by hours, and the other way round at the second press', async () => {
      const page = await open('');
      // A part that comes from elsewhere has no hours of ours.
      const hours = WEEKEND.parts.map(({ id, pieceIds }) =>
        pieceIds.length === 0 ? 0 : WEEKEND.estimates.find(({ pieceId }) => pieceId === id)!.durationS.value,
      );
      const order = async (): Promise<number[]> =>
        (await shownRows(page)).map((id) => hours[WEEKEND.parts.findIndex((part) => part.id === id)]!);
      const head = page.getByRole('button', { name: 'printing' });
      await head.click();
      expect(await order()).toEqual([...hours].sort((a, b) => a - b));
      await head.click();
      expect(await order()).toEqual([...hours].sort((a, b) => b - a));
      expect(await page.locator('th[aria-sort]').count()).toBe(1);
      await page.close();
    });

    test.each([
      { width: 1280, dark: false },
      { width: 1280, dark: true },
      { width: 400, dark: false },
    ])('paints a piece in 3D by its own address at $width px, dark $dark', async (how) => {
      const page = await open(`#look=${encodeURIComponent(SKULL)}`, how);
      expect(await page.locator('#look').getAttribute('open')).not.toBeNull();
      const { colours, middle, corner } = await painted(page);
      expect(colours).toBeGreaterThan(50);
      expect(middle).not.toEqual(corner);
      const sideways = await page.evaluate(() => {
        const panel = document.querySelector('#look')!;
        return panel.scrollWidth - panel.clientWidth;
      });
      expect(sideways).toBe(0);
      await page.close();
    });

    test('turns, cuts at a layer and closes by keyboard alone', async () => {
      const page = await open('#parts');
      await page.locator(`a.look[href="#look=${encodeURIComponent(SKULL)}"]`).focus();
      await page.keyboard.press('Enter');
      // Nothing in a closed dialog takes the focus, and the address is followed a moment later.
      await page.locator('#look[open]').waitFor();
      await page.locator('#look canvas').focus();
      const view = (): Promise<Buffer> => page.locator('#look canvas').screenshot();
      const changes = (from: Buffer): Promise<void> =>
        expect.poll(async () => (await view()).equals(from), { timeout: 20_000 }).toBe(false);
      const before = await view();
      await page.keyboard.press('ArrowLeft');
      await page.keyboard.press('+');
      await changes(before);
      await page.locator('input[name=layer]').focus();
      const whole = await view();
      await page.keyboard.press('Home');
      await page.keyboard.press('PageUp');
      await changes(whole);
      expect(await page.locator('output[name=layer-says]').textContent()).toMatch(/^layer \d+ of \d+, top at /);
      await page.keyboard.press('Escape');
      expect(await page.locator('#look').getAttribute('open')).toBeNull();
      await page.waitForFunction(() => location.hash === '#parts');
      await page.close();
    }, 60_000);

    test('shows the picture and says so where a browser draws no 3D', async () => {
      const page = await browser.newPage();
      await page.addInitScript(() => {
        HTMLCanvasElement.prototype.getContext = () => null;
      });
      await page.goto(`${url}#look=${encodeURIComponent(SKULL)}`);
      expect(await page.locator('#look .nothing').textContent()).toContain('no 3D');
      expect(await page.locator('#look .nothing img').count()).toBe(1);
      await page.close();
    });

    test.each(['', `#look=${encodeURIComponent(SKULL)}`])(
      'gives an accessibility checker nothing serious to find at "%s" (axe-core, WCAG 2.2 A and AA)',
      async (hash) => {
        for (const dark of [false, true]) {
          const page = await open(hash, { dark });
          // The file's policy lets no foreign script run, so the checker is put in from outside the page.
          await page.evaluate(axe.source);
          const serious = await page.evaluate(async () => {
            const checker = (globalThis as unknown as { axe: typeof axe }).axe;
            const { violations } = await checker.run(document, {
              runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
            });
            return violations
              .filter(({ impact }) => impact === 'serious' || impact === 'critical')
              .map(({ id, nodes }) => `${id}: ${nodes[0]!.html}`);
          });
          expect(serious).toEqual([]);
          await page.close();
        }
      },
      60_000,
    );

    test('prints to PDF without the panel', async () => {
      const page = await open(`#look=${encodeURIComponent(SKULL)}`);
      const pdf = await page.pdf({ format: 'A4' });
      expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
      expect(pdf.length).toBeGreaterThan(20_000);
      await page.emulateMedia({ media: 'print' });
      expect(await page.locator('#look').isVisible()).toBe(false);
      await page.close();
    });

    test('makes no complaint and no request', () => {
      expect(complaints).toEqual([]);
    });
  },
);
