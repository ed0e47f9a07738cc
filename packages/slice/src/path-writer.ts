import type { BeadKind, LayerPaths } from '@stonehand/model';
import { BEAD_KINDS } from './bead-section.ts';

/** Grows the flat arrays of LayerPaths while layers are written one after the other. */
export class PathWriter {
  private xy = new Float32Array(1 << 14);
  private starts = new Uint32Array(1 << 10);
  private kinds = new Uint8Array(1 << 10);
  private closedFlags = new Uint8Array(1 << 10);
  private widths = new Float32Array(1 << 10);
  private points = 0;
  private paths = 0;
  private readonly layerStart: number[] = [0];

  /** Points from … to − 1 of xy, beginning at point `first` (closed paths) or running backwards (open ones). */
  add(
    xy: ArrayLike<number>,
    from: number,
    to: number,
    style: PathStyle,
    { first = from, backwards = false }: PathTurn = {},
  ): void {
    const n = to - from;
    this.reserve(n);
    let at = 2 * this.points;
    for (let k = 0; k < n; k++) {
      let i = first + k;
      if (i >= to) i -= n;
      if (backwards) i = to - 1 - k;
      this.xy[at++] = xy[2 * i];
      this.xy[at++] = xy[2 * i + 1];
    }
    this.points += n;
    this.kinds[this.paths] = BEAD_KINDS.indexOf(style.kind);
    this.closedFlags[this.paths] = style.closed ? 1 : 0;
    this.widths[this.paths] = style.widthMm;
    this.starts[++this.paths] = this.points;
  }

  endLayer(): void {
    this.layerStart.push(this.paths);
  }

  finish(bottomMm: number, topMm: Float64Array): LayerPaths {
    return {
      bottomMm,
      topMm,
      layerStart: Uint32Array.from(this.layerStart),
      pathStart: this.starts.slice(0, this.paths + 1),
      kind: this.kinds.slice(0, this.paths),
      closed: this.closedFlags.slice(0, this.paths),
      xyMm: this.xy.slice(0, 2 * this.points),
      widthMm: this.widths.slice(0, this.paths),
    };
  }

  private reserve(points: number): void {
    if (2 * (this.points + points) > this.xy.length) {
      const larger = new Float32Array(Math.max(2 * this.xy.length, 2 * (this.points + points)));
      larger.set(this.xy);
      this.xy = larger;
    }
    if (this.paths + 2 <= this.starts.length) return;
    const starts = new Uint32Array(2 * this.starts.length);
    starts.set(this.starts);
    this.starts = starts;
    for (const key of ['kinds', 'closedFlags'] as const) {
      const larger = new Uint8Array(starts.length);
      larger.set(this[key]);
      this[key] = larger;
    }
    const widths = new Float32Array(starts.length);
    widths.set(this.widths);
    this.widths = widths;
  }
}

export type PathStyle = Readonly<{ kind: BeadKind; closed: boolean; widthMm: number }>;
export type PathTurn = Readonly<{ first?: number; backwards?: boolean }>;
