import type { Hatch } from './hatch.ts';

/** One continuous stroke over a hatch: x, y pairs. */
export type Stroke = Float64Array;

export type StrokeOptions = Readonly<{
  /** joins neighbouring lines at their ends into one path */
  linked: boolean;
  /** taken off both ends of every line (never more than leaves a tenth of it) */
  shortenMm: number;
}>;

/**
 * Strokes over the lines of a hatch, going to and fro. From the end of a line the walk goes on to the nearest unused line
 * on the next height when that starts within three spacings; then from the first unused line on. Unlinked, each line is a stroke
 * of its own but the order and directions are the same, so that travel stays short.
 */
export function strokesOf(lines: Hatch, { linked, shortenMm }: StrokeOptions): Stroke[] {
  const n = lines.line.length;
  const rowStart = rowStarts(lines.line);
  const used = new Uint8Array(n);
  const cos = Math.cos(lines.angleRad);
  const sin = Math.sin(lines.angleRad);
  const strokes: Stroke[] = [];
  let points: number[] = [];
  const flush = (): void => {
    if (points.length >= 4) strokes.push(Float64Array.from(points));
    points = [];
  };
  for (let from = 0; from < n; from++) {
    if (used[from]) continue;
    let at = from;
    let forward = true;
    for (;;) {
      used[at] = 1;
      const cut = Math.min(shortenMm, 0.45 * (lines.u1[at] - lines.u0[at]));
      const v = (lines.line[at] + lines.phase) * lines.spacingMm;
      const a = forward ? lines.u0[at] + cut : lines.u1[at] - cut;
      const b = forward ? lines.u1[at] - cut : lines.u0[at] + cut;
      points.push(a * cos - v * sin, a * sin + v * cos, b * cos - v * sin, b * sin + v * cos);
      if (!linked) flush();
      const next = nextLine(lines, rowStart, used, at, forward);
      if (next < 0) break;
      at = next;
      forward = !forward;
    }
    flush();
  }
  return strokes;
}

/** Index of the first segment of each height, from the first height on. */
function rowStarts(line: Int32Array): Uint32Array {
  const n = line.length;
  if (n === 0) return new Uint32Array(1);
  const rows = line[n - 1] - line[0] + 1;
  const start = new Uint32Array(rows + 1);
  for (let i = 0; i < n; i++) start[line[i] - line[0] + 1]++;
  for (let k = 0; k < rows; k++) start[k + 1] += start[k];
  return start;
}

function nextLine(lines: Hatch, rowStart: Uint32Array, used: Uint8Array, at: number, forward: boolean): number {
  const row = lines.line[at] - lines.line[0] + 1;
  if (row + 1 >= rowStart.length) return -1;
  const end = forward ? lines.u1[at] : lines.u0[at];
  let best = -1;
  let nearest = 3 * lines.spacingMm;
  for (let i = rowStart[row]; i < rowStart[row + 1]; i++) {
    if (used[i]) continue;
    // A link must not leave the region: the two lines have to lie side by side.
    if (lines.u0[i] > lines.u1[at] || lines.u1[i] < lines.u0[at]) continue;
    const gap = Math.abs((forward ? lines.u1[i] : lines.u0[i]) - end);
    if (gap <= nearest) {
      nearest = gap;
      best = i;
    }
  }
  return best;
}
