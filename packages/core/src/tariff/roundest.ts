/** The roundest number beside a fitted one under which everything still fits. */
export function roundest(value: number, decimals: readonly number[], fits: (value: number) => boolean): number {
  for (const d of decimals) {
    const rounded = Number(value.toFixed(d));
    if (rounded !== 0 && fits(rounded)) return rounded;
  }
  return value;
}
