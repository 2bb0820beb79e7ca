// Kept answers: see tests/support/kept.ts. Dates, seasons and bills on both sides of what may be stated.
import { parseActualBills, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { keptEach } from '../../support/kept.ts';

const PLAIN = { format: 'duskbank.tariff/1', name: 'Plain', currency: 'USD' };
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
  ];
  const call = (row: string) => () => parseActualBills(`start,end,total,kwh\n${row}\n`, 'bills.csv');
  expect(await eachOf([...rows, ...others], call)).toMatchSnapshot();
});
