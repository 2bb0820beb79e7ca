/**
 * A mark of a meter or connection point by its number, the same in every file: enough to tell two of one home apart, and no
 * number of a customer. FNV-1a, 32 bit.
 */
export function pointMark(number: string): string {
  let hash = 0x811c9dc5;
  for (const char of number) {
    hash ^= char.codePointAt(0)!;
    hash = Math.imul(hash, 0x01000193);
  }
  return (hash >>> 0).toString(16).padStart(8, '0');
}
