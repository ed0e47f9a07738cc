/** Whole numbers as bytes: seven bits a byte, low first (LEB128); signed ones zigzag, so that small steps either way are short. */
export class ByteWriter {
  private bytes: Uint8Array = new Uint8Array(1024);
  private length = 0;

  unsigned(value: number): void {
    if (this.length + 5 > this.bytes.length) this.grow();
    let rest = value >>> 0;
    while (rest >= 0x80) {
      this.bytes[this.length++] = (rest & 0x7f) | 0x80;
      rest >>>= 7;
    }
    this.bytes[this.length++] = rest;
  }

  signed(value: number): void {
    this.unsigned((value << 1) ^ (value >> 31));
  }

  /** A length or coordinate in mm, to a thousandth. */
  micrometres(mm: number): void {
    this.signed(Math.round(mm * 1000));
  }

  finish(): Uint8Array {
    return this.bytes.slice(0, this.length);
  }

  private grow(): void {
    const more = new Uint8Array(2 * this.bytes.length);
    more.set(this.bytes);
    this.bytes = more;
  }
}

export class ByteReader {
  private at = 0;
  private readonly bytes: Uint8Array;

  constructor(bytes: Uint8Array) {
    this.bytes = bytes;
  }

  unsigned(): number {
    let value = 0;
    for (let shift = 0; ; shift += 7) {
      const byte = this.bytes[this.at++]!;
      value |= (byte & 0x7f) << shift;
      if (byte < 0x80) return value >>> 0;
    }
  }

  signed(): number {
    const value = this.unsigned();
    return (value >>> 1) ^ -(value & 1);
  }

  micrometres(): number {
    return this.signed() / 1000;
  }
}
