import type { PrintingLimit } from '@stonehand/engine';
import type { Finding } from '@stonehand/model';
import { listWords, wrapText } from '@stonehand/report';

/** What is doubtful about printing or joining parts: a mark, the part and printers, what and what to do. */
export function printingLines(limits: readonly PrintingLimit[], width: number): string[] {
  return limits.flatMap(({ what, printerIds, finding }) =>
    findingLines(finding, printerIds.length === 0 ? `${what}: ` : `${what} on ${listWords(printerIds)}: `, width),
  );
}

/** A finding with its mark, later lines under its beginning. */
export function findingLines({ severity, says, remedy }: Finding, where: string, width: number): string[] {
  const mark = severity === 'stop' ? '!' : severity === 'doubt' ? '?' : ' ';
  const lines = [where + says, ...(remedy === undefined ? [] : [remedy])].flatMap((text) => wrapText(text, width - 2));
  return lines.map((line, i) => `${i === 0 ? mark : ' '} ${line}`);
}
