const ESTIMATED_CODE = /^(?:e|est|s|f|e\d\d|s\d\d|f\d\d)$/i;

/** What was estimated or put in place of a reading, in the languages of `languages.ts`. */
export const ESTIMATED_WORDS =
  /estim|substitut|interpolat|edited|gesch(?:ä|ae|a)tzt|ersatzwert|geschat|stimat|szacow|ber(?:ä|ae)knad|anslået|anslatt/i;

/** Whether a quality cell or a note says that the value is no plain measurement. */
export function saysEstimated(cell: string | undefined): boolean {
  if (cell === undefined || cell === '') return false;
  const text = cell.trim();
  return (
    ESTIMATED_CODE.test(text) ||
    (ESTIMATED_WORDS.test(text) && !/\b(?:not|non|un|nicht|no|niet|ikke|ej)[- ]?(?:estim|gesch)/i.test(text))
  );
}
