const ESTIMATED_CODE = /^(?:e|est|s|f|e\d\d|s\d\d|f\d\d)$/i;

export const ESTIMATED_WORDS = /estimat|substitut|interpolat|edited/i;

/** Whether a quality cell or a note says that the value is no plain measurement. */
export function saysEstimated(cell: string | undefined): boolean {
  if (cell === undefined || cell === '') return false;
  const text = cell.trim();
  return ESTIMATED_CODE.test(text) || (ESTIMATED_WORDS.test(text) && !/\b(?:not|non|un)[- ]?estimat/i.test(text));
}
