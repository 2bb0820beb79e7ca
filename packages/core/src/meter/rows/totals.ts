import { UNITS, type Unit } from '../options.ts';
import type { TotalsRow } from '../readings.ts';
import { isPrice, unitOf, wordsOf } from '../table/header.ts';
import { readNumber, readWithUnit } from '../table/numbers.ts';

/** Whether a row's first text, or what stands in place of its time, says that the row sums up others, or is a mean or an end of them. */
export function isTotalsRow(text: string): boolean {
  return (
    wordsOf(text).includes('total') ||
    /\b(?:total|totaal|(?:gesamt|zwischen|end)?sum|somme|soma|subtotal|average|max|min|gesamt(?!verbrauch)|insgesamt|razem)/i.test(
      text,
    )
  );
}

/** A total of these is none of energy, and a mean is no sum. */
const NO_ENERGY =
  /\b(?:average|mean|max(?:imum)?|min(?:imum)?|days?|rows?|records?|readings?|intervals?|count|number|hours?|cost|price|amount|charges?|bill(?:ed)?|fees?|tax|tariff|export|production|solar)\b|[$€£]/;

/** The total of a day, no total of how many days there are. */
const OF_A_DAY = /\b(?:day total|total (?:\w{1,3} )*day)\b/;

/** The totals of energy in a row that names itself one, each in its column of values. */
export function totalsOf(
  cells: readonly string[],
  line: number,
  values: readonly { readonly column: number }[],
  decimalComma: boolean,
): TotalsRow[] {
  const texts = cells.filter((cell) => cell.trim() !== '' && Number.isNaN(readNumber(cell, decimalComma)));
  const label = texts.join(' ');
  if (NO_ENERGY.test(wordsOf(label).join(' ').replace(OF_A_DAY, 'total')) || isPrice(label)) return [];
  const own = texts.map(unitOf).find((unit) => unit !== undefined);
  const totals = cells.flatMap((cell, column): TotalsRow[] => {
    const { total, unit = own } = readTotal(cell, decimalComma);
    if (!(Math.abs(total) > 0)) return [];
    const decimals = /[.,](\d+)\D*$/.exec(cell.trim())?.[1]?.length ?? 0;
    return [
      { line, column: column + 1, total, rounding: 0.5 / 10 ** decimals, ...(unit === undefined ? {} : { unit }) },
    ];
  });
  const placed = totals.filter(({ column }) => values.some((value) => value.column + 1 === column));
  // A row that leaves out the fields of date and time has its one number further to the left.
  const [only] = totals;
  if (placed.length === 0 && totals.length === 1 && values.length === 1)
    return [{ ...only!, column: values[0]!.column + 1 }];
  return placed;
}

function readTotal(cell: string, decimalComma: boolean): { total: number; unit?: Unit } {
  const total = readNumber(cell, decimalComma);
  if (!Number.isNaN(total)) return { total };
  for (const unit of UNITS) {
    const withUnit = readWithUnit(cell, unit, decimalComma);
    if (!Number.isNaN(withUnit)) return { total: withUnit, unit };
  }
  return { total: Number.NaN };
}

/** The sum of totals of one row, as one in a column of its own. */
export function sumOfTotals(totals: readonly TotalsRow[], column: number): TotalsRow[] {
  const [first] = totals;
  if (first === undefined) return [];
  const sum = (of: 'total' | 'rounding') => totals.reduce((all, each) => all + each[of], 0);
  return [{ ...first, column, total: sum('total'), rounding: sum('rounding') }];
}
