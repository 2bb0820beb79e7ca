/**
 * Work arrays kept from one call to the next: fresh megabytes cost as much as the whole recursion. Holds one array
 * of each role, and no result of any call. An array is lent out once; who never gives it back merely costs a new one.
 */
type Scratch = Float64Array<ArrayBuffer> | Uint32Array<ArrayBuffer> | Uint8Array<ArrayBuffer>;
const spare = new Map<string, Scratch>();

/** Lends an array of at least `length` entries; what it holds is old. */
export function lendDoubles(role: string, length: number): Float64Array<ArrayBuffer> {
  const kept = spare.get(role);
  spare.delete(role);
  return kept instanceof Float64Array && kept.length >= length && kept.length <= 8 * length + 1024
    ? kept
    : new Float64Array(length);
}

/** The same for bytes. */
export function lendBytes(role: string, length: number): Uint8Array<ArrayBuffer> {
  const kept = spare.get(role);
  spare.delete(role);
  return kept instanceof Uint8Array && kept.length >= length && kept.length <= 8 * length + 1024
    ? kept
    : new Uint8Array(length);
}

/** The same for whole numbers. */
export function lendCounts(role: string, length: number): Uint32Array<ArrayBuffer> {
  const kept = spare.get(role);
  spare.delete(role);
  return kept instanceof Uint32Array && kept.length >= length && kept.length <= 8 * length + 1024
    ? kept
    : new Uint32Array(length);
}

/** Takes an array back. The caller reads it no more. */
export function giveBack(role: string, array: Float64Array | Uint32Array | Uint8Array): void {
  spare.set(role, array as Scratch);
}
