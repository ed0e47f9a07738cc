import type { PrintingLimit } from '@stonehand/engine';
import { listWords, wrapText } from '@stonehand/report';

/** What is doubtful about printing or joining parts: a mark, the part and printers, what and what to do. */
export function printingLines(limits: readonly PrintingLimit[], width: number): string[] {
  return limits.flatMap(({ what, printerIds, finding: { severity, says, remedy } }) => {
    const where = printerIds.length === 0 ? what : `${what} on ${listWords(printerIds)}`;
    const mark = severity === 'stop' ? '!' : '?';
    const [first, ...rest] = wrapText(`${mark} ${where}: ${says}`, width - 2);
    const below = remedy === undefined ? rest : [...rest, ...wrapText(remedy, width - 2)];
    return [first!, ...below.map((line) => `  ${line}`)];
  });
}
