import { plainLine } from './escape.ts';
import { textWidth, wrapText } from './text-table.ts';

/** Text with a first mark, later lines under its beginning. */
export function hanging(mark: string, text: string, width: number): string[] {
  const indent = textWidth(mark);
  return wrapText(plainLine(text), Math.max(10, width - indent)).map(
    (l, i) => (i === 0 ? mark : ' '.repeat(indent)) + l,
  );
}
