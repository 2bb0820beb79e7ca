// Kept answers: see tests/support/kept.ts. Dates, seasons and bills on both sides of what may be stated.
import { makeAxis } from '@duskbank/core/axis';
import { billTariff, compileTariff, parseActualBills, parseTariff, reconcileBills } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { keptEach } from '../../support/kept.ts';

const PLAIN = { format: 'duskbank.tariff/1', name: 'Plain', currency: 'USD' };
const NETTED = { kind: 'net-metering', within: 'period', surplusPerKwh: 0.03 };
const asTariff = (more: object) => () => parseTariff({ ...PLAIN, ...more }, 'tariff.json');
const eachOf = <T>(list: readonly T[], call: (one: T) => () => unknown) =>
  keptEach(Object.fromEntries(list.map((one) => [JSON.stringify(one), call(one)])));

const DAYS_OF_YEAR =
  '00-01 01-00 01-01 01-31 01-32 02-28 02-29 02-30 04-30 04-31 06-00 12-31 12-32 13-01 1-01 01-1'.split(' ');

test('a season from a day of the year, and to the day before', async () => {
  const call = (from: string) =>
    asTariff({
      seasons: [
        { name: 'one', from, to: '08-31' },
        { name: 'rest', from: '09-01', to: '12-31' },
      ],
      energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
    });
  expect(await eachOf(DAYS_OF_YEAR, call)).toMatchSnapshot();
});

type Span = readonly [from: string, to: string];
const SEASONS: readonly (readonly Span[])[] = [
  [['01-01', '12-31']],
  [
    ['03-01', '10-31'],
    ['11-01', '02-28'],
  ],
  [
    ['03-01', '10-31'],
    ['11-01', '02-29'],
  ],
  [
    ['03-01', '10-31'],
    ['10-31', '02-28'],
  ],
  [
    ['03-01', '10-31'],
    ['10-01', '03-31'],
  ],
  [
    ['03-01', '10-30'],
    ['11-01', '02-28'],
  ],
  [
    ['03-01', '06-30'],
    ['06-15', '10-31'],
    ['10-01', '03-10'],
  ],
];

test('seasons that meet, overlap by a day or by many, or leave days out', async () => {
  const call = (spans: readonly Span[]) =>
    asTariff({
      seasons: spans.map(([from, to], k) => ({ name: `s${k}`, from, to })),
      energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
    });
  expect(await eachOf(SEASONS, call)).toMatchSnapshot();
});

const later = (start: string, days: number) =>
  new Date(Date.parse(start) + days * 86_400_000).toISOString().slice(0, 10);

test('a bill of so many days, and with what energy and total', async () => {
  const rows = [-2, -1, 0, 1, 364, 1094, 1095, 1096, 1097, 1098, 1099, 1100, 1101, 1102, 2000].map(
    (days) => `2023-01-01,${later('2023-01-01', days)},41.2,300`,
  );
  const others = [
    ',2023-02-01,41.2,300',
    '2023-01-01,,41.2,300',
    ',,41.2,300',
    '2023-01-01,2023-01-31,,300',
    '2023-01-01,2023-01-31,-4,0',
    '2023-01-01,2023-01-31,4,-1',
    '2023-01-01,2023-01-31,4,',
    '2023-01-01,2023-01-31,0,0',
    '2023-01-01,,-41.2,',
    '2023-01-01,,(41.20),',
    '2023-01-01,,41.20-,',
    '2023-01-01,,41.20 CR,',
    '2023-01-01,,1-2,',
  ];
  const call = (row: string) => () => parseActualBills(`start,end,total,kwh\n${row}\n`, 'bills.csv');
  expect(await eachOf([...rows, ...others], call)).toMatchSnapshot();
});

test('bills of a home that sells by net metering, at so many times the prices, and of nothing', async () => {
  const tariff = parseTariff(
    { ...PLAIN, energy: [{ name: 'Energy', pricePerKwh: 0.2 }], export: NETTED, taxes: [{ name: 'Tax', percent: 10 }] },
    'tariff.json',
  );
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 90 * 24, zone: 'Etc/UTC' });
  const of = (from: number, to: number, kwh: number) =>
    Float64Array.from({ length: axis.intervals }, (_, i) => (i % 24 >= from && i % 24 < to ? kwh : 0));
  const FLOWS = {
    bought: { importKwh: of(0, 24, 0.5), exportKwh: of(0, 0, 0) },
    sold: { importKwh: of(0, 6, 0.3), exportKwh: of(10, 16, 1) },
    nothing: { importKwh: of(0, 0, 0), exportKwh: of(0, 0, 0) },
  };
  const calls: Record<string, () => unknown> = {};
  for (const [name, flows] of Object.entries(FLOWS))
    for (const times of [0, 0.5, 1, 1 / 1.1, 1.1, 1.25, 2, 3])
      calls[`${name}, ${times.toFixed(2)}`] = () => {
        const { periods } = billTariff(compileTariff(tariff, axis), flows);
        const actual = periods.map(({ start, end, total }) => ({
          start,
          end,
          total: Math.round(100 * times * total) / 100,
        }));
        return [reconcileBills(tariff, axis, {}, flows, actual)];
      };
  expect(await keptEach(calls)).toMatchSnapshot();
});
