import { createRequire } from 'node:module';
import type { SingleBar } from 'cli-progress';

export interface ProgressBar {
  update(event: Readonly<{ label: string; done: number; total: number }>): void;
  stop(): void;
}

/** A bar on a terminal, nothing in a pipe. One line, replaced by the next stage. */
export function progressBar(wanted: boolean): ProgressBar {
  if (!wanted) return { update: () => undefined, stop: () => undefined };
  let bar: SingleBar | undefined;
  let label = '';
  const stop = (): void => {
    bar?.stop();
    bar = undefined;
  };
  return {
    update(event) {
      if (bar === undefined || event.label !== label) {
        stop();
        label = event.label;
        const { SingleBar: Bar } = createRequire(import.meta.url)('cli-progress') as typeof import('cli-progress');
        bar = new Bar({
          format: '{label} {bar} {count}',
          barCompleteChar: '█',
          barIncompleteChar: '·',
          barsize: 24,
          clearOnComplete: true,
          hideCursor: false,
          stream: process.stderr,
        });
        bar.start(event.total, event.done, { label: event.label.padEnd(28), count: countOf(event) });
      } else {
        bar.update(event.done, { count: countOf(event) });
      }
    },
    stop,
  };
}

// A large file moves the bar by the bytes read of it.
function countOf({ done, total }: Readonly<{ done: number; total: number }>): string {
  const percent = `${Math.floor((100 * done) / total)} %`;
  return total === 1 ? percent : `${percent} of ${total}`;
}
