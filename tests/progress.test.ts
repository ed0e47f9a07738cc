import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { measureFiles, openEngine } from '@stonehand/engine';
import { mergeMeshes, transformMesh, writeStl } from '@stonehand/mesh';
import { expect, test } from 'vitest';
import { blockOf } from './helpers/messy-download.ts';
import { freshFolder, ROOT } from './helpers/stonehand.ts';

type Event = Readonly<{ label: string; done: number; total: number }>;

const block = blockOf([30, 20, 10], 1);
const pile = mergeMeshes(
  Array.from({ length: 1500 }, (_, i) => transformMesh(block, [1, 0, 0, 40 * i, 0, 1, 0, 0, 0, 0, 1, 0])),
);

async function eventsOf(files: number, workerFile?: string): Promise<readonly Event[]> {
  const folder = freshFolder('progress');
  const names = Array.from({ length: files }, (_, i) => join(folder, `pile-${i}.stl`));
  for (const [i, name] of names.entries()) writeFileSync(name, writeStl(pile, `pile ${i}`));
  const events: Event[] = [];
  const engine = openEngine({
    cacheFolder: join(folder, 'cache'),
    onProgress: (event) => events.push(event),
    workers: 2,
    ...(workerFile === undefined ? {} : { workerFile }),
  });
  const rows = await measureFiles(engine, names, {});
  await engine.close();
  expect(rows.every((row) => 'volumeMm3' in row)).toBe(true);
  return events.filter(({ label }) => label === 'measuring');
}

test('the bytes read of one large file move the progress on between nothing and done', async () => {
  const events = await eventsOf(1);
  const done = events.map((event) => event.done);
  expect(done[0]).toBe(0);
  expect(done.at(-1)).toBe(1);
  expect(done.filter((part) => part > 0 && part < 1).length).toBeGreaterThan(5);
  expect([...done].sort((a, b) => a - b)).toEqual(done);
});

test('on workers the last word is that all are done, and never more than that', async () => {
  // Alike files have one result: the headers differ, so the contents do.
  const events = await eventsOf(4, join(ROOT, 'packages/cli/dist/worker.js'));
  expect(events.at(-1)).toEqual({ label: 'measuring', done: 4, total: 4 });
  for (const { done } of events) expect(done).toBeLessThanOrEqual(4);
});
