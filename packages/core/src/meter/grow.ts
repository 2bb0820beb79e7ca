/** A list of numbers that doubles its room: rows are counted only as they come. */
export class Grow {
  data: Float64Array;
  length = 0;

  constructor(capacity = 64) {
    this.data = new Float64Array(capacity);
  }

  push(value: number): void {
    if (this.length === this.data.length) {
      const wider = new Float64Array(Math.max(64, this.data.length * 2));
      wider.set(this.data);
      this.data = wider;
    }
    this.data[this.length++] = value;
  }

  /** The numbers held. */
  view(): Float64Array {
    return this.data.subarray(0, this.length);
  }
}
