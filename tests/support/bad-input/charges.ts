// What a tariff charges and credits.
import { type Case, tariff } from './case.ts';

export const CHARGES: readonly Case[] = [
  tariff(
    'block without an end in the middle',
    (t) => {
      t.windows = undefined;
      t.energy = [
        {
          name: 'E',
          blocks: [
            { pricePerKwh: 0.1 },
            {
              upToKwh: 500,
              pricePerKwh: 0.2,
            },
          ],
        },
      ];
    },
    {
      code: 'missing',
      field: 'energy[0].blocks[0].upToKwh',
      line: 40,
      value: 'nothing',
      expected: 'an upper end in every block but the last',
      hint: 'add "upToKwh"',
    },
  ),
  tariff(
    'last block with an end',
    (t) => {
      t.windows = undefined;
      t.energy = [
        {
          name: 'E',
          blocks: [
            {
              upToKwh: 100,
              pricePerKwh: 0.1,
            },
            {
              upToKwh: 500,
              pricePerKwh: 0.2,
            },
          ],
        },
      ];
    },
    {
      code: 'last-block',
      field: 'energy[0].blocks[1].upToKwh',
      line: 45,
      value: '500',
      expected: 'no upper end in the last block',
      hint: 'remove it, or add a block for what is above',
    },
  ),
  tariff(
    'blocks of a baseline that is not stated',
    (t) => {
      t.windows = undefined;
      t.energy = [
        {
          name: 'E',
          blocks: [
            {
              upToBaseline: 1,
              pricePerKwh: 0.1,
            },
            { pricePerKwh: 0.2 },
          ],
        },
      ];
    },
    {
      code: 'not-together',
      field: 'energy[0].blocks[0].upToBaseline',
      line: 41,
      value: '1',
      expected: '"baseline" in the tariff',
      hint: 'add "baseline": [{ "kwhPerDay": … }]',
    },
  ),
  tariff(
    'tiers for blocks',
    (t) => {
      t.energy = [
        {
          name: 'E',
          tiers: [],
        },
      ];
    },
    {
      code: 'unknown-key',
      field: 'energy[0].tiers',
      line: 53,
      value: 'the key "tiers"',
      expected: 'one of name, supplier, pricePerKwh, byWindow, windows, table',
      hint: 'did you mean "blocks", prices by how much is used? They stan',
    },
  ),
  tariff(
    'price in two forms',
    (t) => {
      t.energy = [
        {
          name: 'E',
          pricePerKwh: 0.1,
          byWindow: {
            peak: 1,
            rest: 2,
          },
        },
      ];
    },
    {
      code: 'not-together',
      field: 'energy[0].byWindow',
      line: 54,
      value: '{"peak":1,"rest":2}',
      expected: 'one form of price; "pricePerKwh" is there already',
      hint: 'keep one, and make the other a charge of its own',
    },
  ),
  tariff(
    'a price of an unknown window',
    (t) => {
      t.energy = [
        {
          name: 'E',
          byWindow: {
            peak: 0.1,
            night: 0.2,
          },
        },
      ];
    },
    {
      code: 'unknown-window',
      field: 'energy[0].byWindow.night',
      line: 55,
      value: '"night"',
      expected: 'a window: "peak", "rest"',
    },
  ),
  tariff(
    'a window left without price',
    (t) => {
      t.energy = [
        {
          name: 'E',
          byWindow: { peak: 0.1 },
        },
      ];
    },
    {
      code: 'missing',
      field: 'energy[0].byWindow.rest',
      line: 53,
      value: 'nothing',
      expected: 'a price for each window',
      hint: 'add "rest", 0 where it costs nothing',
    },
  ),
  tariff(
    'table of 23 hours',
    (t) => {
      t.energy = [
        {
          name: 'E',
          table: [
            {
              months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12],
              pricesByHour: Array(23).fill(0.1),
            },
          ],
        },
      ];
    },
    {
      code: 'out-of-range',
      field: 'energy[0].table[0].pricesByHour',
      line: 69,
      value: '[0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,…',
      expected: 'at least 24 entries',
    },
  ),
  tariff(
    'table with a month missing',
    (t) => {
      t.energy = [
        {
          name: 'E',
          table: [
            {
              months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
              pricesByHour: Array(24).fill(0.1),
            },
          ],
        },
      ];
    },
    {
      code: 'window-missing',
      field: 'energy[0].table',
      line: 53,
      value: 'no row for 00:00–24:00 on a monday',
      expected: 'each month and kind of day in exactly one row',
      hint: 'add the month or the days to the "months" or "days" of a row',
    },
  ),
  tariff(
    'series file missing',
    (t) => {
      t.energy = [
        {
          name: 'E',
          series: { file: 'prices.csv' },
        },
      ];
    },
    {
      code: 'file-missing',
      in: 'prices.csv',
      value: 'no file of this name',
      expected: 'a file that exists',
      hint: 'field "energy[0].series.file"',
    },
  ),
  tariff(
    'decimal comma',
    (t) => {
      t.windows[0].pricePerKwh = '0,40';
    },
    {
      code: 'wrong-type',
      field: 'windows[0].pricePerKwh',
      line: 35,
      value: '"0,40"',
      expected: 'a finite number',
      hint: 'write 0.40, without quotes',
    },
  ),
  tariff(
    'billing by cycle day without a day',
    (t) => {
      t.billing = { by: 'cycle-day' };
    },
    {
      code: 'missing',
      field: 'billing.day',
      line: 50,
      value: 'nothing',
      expected: 'the day of the month, 1 … 31',
      hint: 'add "day"',
    },
  ),
  tariff(
    'read dates without dates',
    (t) => {
      t.billing = { by: 'read-dates' };
    },
    {
      code: 'missing',
      field: 'billing.dates',
      line: 50,
      value: 'nothing',
      expected: 'the first day of each bill',
      hint: 'add "dates"',
    },
  ),
  tariff(
    'month of 27 days',
    (t) => {
      t.billing = { monthDays: 27 };
    },
    { code: 'out-of-range', field: 'billing.monthDays', line: 51, value: '27', expected: 'at least 28' },
  ),
  tariff(
    'rounding to 9 decimals',
    (t) => {
      t.rounding = { decimals: 9 };
    },
    { code: 'out-of-range', field: 'rounding.decimals', line: 51, value: '9', expected: 'at most 6' },
  ),
  tariff(
    'holiday the sixth Monday',
    (t) => {
      t.holidays = [
        {
          name: 'X',
          weekday: 'monday',
          nth: 6,
          month: 5,
        },
      ];
    },
    { code: 'out-of-range', field: 'holidays[0].nth', line: 54, value: '6', expected: 'at most 5' },
  ),
  tariff(
    'holiday on 30 February',
    (t) => {
      t.holidays = [
        {
          name: 'X',
          date: '02-30',
        },
      ];
    },
    {
      code: 'not-a-date',
      field: 'holidays[0].date',
      line: 53,
      value: '"02-30"',
      expected: 'a day of the year as "MM-DD", such as "06-01"',
    },
  ),
  tariff(
    'season from without to',
    (t) => {
      t.seasons[0] = {
        name: 'summer',
        from: '06-01',
      };
    },
    {
      code: 'missing',
      field: 'seasons[0].to',
      line: 6,
      value: 'nothing',
      expected: 'either "from" and "to", or "months"',
      hint: 'add "to"',
    },
  ),
  tariff(
    'two charges of one name',
    (t) => {
      t.energy = [
        {
          name: 'E',
          pricePerKwh: 0.1,
        },
        {
          name: 'E',
          pricePerKwh: 0.1,
        },
      ];
    },
    {
      code: 'duplicate-name',
      field: 'energy[1].name',
      line: 56,
      value: '"E"',
      expected: 'a name that no other charge of the list bears',
      hint: 'call it something else, or give the two different seasons',
    },
  ),
  tariff(
    'event without a price',
    (t) => {
      t.events = [
        {
          name: 'E',
          dates: ['2025-01-14'],
          from: '16:00',
          to: '20:00',
        },
      ];
    },
    {
      code: 'missing',
      field: 'events[0].pricePerKwh',
      line: 51,
      value: 'nothing',
      expected: 'one of "pricePerKwh", "adderPerKwh" and "rebatePerKwh"',
      hint: 'add "pricePerKwh"',
    },
  ),
  tariff(
    'event in both forms',
    (t) => {
      t.events = [
        {
          name: 'E',
          dates: ['2025-01-14'],
          from: '16:00',
          to: '20:00',
          pricePerKwh: 1,
          adderPerKwh: 1,
        },
      ];
    },
    {
      code: 'not-together',
      field: 'events[0].adderPerKwh',
      line: 59,
      value: '1',
      expected: 'one of "pricePerKwh", "adderPerKwh" and "rebatePerKwh"',
      hint: 'keep one',
    },
  ),
  tariff(
    'event backwards',
    (t) => {
      t.events = [
        {
          name: 'E',
          dates: ['2025-01-14'],
          from: '20:00',
          to: '16:00',
          pricePerKwh: 1,
        },
      ];
    },
    {
      code: 'out-of-range',
      field: 'events[0].to',
      line: 57,
      value: '"16:00"',
      expected: 'a time after 20:00, on the same day',
      hint: 'split an event that goes on after midnight in two',
    },
  ),
  tariff(
    'demand without price',
    (t) => {
      t.demand = [{ name: 'D' }];
    },
    {
      code: 'missing',
      field: 'demand[0].pricePerKw',
      line: 51,
      value: 'nothing',
      expected: 'one of "pricePerKw", "pricePerKwDay" and "steps"',
      hint: 'add "pricePerKw"',
    },
  ),
  tariff(
    'demand averaged over 7 minutes',
    (t) => {
      t.demand = [
        {
          name: 'D',
          pricePerKw: 5,
          averagingMinutes: 7,
        },
      ];
    },
    {
      code: 'not-allowed',
      field: 'demand[0].averagingMinutes',
      line: 54,
      value: '7',
      expected: 'one of 5, 15, 30, 60',
    },
  ),
  tariff(
    'classes that fall',
    (t) => {
      t.demand = [
        {
          name: 'D',
          steps: [
            {
              upToKw: 10,
              amount: 5,
            },
            {
              upToKw: 5,
              amount: 9,
            },
            { amount: 20 },
          ],
        },
      ];
    },
    {
      code: 'not-rising',
      field: 'demand[0].steps[1].upToKw',
      line: 59,
      value: '5',
      expected: 'more than 10',
      hint: 'order classes by their upper ends',
    },
  ),
  tariff(
    'a ratchet of 110 %',
    (t) => {
      t.demand = [
        {
          name: 'D',
          pricePerKw: 5,
          ratchet: {
            share: 1.1,
            months: 12,
          },
        },
      ];
    },
    { code: 'out-of-range', field: 'demand[0].ratchet.share', line: 55, value: '1.1', expected: 'at most 1' },
  ),
  tariff(
    'demand per kVA without power factor',
    (t) => {
      t.demand = [
        {
          name: 'D',
          pricePerKw: 5,
          unit: 'kva',
        },
      ];
    },
    {
      code: 'not-allowed',
      field: 'demand[0].unit',
      line: 54,
      value: '"kva"',
      expected: 'one of kW, kVA',
      hint: 'did you mean "kVA"?',
    },
  ),
  tariff(
    'contract share without contract',
    (t) => {
      t.demand = [
        {
          name: 'D',
          pricePerKw: 5,
          contractShare: 0.8,
        },
      ];
    },
    {
      code: 'missing',
      in: 'site.json',
      field: 'account.contractKw',
      value: 'nothing',
      expected: 'the home’s contractKw: the tariff’s "D" depends on it',
      hint: 'add it to the site file: "account": { "contractKw": … }',
    },
  ),
  tariff(
    'fixed by size without size',
    (t) => {
      t.fixed = [
        {
          name: 'F',
          byServiceSize: [
            {
              upToAmps: 100,
              amount: 5,
            },
            { amount: 9 },
          ],
        },
      ];
    },
    {
      code: 'missing',
      in: 'site.json',
      field: 'account.serviceAmps',
      value: 'nothing',
      expected: 'the home’s serviceAmps: the tariff’s "F" depends on it',
      hint: 'add it to the site file: "account": { "serviceAmps": … }',
    },
  ),
  tariff(
    'fixed amount and sizes',
    (t) => {
      t.fixed = [
        {
          name: 'F',
          amount: 3,
          byServiceSize: [{ amount: 9 }],
        },
      ];
    },
    {
      code: 'not-together',
      field: 'fixed[0].byServiceSize',
      line: 47,
      value: '[{"amount":9}]',
      expected: 'either "amount" or "byServiceSize"',
      hint: 'remove one of them',
    },
  ),
  tariff(
    'usage credit backwards',
    (t) => {
      t.usageCredits = [
        {
          name: 'U',
          amount: 5,
          leastKwh: 500,
          belowKwh: 400,
        },
      ];
    },
    {
      code: 'out-of-range',
      field: 'usageCredits[0].belowKwh',
      line: 55,
      value: '400',
      expected: 'more than "leastKwh"',
    },
  ),
  tariff(
    'export without price',
    (t) => {
      t.export = { kind: 'net-billing' };
    },
    {
      code: 'missing',
      field: 'export.pricePerKwh',
      line: 50,
      value: 'nothing',
      expected: 'a price: one of pricePerKwh, byWindow, windows, table, block',
      hint: 'add "pricePerKwh"',
    },
  ),
  tariff(
    'settle month without carry',
    (t) => {
      t.export = {
        kind: 'net-billing',
        pricePerKwh: 0.05,
        trueUpMonth: 4,
      };
    },
    {
      code: 'not-together',
      field: 'export.trueUpMonth',
      line: 53,
      value: '4',
      expected: '"carry" beside it',
      hint: 'add "carry": "money"',
    },
  ),
  tariff(
    'true-up month 13',
    (t) => {
      t.export = {
        kind: 'net-metering',
        carry: 'kwh',
        trueUpMonth: 13,
      };
    },
    { code: 'out-of-range', field: 'export.trueUpMonth', line: 53, value: '13', expected: 'at most 12' },
  ),
  tariff(
    'export price in net metering',
    (t) => {
      t.export = {
        kind: 'net-metering',
        pricePerKwh: 0.1,
      };
    },
    {
      code: 'unknown-key',
      field: 'export.pricePerKwh',
      line: 52,
      value: 'the key "pricePerKwh"',
      expected: 'one of kind, name, limitKw, within, carry, offsets, trueUpMo',
      hint: 'remove it',
    },
  ),
  tariff(
    'tax as a share',
    (t) => {
      t.taxes = [
        {
          name: 'VAT',
          percent: -200,
        },
      ];
    },
    { code: 'out-of-range', field: 'taxes[0].percent', line: 53, value: '-200', expected: 'at least -100' },
  ),
  tariff(
    'minimum bill negative',
    (t) => {
      t.minimumBill = { amount: -5 };
    },
    { code: 'out-of-range', field: 'minimumBill.amount', line: 51, value: '-5', expected: 'at least 0' },
  ),
  tariff(
    'version before the first',
    (t) => {
      t.versions = [{ from: '2025-02-01' }, { from: '2025-01-01' }];
    },
    {
      code: 'not-rising',
      field: 'versions[1].from',
      line: 55,
      value: '"2025-01-01"',
      expected: 'a date after the version before',
      hint: 'order versions by date',
    },
  ),
  tariff(
    'version without a day',
    (t) => {
      t.versions = [{ note: 'x' }];
    },
    {
      code: 'missing',
      field: 'versions[0].from',
      line: 51,
      value: 'nothing',
      expected: 'a text in quotes',
      hint: 'add "from"',
    },
  ),
  tariff(
    'life that ends before it begins',
    (t) => {
      t.life = { endsOn: '2024-99-01' };
    },
    {
      code: 'not-a-date',
      field: 'life.endsOn',
      line: 51,
      value: '"2024-99-01"',
      expected: 'a date that exists, such as "2026-03-31"',
    },
  ),
  tariff(
    'weekday misspelt',
    (t) => {
      t.windows[0].days = 'weekdays';
    },
    {
      code: 'wrong-type',
      field: 'windows[0].days',
      line: 32,
      value: '"weekdays"',
      expected: 'one of monday, tuesday, wednesday, thursday, friday, saturda',
    },
  ),
  tariff(
    'name too long',
    (t) => {
      t.name = 'x'.repeat(5e3);
    },
    {
      code: 'out-of-range',
      field: 'name',
      line: 3,
      value: 'a text of 5000 characters, not shown',
      expected: 'at most 80 characters',
    },
  ),
  tariff(
    'rounding misspelt',
    (t) => {
      t.rounding = { at: 'total' };
    },
    { code: 'not-allowed', field: 'rounding.at', line: 51, value: '"total"', expected: 'one of line, bill, never' },
  ),
];
