// Runs cases one after the other in a thread of its own and tells before each which one it is.
import { parentPort, workerData } from 'node:worker_threads';
import { StonehandError } from '@stonehand/base';
import { readingOf, readMesh } from '@stonehand/mesh';
import { mutated } from './mutate.mjs';

const { format, seed, from, to } = workerData;
const tally = { read: 0, refused: {}, crashes: [], slowestMs: 0, slowestCase: -1, peakRssBytes: 0 };
const last = new Int32Array(workerData.progress);

for (let index = from; index < to; index++) {
  const { name, bytes } = mutated(format, seed, index);
  Atomics.store(last, 0, index);
  const started = performance.now();
  try {
    const file = await readMesh({ name, sizeBytes: bytes.length, read: reader(bytes) });
    const reading = readingOf(name, file, { unit: file.unit ?? 'mm', unitFrom: 'file' });
    if (!(reading.triangles > 0)) tally.crashes.push(`case ${index}: a result without triangles`);
    tally.read++;
  } catch (error) {
    if (
      error instanceof StonehandError &&
      error.code !== 'INTERNAL' &&
      /^[^\n]+$/.test(error.message) &&
      error.message.startsWith(name)
    ) {
      tally.refused[error.code] = (tally.refused[error.code] ?? 0) + 1;
    } else if (tally.crashes.length < 20) {
      tally.crashes.push(
        `case ${index}: ${error instanceof StonehandError ? JSON.stringify(error.message) : (error?.stack ?? error)}`,
      );
    }
  }
  const ms = performance.now() - started;
  if (ms > tally.slowestMs) Object.assign(tally, { slowestMs: ms, slowestCase: index });
  if (index % 64 === 0 || ms > 100) tally.peakRssBytes = Math.max(tally.peakRssBytes, process.memoryUsage.rss());
}
parentPort.postMessage(tally);

function reader(bytes) {
  return (into, at) => {
    const part = bytes.subarray(at, at + into.length);
    into.set(part);
    return part.length;
  };
}
