import { decodeDocument, InputError } from '@duskbank/core/input';
import { parseIntervalData } from '@duskbank/core/meter';
import { parseActualBills, parsePriceSeries, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { yaml } from '../../packages/cli/src/io/yaml.ts';

/**
 * No corner is slow: what is twice as long may take three times as long, and not four. Times are of the processor, the least of
 * several tries, so that a busy machine doesn't count.
 */

const start = Date.UTC(2026, 0, 1);
const stamp = (i: number) => new Date(start + i * 900_000).toISOString().slice(0, 16);
const dayOf = (k: number) => new Date(start + k * 86_400_000).toISOString().slice(0, 10);
const csv = (rows: number, row: (i: number) => string, header = 'start,import kWh') =>
  `${header}\n${Array.from({ length: rows }, (_, i) => row(i)).join('\n')}\n`;
const meter = (text: string) => parseIntervalData(new TextEncoder().encode(text), { zone: 'Etc/UTC' });

/** A kind of input, as long as is asked for, and its reader. */
type Kind = readonly [name: string, unit: number, read: (input: string) => unknown, make: (n: number) => string];

const document = (text: string) => decodeDocument(new TextEncoder().encode(text), 'site.yaml', yaml);
const feed = (inner: string) =>
  `<feed xmlns="http://www.w3.org/2005/Atom" xmlns:e="http://naesb.org/espi">${inner}</feed>`;
const reading = (i: number, seconds = 900) =>
  `<e:IntervalReading><e:timePeriod><e:duration>${seconds}</e:duration><e:start>${start / 1000 + i * 900}</e:start></e:timePeriod><e:value>100</e:value></e:IntervalReading>`;
const block = (inner: string) =>
  feed(
    `<entry><content><e:ReadingType><e:uom>72</e:uom><e:powerOfTenMultiplier>0</e:powerOfTenMultiplier></e:ReadingType></content></entry><entry><content><e:IntervalBlock>${inner}</e:IntervalBlock></content></entry>`,
  );
const tariff = (more: object) =>
  JSON.stringify({
    format: 'duskbank.tariff/1',
    name: 'T',
    currency: 'USD',
    windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }],
    ...more,
  });

