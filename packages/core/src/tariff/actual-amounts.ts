/** What a written number may be: with a point for the decimals, with a comma, or either. */
type Notation = 'point' | 'comma' | 'comma-thousands' | 'both' | 'whole' | 'none';

/** An amount as bills print it: a sign, a currency before or behind, a minus behind, brackets, `CR` for a credit. */
const AMOUNT =
  /^(\()?\s*([+\-−])?\s*[^\d.,()+\-−]{0,4}\s*([+\-−])?\s*(\d[\d.,'’\s\u00a0\u202f]*|[.,]\d+)\s*([-−])?\s*([^\d()]{0,4}?)\s*(\))?$/u;

/** The digits of an amount, with a minus where it is a credit; '' where it is none. */
function digitsOf(cell: string): string {
  const match = AMOUNT.exec(cell.trim());
  if (match === null) return '';
  const [, open, before, between, digits, behind, unit, close] = match;
  const signs = [before, between, behind].filter((sign) => sign !== undefined && sign !== '+').length;
  const credit = signs + (open === undefined ? 0 : 1) + (/^cr\.?$/i.test(unit ?? '') ? 1 : 0);
  if (credit > 1 || (open === undefined) !== (close === undefined)) return '';
  // Spaces and apostrophes stand between thousands alone.
  const plain = digits!.trim().replace(/(?<=\d)['’\s\u00a0\u202f](?=\d{3}(?!\d))/g, '');
  return (credit === 1 ? '-' : '') + plain;
}

/**
 * The numbers of a column, NaN where there is none. A comma stands between thousands, or before the decimals of a whole
 * column where it doesn't delimit the cells; where neither is certain, the number's place holds the cure in words.
 */
export function numbersOf(cells: readonly string[], delimiter: string): (number | string)[] {
  const digits = cells.map(digitsOf);
  const notations = digits.map(notationOf);
  const point = notations.includes('point');
  const comma = notations.includes('comma') || notations.includes('comma-thousands');
  const cure = 'write decimals with a point and leave thousands unmarked, such as 1234.50';
  const delimits = delimiter === ',';
  return digits.map((number, k) => {
    const notation = notations[k]!;
    if (notation === 'none') return Number.NaN;
    if (notation === 'whole') return Number(number);
    if (notation === 'both' && comma && point)
      return `some rows of the column have a decimal point, some a decimal comma: ${cure}`;
    if (notation === 'comma-thousands' && !point) return Number(number.replaceAll('.', '').replace(',', '.'));
    if (notation === 'comma-thousands') return `other rows of the column have a decimal point: ${cure}`;
    if (notation === 'comma' && delimits) return `the comma delimits the columns of this file: ${cure}`;
    if (notation === 'comma' && point) return `other rows of the column have a decimal point: ${cure}`;
    if (notation === 'comma' || (comma && notation === 'both' && !delimits)) return Number(number.replace(',', '.'));
    if (notation === 'point' || point || delimits) return Number(number.replaceAll(',', ''));
    return `the comma may stand between thousands or before decimals: ${cure}`;
  });
}

function notationOf(number: string): Notation {
  if (/^[+-]?\d+$/.test(number)) return 'whole';
  if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(number)) return 'both';
  if (/^[+-]?\d{1,3}(\.\d{3})+,\d+$/.test(number)) return 'comma-thousands';
  if (/^[+-]?(\d*|\d{1,3}(,\d{3})+)\.\d+$/.test(number) || /^[+-]?\d{1,3}(,\d{3}){2,}$/.test(number)) return 'point';
  return /^[+-]?\d*,\d+$/.test(number) ? 'comma' : 'none';
}
