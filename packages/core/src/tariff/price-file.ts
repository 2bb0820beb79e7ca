import { aZone } from '../axis/inside.ts';
import { text as aText, check } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import { faultsOf, type XlsxDecoder } from '../meter/index.ts';
import { type PlainTable, plainTable, readMoney, spreadsheetOf, textOrBytes } from '../meter/inside.ts';
import type { PriceSeries } from './series.ts';

/**
 * Reads a file of prices per kWh: a time and a price in each row, by the rules of meter files. Starts carry an offset (or
 * Z), or are clock time of `zone`; dates, decimals and the hour that the clock repeats are read as in a meter file, gzip
 * and zip too. Prices that print their unit, `EUR/MWh` or `ct/kWh`, become money a kWh; a blank is a gap (NaN), which is
 * refused where the tariff needs it.
 *
 * @throws InputError `no-price-column` | `several-price-columns`, or what stands in the way of any file of readings
 */
export function parsePriceSeries(input: string | Uint8Array, zone: string, file: string): PriceSeries {
  check({ input, zone, file }, { input: textOrBytes, zone: aZone, file: aText });
  return pricesOf(input, { zone }, file);
}

/** {@link parsePriceSeries} of any file that holds a table: of a spreadsheet the sheet with prices. */
export async function readPriceSeries(
  bytes: Uint8Array,
  zone: string,
  file: string,
  xlsx: XlsxDecoder | undefined,
): Promise<PriceSeries> {
  if (spreadsheetOf(bytes) === undefined) return pricesOf(bytes, { zone }, file);
  const labelled = ({ decimal }: PlainTable) => ({ zone, ...(decimal === undefined ? {} : { decimal }) });
  const table = await plainTable(
    bytes,
    file,
    xlsx,
    (sheet) => readMoney(sheet.text, 'price', labelled(sheet)).column !== undefined,
  );
  return pricesOf(table.text, labelled(table), file);
}

function pricesOf(
  input: string | Uint8Array,
  labels: { readonly zone: string; readonly decimal?: '.' | ',' },
  file: string,
): PriceSeries {
  const read = readMoney(input, 'price', labels);
  const faults = faultsOf(file, read.findings);
  if (faults.length > 0) throw new InputError(faults);
  if (read.column === undefined)
    throw new InputError([
      {
        code: read.why === 'several-columns' ? 'several-price-columns' : 'no-price-column',
        where: { file },
        received: read.why === 'several-columns' ? 'several columns of prices' : 'no column that is named as a price',
        expected: 'one column of prices, such as "price" or "EUR/MWh"',
        hint: 'name the price column, and take out those of other prices',
      },
    ]);
  const { axis, values } = read.column;
  return { startEpochMs: axis.startEpochMs, stepMinutes: axis.stepMinutes, pricePerKwh: values };
}
