import { type ByteSource, readFully } from './byte-source.ts';

const SPACE = 32;
const NEWLINE = 10;
const RETURN = 13;
const BACKSLASH = 92;

const BLOCK_BYTES = 1 << 18;

/** No token of a mesh file is longer, names apart: at least so much is in memory when a token starts. */
const LONGEST_TOKEN = 512;

/**
 * A forward scanner over a text of any size: one block in memory, tokens read from its bytes, lines counted.
 * Made for mesh files, where nearly everything is a number: splitting into strings was five times slower
 * (DECISIONS.md "Text by bytes").
 */
export class TextScanner {
  /** of the next token, from 1 */
  line = 1;
  readonly name: string;
  private readonly source: ByteSource;
  private readonly bytes: Uint8Array;
  private pos = 0;
  private end = 0;
  private readAt: number;
  private ended = false;

  constructor(source: ByteSource, from = 0, blockBytes: number = BLOCK_BYTES) {
    this.source = source;
    this.name = source.name;
    this.readAt = from;
    // Small files get a small block; a zero byte after the last one stops every loop.
    this.bytes = new Uint8Array(Math.min(blockBytes, Math.max(source.sizeBytes - from, 0) + 1024) + 1);
    this.refill();
  }

  /** Bytes taken from the source so far, for progress. */
  get bytesRead(): number {
    return this.readAt - (this.end - this.pos);
  }

  /** Skips blanks and line ends; true at the end of the text. */
  atEnd(): boolean {
    for (;;) {
      const { bytes } = this;
      let p = this.pos;
      while (p < this.end && bytes[p] <= SPACE) {
        if (bytes[p] === NEWLINE) this.line++;
        p++;
      }
      this.pos = p;
      if (this.end - p >= LONGEST_TOKEN || this.ended) return p >= this.end;
      this.refill();
    }
  }

  /** Skips blanks inside the line, and line ends after a backslash; true at the end of the line or of the text. */
  atLineEnd(): boolean {
    for (;;) {
      if (this.end - this.pos < LONGEST_TOKEN && !this.ended) this.refill();
      const c = this.bytes[this.pos];
      if (this.pos >= this.end || c === NEWLINE) return true;
      if (c === BACKSLASH && this.lineJoins()) continue;
      if (c > SPACE) return false;
      this.pos++;
    }
  }

  /** Goes to the start of the next line. */
  skipLine(): void {
    for (;;) {
      const { bytes, end } = this;
      let p = this.pos;
      while (p < end && bytes[p] !== NEWLINE) p++;
      this.pos = p;
      if (p < end) {
        this.pos++;
        this.line++;
        return;
      }
      if (this.ended) return;
      this.refill();
    }
  }

  /** Takes the word (lower-case ASCII letters) if it stands here in any case, followed by a blank or the end. */
  take(word: Uint8Array): boolean {
    const { bytes } = this;
    const p = this.pos;
    for (let i = 0; i < word.length; i++) if ((bytes[p + i] | 0x20) !== word[i]) return false;
    if (bytes[p + word.length] > SPACE) return false;
    this.pos = p + word.length;
    return true;
  }

  /** The token here as text, without taking it. */
  peek(): string {
    let p = this.pos;
    while (p < this.end && this.bytes[p] > SPACE && p - this.pos < LONGEST_TOKEN) p++;
    return latin(this.bytes, this.pos, p);
  }

  /** Takes the token here as text. */
  word(): string {
    const word = this.peek();
    this.pos += word.length;
    return word;
  }

  /** Skips the token here. */
  skipWord(): void {
    let p = this.pos;
    while (p < this.end && this.bytes[p] > SPACE) p++;
    this.pos = p;
  }

  /** The rest of the line as text without blanks around it; the line end stays. */
  restOfLine(): string {
    if (this.end - this.pos < LONGEST_TOKEN && !this.ended) this.refill();
    let p = this.pos;
    while (p < this.end && this.bytes[p] !== NEWLINE) p++;
    const text = new TextDecoder().decode(this.bytes.subarray(this.pos, p)).trim();
    this.pos = p;
    return text;
  }

  /**
   * The number here, correctly rounded, taken only if it is followed by a blank or the end (or by `/` where `slash`).
   * @returns NaN, with nothing taken, when there is none; ±Infinity when it is too large
   */
  number(slash = false): number {
    const { bytes } = this;
    let p = this.pos;
    let c = bytes[p];
    const negative = c === 45;
    if (negative || c === 43) c = bytes[++p];
    let mantissa = 0;
    let digits = 0;
    let scale = 0;
    const first = p;
    while (c >= 48 && c <= 57) {
      mantissa = mantissa * 10 + (c - 48);
      if (mantissa !== 0) digits++;
      c = bytes[++p];
    }
    let any = p > first;
    if (c === 46) {
      c = bytes[++p];
      const point = p;
      while (c >= 48 && c <= 57) {
        mantissa = mantissa * 10 + (c - 48);
        if (mantissa !== 0) digits++;
        c = bytes[++p];
      }
      scale = point - p;
      any = any || p > point;
    }
    if (!any) return Number.NaN;
    if (c === 101 || c === 69) {
      c = bytes[++p];
      const minus = c === 45;
      if (minus || c === 43) c = bytes[++p];
      if (!(c >= 48 && c <= 57)) return Number.NaN;
      let exponent = 0;
      while (c >= 48 && c <= 57) {
        if (exponent < 100000) exponent = exponent * 10 + (c - 48);
        c = bytes[++p];
      }
      scale += minus ? -exponent : exponent;
    }
    if (c > SPACE && !(slash && c === 47)) return Number.NaN;
    const from = this.pos;
    this.pos = p;
    // Up to 15 digits and 10^±22 both parts are exact doubles, so one operation rounds correctly (Clinger 1990).
    if (digits <= 15 && scale >= -22 && scale <= 22) {
      const size = scale < 0 ? mantissa / TENS[-scale] : mantissa * TENS[scale];
      return negative ? -size : size;
    }
    return Number(latin(bytes, from, p));
  }

  private lineJoins(): boolean {
    let p = this.pos + 1;
    if (this.bytes[p] === RETURN) p++;
    if (this.bytes[p] !== NEWLINE) return false;
    this.pos = p + 1;
    this.line++;
    return true;
  }

  private refill(): void {
    const { bytes, pos, end } = this;
    bytes.copyWithin(0, pos, end);
    this.end = end - pos;
    this.pos = 0;
    const room = bytes.length - 1 - this.end;
    const got = readFully(this.source, bytes.subarray(this.end, this.end + room), this.readAt);
    this.end += got;
    this.readAt += got;
    this.ended = got < room;
    bytes[this.end] = 0;
  }
}

/** A word for TextScanner.take. */
export function keyword(word: string): Uint8Array {
  return new TextEncoder().encode(word);
}

const TENS: Float64Array = Float64Array.from({ length: 23 }, (_, i) => Number(`1e${i}`));

function latin(bytes: Uint8Array, from: number, to: number): string {
  let text = '';
  for (let p = from; p < to; p++) text += String.fromCharCode(bytes[p]);
  return text;
}
