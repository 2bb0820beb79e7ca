/** The number that a text of the command line states in decimals; NaN for another notation, as of hexadecimal numbers. */
export function numberIn(text: string): number {
  return /^\s*[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?\s*$/i.test(text) ? Number(text) : Number.NaN;
}
