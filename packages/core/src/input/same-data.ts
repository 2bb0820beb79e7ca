/** Whether two values hold the same data. A field that is undefined is as good as absent. */
export function sameData(a: unknown, b: unknown): boolean {
  if (Object.is(a, b)) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (ArrayBuffer.isView(a) || Array.isArray(a)) {
    const [one, two] = [a, b] as unknown as [ArrayLike<unknown>, ArrayLike<unknown>];
    if (Array.isArray(a) !== Array.isArray(b) || one.length !== two.length) return false;
    for (let i = 0; i < one.length; i++) if (!sameData(one[i], two[i])) return false;
    return true;
  }
  const keys = new Set([...Object.keys(a), ...Object.keys(b)]);
  for (const key of keys)
    if (!sameData((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key])) return false;
  return true;
}
