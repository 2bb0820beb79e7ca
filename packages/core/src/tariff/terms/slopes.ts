/** Adds each group's slope to the prices of its intervals. */
export function spreadSlopes(group: Int32Array, slope: Float64Array, into: Float64Array): void {
  for (let i = 0; i < group.length; i++) if (group[i]! >= 0) into[i] = into[i]! + slope[group[i]!]!;
}
