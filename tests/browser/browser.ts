import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Browser, chromium } from 'playwright-core';

/** The browser of this machine; undefined where there is none, and the tests that need it say so and skip. */
export const CHROMIUM: string | undefined = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
].find((path) => existsSync(path));

/** What `npm run build` makes of package view. */
export const PAGE_SCRIPT: string = readFileSync(join(import.meta.dirname, '../../packages/cli/dist/page.js'), 'utf8');

/** Without a graphics card: 3D is drawn by the browser's own software. */
export function launchBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: CHROMIUM!,
    args: [
      '--no-sandbox',
      '--disable-quic',
      '--use-gl=angle',
      '--use-angle=swiftshader',
      '--enable-unsafe-swiftshader',
      '--ignore-gpu-blocklist',
    ],
  });
}
