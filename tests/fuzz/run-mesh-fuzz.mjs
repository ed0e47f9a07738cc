// Reads damaged files and watches for what must never happen: another error than a clear line, a hang, memory without bounds.
import { Worker } from 'node:worker_threads';

/**
 * @param {string} format a key of SEEDS
 * @param {{ seed: string | number, cases: number, from?: number, capMs?: number }} options
 * @returns what was read and refused, crashes and hangs (both empty when all is well), the slowest case and the peak memory
 */
export async function runMeshFuzz(format, { seed, cases, from = 0, capMs = 5000 }) {
  const total = {
    format,
    cases,
    read: 0,
    refused: {},
    crashes: [],
    hangs: [],
    slowestMs: 0,
    slowestCase: -1,
    peakRssBytes: 0,
  };
  for (let next = from; next < from + cases; ) {
    const progress = new SharedArrayBuffer(4);
    const last = new Int32Array(progress);
    const worker = new Worker(new URL('mesh-worker.mjs', import.meta.url), {
      workerData: { format, seed, from: next, to: from + cases, progress },
    });
    const done = await watched(worker, last, capMs);
    if (done.tally !== undefined) {
      merge(total, done.tally);
      break;
    }
    // The case before which the thread stopped answering, or at which it died: note it and go on behind it.
    const index = Atomics.load(last, 0);
    (done.hang ? total.hangs : total.crashes).push(`case ${index}: ${done.hang ? `over ${capMs} ms` : done.error}`);
    next = index + 1;
  }
  return total;
}

function watched(worker, last, capMs) {
  return new Promise((resolve) => {
    let seen = -1;
    let since = performance.now();
    const timer = setInterval(() => {
      const index = Atomics.load(last, 0);
      if (index !== seen) [seen, since] = [index, performance.now()];
      else if (performance.now() - since > capMs) finish({ hang: true });
    }, 100);
    const finish = (result) => {
      clearInterval(timer);
      worker.terminate();
      resolve(result);
    };
    worker.on('message', (tally) => finish({ tally }));
    worker.on('error', (error) => finish({ error: String(error?.stack ?? error) }));
    worker.on('exit', (code) => finish({ error: `the thread ended with code ${code}` }));
  });
}

function merge(total, tally) {
  total.read += tally.read;
  for (const [code, n] of Object.entries(tally.refused)) total.refused[code] = (total.refused[code] ?? 0) + n;
  total.crashes.push(...tally.crashes);
  total.peakRssBytes = Math.max(total.peakRssBytes, tally.peakRssBytes);
  if (tally.slowestMs > total.slowestMs)
    Object.assign(total, { slowestMs: tally.slowestMs, slowestCase: tally.slowestCase });
}