const KINDS: readonly Kind[] = [
  ['rows of a meter file', 4000, meter, (n) => csv(n, (i) => `${stamp(i)},0.25`)],
  ['rows without a reading', 8000, meter, (n) => csv(n, (i) => (i < 200 ? `${stamp(i)},0.25` : 'x'))],
  ['rows of one time', 4000, meter, (n) => csv(n, (i) => `${stamp(i % 4)},0.25`)],
  ['rows in reverse', 4000, meter, (n) => csv(n, (i) => `${stamp(n - i)},0.25`)],
  [
    'columns of a meter file',
    400,
    meter,
    (n) => csv(60, (i) => `${stamp(i)}${',0.25'.repeat(n)}`, `start${',x'.repeat(n)}`),
  ],
  ['digits of a cell', 20_000, meter, (n) => csv(100, (i) => `${stamp(i)},${i === 50 ? '9'.repeat(n) : '0.25'}`)],
  [
    'blanks of a cell',
    20_000,
    meter,
    (n) => csv(100, (i) => `${stamp(i)},${i === 50 ? `1${' '.repeat(n)}x` : '0.25'}`),
  ],
  [
    'signs of a header',
    20_000,
    meter,
    (n) => csv(100, (i) => `${stamp(i)},0.25`, `start,${'kWh import '.repeat(n / 10)}`),
  ],
  ['points of a header', 20_000, meter, (n) => csv(100, (i) => `${stamp(i)},0.25`, `start,${'1.'.repeat(n)}`)],
  ['quotes of a row', 20_000, meter, (n) => csv(100, (i) => `${stamp(i)},${i === 50 ? '"'.repeat(n) : '0.25'}`)],
  ['kinds of rows', 2000, meter, (n) => csv(n, (i) => `${stamp(i)},kind ${i},0.25`, 'start,type,kWh')],
  ['readings of a feed', 2000, meter, (n) => block(Array.from({ length: n }, (_, i) => reading(i)).join(''))],
  ['seconds of one reading', 40_000_000, meter, (n) => block(reading(0, n) + reading(1) + reading(2))],
  ['elements of a feed', 10_000, meter, (n) => feed('<a/>'.repeat(n))],
  ['depth of a feed', 10_000, meter, (n) => feed(`${'<a>'.repeat(n)}${'</a>'.repeat(n)}`)],
  [
    'usage points of a feed',
    500,
    meter,
    (n) =>
      feed(
        Array.from(
          { length: n },
          (_, k) =>
            `<entry><link rel="self" href="/u/${k}"/><link rel="up" href="/u"/><content><e:UsagePoint><e:ServiceCategory><e:kind>0</e:kind></e:ServiceCategory></e:UsagePoint></content></entry>`,
        ).join(''),
      ),
  ],
  [
    'days of NEM12',
    100,
    meter,
    (n) =>
      `100,NEM12,202601010000,A,B\n200,1,E1,1,E1,N1,1,kWh,30,\n${Array.from({ length: n }, (_, d) => `300,${new Date(start + d * 86_400_000).toISOString().slice(0, 10).replaceAll('-', '')}${',0.5'.repeat(48)},A,,,,`).join('\n')}\n900\n`,
  ],
  [
    'rows of prices',
    4000,
    (text) => parsePriceSeries(text, 'Etc/UTC', 'p.csv'),
    (n) => csv(n, (i) => `${stamp(i)}Z,0.25`, 'start,price per kWh'),
  ],
  [
    'rows of bills',
    1000,
    (text) => parseActualBills(text, 'b.csv'),
    (n) =>
      csv(n, (i) => `${stamp(i * 3000).slice(0, 10)},${stamp(i * 3000 + 2900).slice(0, 10)},100.00`, 'from,to,amount'),
  ],
  ['depth of a document', 5000, document, (n) => `${'['.repeat(n)}${']'.repeat(n)}`],
  [
    'aliases of a document',
    500,
    document,
    (n) => `a: &a [1]\nb: [${Array.from({ length: n }, () => '*a').join(', ')}]\n`,
  ],
  [
    'aliases of aliases',
    10,
    document,
    (n) =>
      `${Array.from({ length: n }, (_, k) => `a${k}: &a${k} [${k === 0 ? 'x' : `*a${k - 1}, *a${k - 1}, *a${k - 1}`}]`).join('\n')}\n`,
  ],
  ['keys of a document', 1000, document, (n) => Array.from({ length: n }, (_, k) => `key${k}: 1`).join('\n')],
  ['a long text of a document', 50_000, document, (n) => `a: ${'x '.repeat(n)}\nb: [\n`],
  [
    'fields that a tariff does not have',
    400,
    (text) => parseTariff(JSON.parse(text)),
    (n) => tariff(Object.fromEntries(Array.from({ length: n }, (_, k) => [`pricesPerKwh${k}`, 1]))),
  ],
  [
    'windows of a tariff',
    200,
    (text) => parseTariff(JSON.parse(text)),
    (n) =>
      tariff({
        windows: Array.from({ length: n }, (_, k) => ({ name: `w${k}`, from: '00:00', to: '01:00', pricePerKwh: 0.2 })),
      }),
  ],
  [
    'holidays of a tariff',
    400,
    (text) => parseTariff(JSON.parse(text)),
    (n) => tariff({ holidays: Array.from({ length: n }, (_, k) => ({ name: `h${k}`, date: '2026-01-01' })) }),
  ],
  [
    'read dates of a tariff',
    8000,
    (text) => parseTariff(JSON.parse(text)),
    (n) => tariff({ billing: { by: 'read-dates', dates: Array.from({ length: n }, (_, k) => dayOf(3 * k)) } }),
  ],
  [
    'events of a tariff',
    8000,
    (text) => parseTariff(JSON.parse(text)),
    (n) =>
      tariff({
        events: Array.from({ length: n }, (_, k) => ({
          name: `e${k}`,
          dates: [dayOf(k)],
          from: '14:00',
          to: '18:00',
          adderPerKwh: 0.3,
        })),
      }),
  ],
  [
    'letters of a name',
    1_000_000,
    (text) => parseTariff(JSON.parse(text)),
    (n) => tariff({ windows: [{ name: 'a '.repeat(n), otherwise: true, pricePerKwh: 0.2 }] }),
  ],
];

/** Processor time of one reading, ms: the least of some tries. */
function cpuMs(read: (input: string) => unknown, input: string): number {
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3; k++) {
    const before = process.cpuUsage();
    try {
      read(input);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
    }
    const { user, system } = process.cpuUsage(before);
    least = Math.min(least, (user + system) / 1000);
  }
  return least;
}

/** Below this no growth can be told from noise, ms. */
const FLOOR_MS = 8;

describe('twice as much takes at most three times as long', () => {
  test.each(KINDS)('%s', (_, unit, read, make) => {
    const inputs = [unit, 2 * unit, 4 * unit].map(make);
    // The engine is warmed up on the first.
    cpuMs(read, inputs[0]!);
    const ms = inputs.map((input) => Math.max(FLOOR_MS, cpuMs(read, input)));
    expect(ms[2]! / ms[0]!, ms.map((value) => value.toFixed(1)).join(', ')).toBeLessThanOrEqual(9);
    expect(ms[2]!).toBeLessThan(5000);
  });
});
