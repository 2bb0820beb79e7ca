/** Which way a printed bound may be off: "at most" up, "at least" and "or more" down. */
export type BoundSide = 'up' | 'down';

/**
 * A figure to so many decimals on the safe side of what it stands for, so that the sentence that prints it as a bound holds of
 * the exact value too. What floating point leaves behind, a billionth, is no reason for the next digit.
 */
export function bound(value: number, side: BoundSide, decimals: number): number {
  if (!Number.isFinite(value)) return value;
  const unit = 10 ** decimals;
  const scaled = value * unit;
  const noise = 1e-9 * Math.max(1, Math.abs(scaled));
  return (side === 'up' ? Math.ceil(scaled - noise) : Math.floor(scaled + noise)) / unit + 0;
}

/** {@link bound} to so many significant digits, whole from there on, with at most three decimals. */
export function boundDigits(value: number, side: BoundSide, count: number): number {
  if (value === 0 || !Number.isFinite(value)) return value;
  return bound(value, side, Math.min(3, Math.max(0, count - 1 - Math.floor(Math.log10(Math.abs(value))))));
}
