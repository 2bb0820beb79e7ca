/** Whether two values hold the same data. A field that is undefined is as good as absent. */
export function sameData(a: unknown, b: unknown): boolean {
  return same(a, b, new Map());
}

/** @param known pairs that were looked at: data of ours shares its parts, and each pair is looked at once */
function same(a: unknown, b: unknown, known: Map<object, object>): boolean {
  if (Object.is(a, b)) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (known.get(a) === b) return true;
  known.set(a, b);
  if (ArrayBuffer.isView(a) || ArrayBuffer.isView(b)) return sameNumbers(a, b);
  if (Array.isArray(a) || Array.isArray(b))
    return Array.isArray(a) && Array.isArray(b) && a.length === b.length && a.every((one, k) => same(one, b[k], known));
  const [one, two] = [a as Record<string, unknown>, b as Record<string, unknown>];
  for (const key of Object.keys(one)) if (!same(one[key], two[key], known)) return false;
  for (const key of Object.keys(two)) if (!(key in one) && two[key] !== undefined) return false;
  return true;
}

function sameNumbers(a: object, b: object): boolean {
  if (Object.prototype.toString.call(a) !== Object.prototype.toString.call(b)) return false;
  const [one, two] = [a as Float64Array, b as Float64Array];
  if (one.length !== two.length) return false;
  for (let i = 0; i < one.length; i++) if (one[i] !== two[i] && !Object.is(one[i], two[i])) return false;
  return true;
}
