import { describeIssue, formatPath, InputError, type InputIssue } from '@duskbank/core/input';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';

/** A tariff with something of everything, right in every field. */
function whole() {
  return {
    format: 'duskbank.tariff/1',
    name: 'Evening Saver',
    currency: 'USD',
    rounding: { at: 'line' },
    billing: { by: 'cycle-day', day: 17 },
    holidays: [
      'us-six',
      { name: 'Founders', date: '06-12', observed: 'none' },
      { name: 'Mayday', weekday: 'monday', nth: 1, month: 5 },
    ],
    seasons: [
      { name: 'summer', from: '06-01', to: '09-30' },
      { name: 'winter', from: '10-01', to: '05-31' },
    ],
    windows: [
      { name: 'on-peak', seasons: 'summer', days: ['weekday'], from: '16:00', to: '21:00', pricePerKwh: 0.4 },
      { name: 'on-peak', seasons: 'winter', days: ['weekday'], from: '17:00', to: '20:00', pricePerKwh: 0.3 },
      { name: 'off-peak', otherwise: true, pricePerKwh: 0.12 },
    ],
    baseline: [{ kwhPerDay: 11 }],
    energy: [
      { name: 'Fuel', pricePerKwh: 0.01 },
      {
        name: 'Step',
        blocks: [{ upToKwh: 300, pricePerKwh: 0.01 }, { upToKwh: 500, pricePerKwh: 0.02 }, { pricePerKwh: 0.03 }],
      },
      { name: 'Rider', byWindow: { 'on-peak': 0.02, 'off-peak': 0 } },
      { name: 'Spot', series: { file: 'spot.csv' } },
      { name: 'Hours', table: [{ pricesByHour: Array(24).fill(0.01) }] },
    ],
    events: [
      { name: 'Alert', dates: ['2026-07-07'], from: '16:00', to: '19:00', pricePerKwh: 1 },
      { name: 'Save', dates: ['2026-07-08'], from: '16:00', to: '19:00', rebatePerKwh: 1, baselineDays: 5 },
    ],
    demand: [
      { name: 'Demand', pricePerKw: 9, inWindows: 'on-peak', ratchet: { share: 0.8, months: 11 } },
      { name: 'Classes', steps: [{ upToKw: 5, amount: 4 }, { upToKw: 10, amount: 9 }, { amount: 20 }] },
    ],
    fixed: [
      { name: 'Customer charge', amount: 12 },
      { name: 'Service', byServiceSize: [{ upToAmps: 100, amount: 3 }, { amount: 8 }] },
    ],
    export: { kind: 'net-billing', pricePerKwh: 0.05, carry: 'money', trueUpMonth: 4 },
    adjustments: [{ name: 'Storm', percent: 1, on: ['energy'] }],
    minimumBill: { amount: 10, on: ['fixed'] },
    taxes: [{ name: 'Tax', percent: 2, on: ['all'] }],
    versions: [{ from: '2026-09-01', note: 'rise', fixed: [{ name: 'Customer charge', amount: 13 }] }],
    life: { endsOn: '2028-01-01' },
  };
}
type Whole = ReturnType<typeof whole>;
// biome-ignore lint/suspicious/noExplicitAny: the point is to write what the types forbid
type Mutate = (tariff: any) => void;

