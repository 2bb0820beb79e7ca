// What a tariff says.
import { type Case, SITE, tariff } from './case.ts';

export const TARIFFS: readonly Case[] = [
  {
    name: 'tariff: binary',
    tariff: Uint8Array.of(1, 0, 2, 0),
    code: 'not-text',
    in: 'tariff.json',
    value: 'binary',
    hint: 'another file',
  },
  {
    name: 'tariff: a site file',
    tariff: JSON.stringify(SITE, null, 2),
    code: 'wrong-format',
    in: 'tariff.json',
    line: 2,
    field: 'format',
    value: 'duskbank.site/1',
    expected: 'duskbank.tariff/1',
    hint: 'no tariff file',
  },
  tariff(
    'another version',
    (t) => {
      t.format = 'duskbank.tariff/9';
    },
    { code: 'unknown-version', line: 2, field: 'format', value: 'duskbank.tariff/9', hint: 'another version' },
  ),
  tariff(
    'overlapping windows',
    (t) => {
      t.windows.splice(1, 0, { name: 'evening', from: '20:00', to: '22:00', pricePerKwh: 0.3 });
    },
    { code: 'window-overlap', field: 'windows[1].from', value: /"evening" over "peak"/, hint: 'move an edge' },
  ),
  tariff(
    'missing windows',
    (t) => {
      t.windows[1] = { name: 'night', from: '21:00', to: '06:00', pricePerKwh: 0.1 };
    },
    { code: 'window-missing', field: 'windows', value: '06:00–16:00', hint: 'otherwise' },
  ),
  tariff(
    'weekends forgotten',
    (t) => {
      t.windows[1] = { name: 'rest', days: 'weekday', from: '21:00', to: '16:00', pricePerKwh: 0.1 };
    },
    { code: 'window-missing', field: 'windows', value: /saturday/i, hint: 'widen a window' },
  ),
  tariff(
    'an hour that does not exist',
    (t) => {
      t.windows[0].to = '25:00';
    },
    { code: 'not-a-time', field: 'windows[0].to', value: '25:00', expected: '24:00' },
  ),
  tariff(
    'a price as text',
    (t) => {
      t.windows[0].pricePerKwh = '0.40 USD';
    },
    { code: 'wrong-type', line: 35, field: 'windows[0].pricePerKwh', value: '0.40 USD', expected: 'number' },
  ),
  tariff(
    'no price in a window',
    (t) => {
      delete t.windows[1].pricePerKwh;
    },
    { code: 'missing', field: 'windows[1].pricePerKwh', value: 'nothing', hint: 'add "pricePerKwh"' },
  ),
  tariff(
    'an unknown season',
    (t) => {
      t.windows[0].seasons = 'sumer';
    },
    { code: 'unknown-season', field: 'windows[0].seasons', value: 'sumer', hint: 'did you mean "summer"?' },
  ),
  tariff(
    'a month in no season',
    (t) => {
      t.seasons[1].months.pop();
    },
    { code: /season/.source, field: 'seasons', value: /5|May|05/, hint: /./ },
  ),
  tariff(
    'month 13',
    (t) => {
      t.seasons[0].months = [13];
    },
    { code: 'out-of-range', field: 'seasons[0].months[0]', value: '13', expected: 'at most 12' },
  ),
  tariff(
    'a date that does not exist',
    (t) => {
      t.holidays = [{ name: 'Leap', dates: ['2025-02-29'] }];
    },
    { code: 'not-a-date', field: 'holidays[0].dates[0]', value: '2025-02-29', expected: 'a date that exists' },
  ),
  tariff(
    'a holiday set misspelt',
    (t) => {
      t.holidays = ['us-sixx'];
    },
    { code: 'wrong-type', field: 'holidays[0]', value: 'us-sixx', expected: 'us-six' },
  ),
  tariff(
    'no currency that is known',
    (t) => {
      t.currency = 'usd';
    },
    { code: 'unknown-currency', field: 'currency', value: 'usd', hint: '"USD"' },
  ),
  tariff(
    'an unknown key',
    (t) => {
      t.windows[0].price = 0.4;
    },
    { code: 'unknown-key', field: 'windows[0].price', value: '"price"', hint: 'did you mean "pricePerKwh"?' },
  ),
  tariff(
    'fixed charge per fortnight',
    (t) => {
      t.fixed[0].per = 'fortnight';
    },
    { code: 'not-allowed', field: 'fixed[0].per', value: 'fortnight', expected: 'day, month' },
  ),
  tariff(
    'export of a kind unknown',
    (t) => {
      t.export = { kind: 'net-biling', pricePerKwh: 0.05 };
    },
    {
      code: 'not-allowed',
      field: 'export.kind',
      value: 'net-biling',
      expected: 'net-billing',
      hint: 'did you mean "net-billing"?',
    },
  ),
  tariff(
    'a tax on nothing known',
    (t) => {
      t.taxes = [{ name: 'Tax', percent: 3, on: ['enrgy'] }];
    },
    { code: 'unknown-line', field: 'taxes[0].on[0]', value: 'enrgy', hint: 'did you mean "energy"?' },
  ),
  tariff(
    'falling blocks',
    (t) => {
      delete t.windows;
      t.energy = [
        {
          name: 'E',
          blocks: [{ upToKwh: 300, pricePerKwh: 0.1 }, { upToKwh: 200, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }],
        },
      ];
    },
    {
      code: 'not-rising',
      field: 'energy[0].blocks[1].upToKwh',
      value: '200',
      expected: 'more than 300',
      hint: 'order',
    },
  ),
];
