/**
 * How to write a number with a decimal point that was written with a decimal comma, or with marks between its thousands; where
 * it may be either, both. Exactly three digits behind the only mark may be thousands or decimals.
 *
 * @returns such as `0.14`, `1200.00` or `4500 or 4.5`; undefined where the text is no such number
 * @example numberCure('1.200,00')
 */
export function numberCure(text: string): string | undefined {
  if (typeof text !== 'string') return undefined;
  const number = text.trim();
  // One mark with three digits behind it, and no zero before it: 0,140 is no thousand.
  const either = /^([+-]?[1-9]\d{0,2})[.,](\d{3})$/.exec(number);
  if (either !== null) {
    const [, whole, digits] = either as unknown as [string, string, string];
    return `${whole}${digits} or ${whole}.${digits.replace(/0{1,2}$/, '')}`;
  }
  if (/^[+-]?\d*,\d+$/.test(number)) return number.replace(',', '.').replace(/^([+-]?)\./, '$10.');
  for (const [thousands, point] of [
    ['\\.', ','],
    [',', '\\.'],
    ["[ '’\u00a0\u202f]", '[.,]'],
  ] as const) {
    const found = new RegExp(`^([+-]?[1-9]\\d{0,2}(?:${thousands}\\d{3})+)(?:${point}(\\d+))?$`).exec(number);
    if (found === null) continue;
    const whole = found[1]!.replace(/[^\d+-]/g, '');
    return found[2] === undefined ? whole : `${whole}.${found[2]}`;
  }
  return undefined;
}
