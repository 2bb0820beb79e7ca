/**
 * What groups owe and what credit they leave, where the credit of one is carried into the next: with `in` carried into a
 * group, `due = max(0, counted − in)` and `left = max(0, in − counted)`.
 *
 * @param counted of each group, in the unit of the credit: money, or kWh
 * @param next the group that a credit is carried into, a later one; −1: it settles
 */
export function carryOver(
  counted: Float64Array,
  carriedIn: Float64Array,
  next: Int32Array,
): { due: Float64Array; left: Float64Array } {
  const due = new Float64Array(counted.length);
  const left = new Float64Array(counted.length);
  const carried = carriedIn.slice();
  for (let g = 0; g < counted.length; g++) {
    due[g] = Math.max(0, counted[g]! - carried[g]!);
    left[g] = Math.max(0, carried[g]! - counted[g]!);
    const into = next[g]!;
    if (into >= 0) carried[into] = carried[into]! + left[g]!;
  }
  return { due, left };
}