function faults(mutate: Mutate): readonly InputIssue[] {
  const tariff: Whole = whole();
  mutate(tariff);
  try {
    parseTariff(tariff, 'tariff.json');
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  return [];
}

const cases: [what: string, mutate: Mutate, code: string, path: string, received: string][] = [
  ['no format', (t) => delete t.format, 'missing', 'format', 'nothing'],
  [
    'a later major version',
    (t) => (t.format = 'duskbank.tariff/2'),
    'unknown-version',
    'format',
    '"duskbank.tariff/2"',
  ],
  ['a site file', (t) => (t.format = 'duskbank.site/1'), 'wrong-format', 'format', '"duskbank.site/1"'],
  ['no name', (t) => delete t.name, 'missing', 'name', 'nothing'],
  ['an empty name', (t) => (t.name = '  '), 'out-of-range', 'name', '"  "'],
  ['no currency', (t) => delete t.currency, 'missing', 'currency', 'nothing'],
  ['an unknown currency', (t) => (t.currency = 'USX'), 'unknown-currency', 'currency', '"USX"'],
  ['a currency in small letters', (t) => (t.currency = 'usd'), 'unknown-currency', 'currency', '"usd"'],
  ['an unknown key', (t) => (t.window = []), 'unknown-key', 'window', 'the key "window"'],
  ['an unknown key in a window', (t) => (t.windows[0].price = 1), 'unknown-key', 'windows[0].price', 'the key "price"'],
  [
    'a prototype key',
    (t) => Object.defineProperty(t.life, '__proto__', { value: {}, enumerable: true }),
    'forbidden-key',
    'life.__proto__',
    'the key "__proto__"',
  ],
  ['text for a price', (t) => (t.windows[1].pricePerKwh = '0.30'), 'wrong-type', 'windows[1].pricePerKwh', '"0.30"'],
  [
    'NaN for a price',
    (t) => (t.windows[1].pricePerKwh = Number.NaN),
    'wrong-type',
    'windows[1].pricePerKwh',
    'what is no number',
  ],
  [
    'an infinite price',
    (t) => (t.windows[1].pricePerKwh = Number.POSITIVE_INFINITY),
    'wrong-type',
    'windows[1].pricePerKwh',
    'an infinite number',
  ],
  [
    'a price beyond sense',
    (t) => (t.windows[1].pricePerKwh = 1e9),
    'out-of-range',
    'windows[1].pricePerKwh',
    '1000000000',
  ],
  ['a window without a price', (t) => delete t.windows[1].pricePerKwh, 'missing', 'windows[1].pricePerKwh', 'nothing'],
  [
    'a window with price and blocks',
    (t) => (t.windows[1].blocks = [{ pricePerKwh: 1 }]),
    'not-together',
    'windows[1].blocks',
    '[{"pricePerKwh":1}]',
  ],
  ['a time past midnight', (t) => (t.windows[0].to = '25:00'), 'not-a-time', 'windows[0].to', '"25:00"'],
  ['a time without a colon', (t) => (t.windows[0].from = '1600'), 'not-a-time', 'windows[0].from', '"1600"'],
  ['a time in words', (t) => (t.windows[0].from = '4 pm'), 'not-a-time', 'windows[0].from', '"4 pm"'],
  ['a window without an end', (t) => delete t.windows[0].to, 'missing', 'windows[0].to', 'nothing'],
  ['a window that begins at 24:00', (t) => (t.windows[0].from = '24:00'), 'out-of-range', 'windows[0].from', '"24:00"'],
  [
    'overlapping windows',
    (t) => t.windows.splice(2, 0, { name: 'mid', seasons: 'summer', from: '12:00', to: '16:30', pricePerKwh: 0.2 }),
    'window-overlap',
    'windows[2].from',
    '"mid" over',
  ],
  [
    'two windows for all other hours',
    (t) => t.windows.push({ name: 'rest', otherwise: true, pricePerKwh: 0.1 }),
    'window-overlap',
    'windows[3].otherwise',
    '"rest" over',
  ],
  [
    'hours without a window',
    (t) => (t.windows[2] = { name: 'off-peak', from: '21:00', to: '16:00', pricePerKwh: 0.1 }),
    'window-missing',
    'windows',
    'no window for',
  ],
  [
    'holidays without a window',
    (t) => (t.windows[2] = { name: 'off-peak', days: ['weekday', 'weekend'], otherwise: true, pricePerKwh: 0.1 }),
    'window-missing',
    'windows',
    'no window for',
  ],
  [
    'hours beside "otherwise"',
    (t) => Object.assign(t.windows[2], { from: '00:00', to: '16:00' }),
    'not-together',
    'windows[2].from',
    '"00:00"',
  ],
  ['an unknown day', (t) => (t.windows[0].days = ['wekday']), 'not-allowed', 'windows[0].days[0]', '"wekday"'],
  ['no days at all', (t) => (t.windows[0].days = []), 'out-of-range', 'windows[0].days', '[]'],
  ['an unknown season', (t) => (t.windows[0].seasons = 'sumer'), 'unknown-season', 'windows[0].seasons', '"sumer"'],
  ['a 13th month', (t) => (t.windows[0].months = [13]), 'out-of-range', 'windows[0].months[0]', '13'],
  ['an unknown kind of window', (t) => (t.windows[0].kind = 'high'), 'not-allowed', 'windows[0].kind', '"high"'],
  ['no windows', (t) => (t.windows = []), 'out-of-range', 'windows', '[]'],
  [
    'holiday hours without holidays',
    (t) => {
      delete t.holidays;
      t.windows[0].days = ['weekday', 'holiday'];
    },
    'not-together',
    'windows[0].days',
    '["weekday","holiday"]',
  ],
  ['seasons with a hole', (t) => (t.seasons[0].to = '09-29'), 'season-missing', 'seasons', 'no season for 09-30'],
  [
    'seasons that overlap',
    (t) => (t.seasons[0].from = '05-15'),
    'season-overlap',
    'seasons[1].from',
    '"winter" over "summer" on 05-15',
  ],
  ['a season without an end', (t) => delete t.seasons[0].to, 'missing', 'seasons[0].to', 'nothing'],
  ['a season by dates and months', (t) => (t.seasons[0].months = [6]), 'not-together', 'seasons[0].months', '[6]'],
  ['30 February', (t) => (t.seasons[0].from = '02-30'), 'not-a-date', 'seasons[0].from', '"02-30"'],
  ['an unknown list of holidays', (t) => (t.holidays[0] = 'us-sixx'), 'wrong-type', 'holidays[0]', '"us-sixx"'],
  ['a billing day that isn’t given', (t) => delete t.billing.day, 'missing', 'billing.day', 'nothing'],
  ['read dates that aren’t given', (t) => (t.billing = { by: 'read-dates' }), 'missing', 'billing.dates', 'nothing'],
  [
    'read dates out of order',
    (t) => (t.billing = { by: 'read-dates', dates: ['2026-02-01', '2026-01-01'] }),
    'not-rising',
    'billing.dates[1]',
    '"2026-01-01"',
  ],
  [
    'decimals of a scale that isn’t there',
    (t) => (t.billing.monthDecimals = 2),
    'not-together',
    'billing.monthDecimals',
    '2',
  ],
  [
    'blocks that fall',
    (t) => (t.energy[1].blocks[1].upToKwh = 200),
    'not-rising',
    'energy[1].blocks[1].upToKwh',
    '200',
  ],
  [
    'a block without an end',
    (t) => delete t.energy[1].blocks[0].upToKwh,
    'missing',
    'energy[1].blocks[0].upToKwh',
    'nothing',
  ],
  [
    'a last block with an end',
    (t) => (t.energy[1].blocks[2].upToKwh = 900),
    'last-block',
    'energy[1].blocks[2].upToKwh',
    '900',
  ],
  [
    'a block with two ends',
    (t) => (t.energy[1].blocks[0].upToBaseline = 1),
    'not-together',
    'energy[1].blocks[0].upToBaseline',
    '1',
  ],
  [
    'blocks of two kinds',
    (t) => {
      t.energy[1].blocks[1] = { upToKwhPerDay: 20, pricePerKwh: 1 };
    },
    'mixed-blocks',
    'energy[1].blocks[1].upToKwhPerDay',
    '20',
  ],
  [
    'a baseline that isn’t there',
    (t) => {
      delete t.baseline;
      t.energy[1].blocks = [{ upToBaseline: 1, pricePerKwh: 1 }, { pricePerKwh: 2 }];
    },
    'not-together',
    'energy[1].blocks[0].upToBaseline',
    '1',
  ],
  [
    'a block of nothing',
    (t) => (t.energy[1].blocks[0].upToKwh = 0),
    'out-of-range',
    'energy[1].blocks[0].upToKwh',
    '0',
  ],
  ['a charge without a price', (t) => delete t.energy[0].pricePerKwh, 'missing', 'energy[0].pricePerKwh', 'nothing'],
  [
    'a charge with two forms of price',
    (t) => (t.energy[2].pricePerKwh = 1),
    'not-together',
    'energy[2].byWindow',
    '{"on-peak":0.02,"off-peak":0}',
  ],
  [
    'a price for an unknown window',
    (t) => (t.energy[2].byWindow.onpeak = 1),
    'unknown-window',
    'energy[2].byWindow.onpeak',
    '"onpeak"',
  ],
  [
    'a window without its price',
    (t) => delete t.energy[2].byWindow['off-peak'],
    'missing',
    'energy[2].byWindow.off-peak',
    'nothing',
  ],
  ['two charges of one name', (t) => (t.energy[1].name = 'Fuel'), 'duplicate-name', 'energy[1].name', '"Fuel"'],
  [
    'a charge named as the windows’',
    (t) => (t.energy[0].name = 'Energy'),
    'duplicate-name',
    'energy[0].name',
    '"Energy"',
  ],
  ['a series without a file', (t) => delete t.energy[3].series.file, 'missing', 'energy[3].series.file', 'nothing'],
  [
    'a table of 23 hours',
    (t) => t.energy[4].table[0].pricesByHour.pop(),
    'out-of-range',
    'energy[4].table[0].pricesByHour',
    '[0.01,',
  ],
  [
    'table rows that overlap',
    (t) => t.energy[4].table.push({ months: 7, pricesByHour: Array(24).fill(1) }),
    'window-overlap',
    'energy[4].table[1].days',
    '"row 2" over',
  ],
  [
    'a table with a hole',
    (t) => (t.energy[4].table[0].months = [1, 2]),
    'window-missing',
    'energy[4].table',
    'no row for',
  ],
  [
    'blocks that reset without blocks',
    (t) => (t.energy[0].resets = 'day'),
    'not-together',
    'energy[0].resets',
    '"day"',
  ],
  ['an event without an effect', (t) => delete t.events[0].pricePerKwh, 'missing', 'events[0].pricePerKwh', 'nothing'],
  ['an event that ends before it begins', (t) => (t.events[0].to = '15:00'), 'out-of-range', 'events[0].to', '"15:00"'],
  [
    'an event on a day that isn’t',
    (t) => (t.events[0].dates = ['2026-02-29']),
    'not-a-date',
    'events[0].dates[0]',
    '"2026-02-29"',
  ],
  [
    'an event on the same day twice',
    (t) => t.events[0].dates.push('2026-07-07'),
    'duplicate-date',
    'events[0].dates[1]',
    '"2026-07-07"',
  ],
  [
    'a rebate without a baseline',
    (t) => delete t.events[1].baselineDays,
    'missing',
    'events[1].baselineDays',
    'nothing',
  ],
  ['a baseline without a rebate', (t) => (t.events[0].baselineKwh = 2), 'not-together', 'events[0].baselineKwh', '2'],
  ['demand without a price', (t) => delete t.demand[0].pricePerKw, 'missing', 'demand[0].pricePerKw', 'nothing'],
  [
    'demand in an unknown window',
    (t) => (t.demand[0].inWindows = 'peak'),
    'unknown-window',
    'demand[0].inWindows',
    '"peak"',
  ],
  [
    'averaging over 20 minutes',
    (t) => (t.demand[0].averagingMinutes = 20),
    'not-allowed',
    'demand[0].averagingMinutes',
    '20',
  ],
  ['a ratchet above 1', (t) => (t.demand[0].ratchet.share = 80), 'out-of-range', 'demand[0].ratchet.share', '80'],
  ['steps out of order', (t) => (t.demand[1].steps[1].upToKw = 4), 'not-rising', 'demand[1].steps[1].upToKw', '4'],
  [
    'a last step with an end',
    (t) => (t.demand[1].steps[2].upToKw = 99),
    'last-block',
    'demand[1].steps[2].upToKw',
    '99',
  ],
  ['a fixed charge without an amount', (t) => delete t.fixed[0].amount, 'missing', 'fixed[0].amount', 'nothing'],
  [
    'a fixed charge with both',
    (t) => (t.fixed[1].amount = 2),
    'not-together',
    'fixed[1].byServiceSize',
    '[{"upToAmps":100,"amount":3},{"amount":8}]',
  ],
  ['an unknown unit of a fixed charge', (t) => (t.fixed[0].per = 'week'), 'not-allowed', 'fixed[0].per', '"week"'],
  ['an unknown kind of export', (t) => (t.export.kind = 'netting'), 'not-allowed', 'export.kind', '"netting"'],
  ['a true-up without carry', (t) => delete t.export.carry, 'not-together', 'export.trueUpMonth', '4'],
  [
    'netting of several prices over the period',
    (t) => (t.export = { kind: 'net-metering', within: 'period' }),
    'several-prices',
    'export.within',
    '"period"',
  ],
  [
    'kWh carried on beside a table of months',
    (t) => {
      t.energy = [
        {
          name: 'Supply',
          table: [
            { months: [1, 2, 3, 4, 5, 6], pricesByHour: Array(24).fill(0.1) },
            { months: [7, 8, 9, 10, 11, 12], pricesByHour: Array(24).fill(0.2) },
          ],
        },
      ];
      t.export = { kind: 'net-metering', carry: 'kwh' };
    },
    'not-together',
    'energy[0].table',
    'a table whose prices change by month',
  ],
  [
    'kWh carried on over a table whose last row alone is for some months',
    (t) => {
      t.energy = [
        {
          name: 'Table',
          table: [{ pricesByHour: Array(24).fill(0.1) }, { months: [7, 8], pricesByHour: Array(24).fill(0.2) }],
        },
      ];
      t.export = { kind: 'net-metering', carry: 'kwh' };
    },
    'not-together',
    'energy[0].table',
    'a table whose prices change by month',
  ],
  [
    'net metering of a price series in kWh',
    (t) => (t.export = { kind: 'net-metering' }),
    'not-together',
    'energy[3].series',
    'a price series',
  ],
  [
    'blocks that start anew each day under net metering',
    (t) => {
      t.energy[1].resets = 'day';
      t.energy.splice(3, 1);
      t.export = { kind: 'net-metering' };
    },
    'not-together',
    'energy[1].resets',
    '"day"',
  ],
  ['a tax on an unknown line', (t) => (t.taxes[0].on = ['enrgy']), 'unknown-line', 'taxes[0].on[0]', '"enrgy"'],
  ['a tax of −200 %', (t) => (t.taxes[0].percent = -200), 'out-of-range', 'taxes[0].percent', '-200'],
  [
    'a minimum on an unknown line',
    (t) => (t.minimumBill.on = 'deliveries'),
    'unknown-line',
    'minimumBill.on',
    '"deliveries"',
  ],
  ['a negative minimum', (t) => (t.minimumBill.amount = -1), 'out-of-range', 'minimumBill.amount', '-1'],
  [
    'versions out of order',
    (t) => t.versions.push({ from: '2026-08-01' }),
    'not-rising',
    'versions[1].from',
    '"2026-08-01"',
  ],
  [
    'a fault in a later version',
    (t) => (t.versions[0].fixed[0].amount = 'much'),
    'wrong-type',
    'versions[0].fixed[0].amount',
    '"much"',
  ],
  [
    'windows of a later version with a hole',
    (t) => (t.versions[0].windows = [{ name: 'on-peak', from: '16:00', to: '21:00', pricePerKwh: 1 }]),
    'window-missing',
    'versions[0].windows',
    'no window for',
  ],
  ['rounding nowhere known', (t) => (t.rounding.at = 'total'), 'not-allowed', 'rounding.at', '"total"'],
  [
    'no price per kWh',
    (t) => {
      t.windows = undefined;
      t.energy = [];
      t.events = [];
      t.demand = [];
    },
    'missing',
    'energy',
    'nothing',
  ],
];

describe('a malformed tariff is refused with path, value, reason and cure', () => {
  it('the whole one is right', () => expect(faults(() => {})).toEqual([]));
  it('there are at least 60', () => expect(cases.length).toBeGreaterThanOrEqual(60));

  it.each(cases)('%s', (_, mutate, code, path, received) => {
    const issues = faults(mutate);
    const shown = issues.map((issue) => `${issue.code} ${formatPath(issue.where.path ?? [])}: ${issue.received}`);
    const issue = issues.find((found) => found.code === code && formatPath(found.where.path ?? []) === path);
    expect(issue, shown.join('\n')).toBeDefined();
    expect(issue!.received.startsWith(received), issue!.received).toBe(true);
    expect(issue!.where.file).toBe('tariff.json');
    // Reason and cure: what was expected, and a hint unless that says it all.
    expect(issue!.expected.length).toBeGreaterThan(2);
    expect(describeIssue(issue!)).toContain(path);
  });

  it('all faults are told at once', () => {
    const issues = faults((t) => {
      t.currency = 'usd';
      t.windows[0].seasons = 'sumer';
      t.taxes[0].on = ['enrgy'];
    });
    expect(issues.map((issue) => issue.hint)).toEqual([
      'write "USD"',
      'did you mean "summer"?',
      'did you mean "energy"?',
    ]);
  });
});
