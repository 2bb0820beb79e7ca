type Lent = Float64Array<ArrayBuffer> | Uint32Array<ArrayBuffer> | Uint8Array<ArrayBuffer>;

/**
 * Work arrays kept from one plan to the next: fresh megabytes cost a tenth of the whole recursion. Holds one array of
 * each role, and no result of any plan. An array is lent out once; who never gives it back merely costs a new one.
 * Whoever solves many problems in a row makes one and hands it to each; it must not be shared between two that run at
 * the same time.
 */
export class Scratch {
  readonly #spare = new Map<string, Lent>();

  /** Lends an array of at least `length` entries; what it holds is old. */
  doubles(role: string, length: number): Float64Array<ArrayBuffer> {
    const kept = this.#take(role, length);
    return kept instanceof Float64Array ? kept : new Float64Array(length);
  }

  /** The same for bytes. */
  bytes(role: string, length: number): Uint8Array<ArrayBuffer> {
    const kept = this.#take(role, length);
    return kept instanceof Uint8Array ? kept : new Uint8Array(length);
  }

  /** The same for whole numbers. */
  counts(role: string, length: number): Uint32Array<ArrayBuffer> {
    const kept = this.#take(role, length);
    return kept instanceof Uint32Array ? kept : new Uint32Array(length);
  }

  /** Takes an array back. The caller reads it no more. */
  giveBack(role: string, array: Float64Array | Uint32Array | Uint8Array): void {
    this.#spare.set(role, array as Lent);
  }

  /** The array kept for a role, where it is long enough and not many times too long. */
  #take(role: string, length: number): Lent | undefined {
    const kept = this.#spare.get(role);
    this.#spare.delete(role);
    return kept !== undefined && kept.length >= length && kept.length <= 8 * length + 1024 ? kept : undefined;
  }
}

/** Work arrays to hand to many calls of `optimalDispatch`, one after the other. */
export function makeScratch(): Scratch {
  return new Scratch();
}
