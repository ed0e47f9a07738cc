/** Numbers that are added one by one without knowing how many will come; eight bytes each, no objects. */
export class NumberList {
  length = 0;
  private values = new Float64Array(48);

  push(value: number): void {
    if (this.length === this.values.length) {
      const more = new Float64Array(this.values.length * 2);
      more.set(this.values);
      this.values = more;
    }
    this.values[this.length++] = value;
  }

  at(index: number): number {
    return this.values[index];
  }

  clear(): void {
    this.length = 0;
  }

  toFloat64(): Float64Array {
    return this.values.slice(0, this.length);
  }

  toUint32(): Uint32Array {
    return Uint32Array.from(this.values.subarray(0, this.length));
  }
}
