import { describeTariff, parseTariff, tariffSchema } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import * as z from 'zod';

/** Two values of a field that the words must tell apart, and what has to stand around them in the file. */
type Case = readonly [one: unknown, other: unknown, around?: object];

const hours = Array.from({ length: 24 }, (_, h) => (h < 6 ? 0.1 : 0.2));
const otherHours = hours.map((price) => 2 * price);
const ends = { from: '16:00', to: '20:00' };

const hoursCases = (whole: object): Record<string, Case> => ({
  seasons: ['summer', 'winter', { ...whole, ...ends }],
  months: [[1, 2], [3], { ...whole, ...ends }],
  days: ['weekday', 'weekend', { ...whole, ...ends }],
  from: ['16:00', '17:00', { ...whole, ...ends }],
  to: ['20:00', '21:00', { ...whole, ...ends }],
  daysOf: ['clock', 'start', { ...whole, ...ends, days: 'weekday' }],
});

const blockCases = (at: string, wrap: (blocks: object[]) => object): Record<string, Case> => ({
  [`${at}.upToKwh`]: [
    wrap([{ upToKwh: 5, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
    wrap([{ upToKwh: 6, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
  ],
  [`${at}.upToKwhPerDay`]: [
    wrap([{ upToKwhPerDay: 5, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
    wrap([{ upToKwhPerDay: 6, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
  ],
  [`${at}.upToBaseline`]: [
    wrap([{ upToBaseline: 1, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
    wrap([{ upToBaseline: 1.3, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
  ],
  [`${at}.pricePerKwh`]: [
    wrap([{ upToKwh: 5, pricePerKwh: 1 }, { pricePerKwh: 2 }]),
    wrap([{ upToKwh: 5, pricePerKwh: 1 }, { pricePerKwh: 3 }]),
  ],
});

/** Windows that hold every hour, the first of them as given; 16:00 to 20:00 is its place unless it says another. */
const windows = (first: object, price: object = { pricePerKwh: 0.3 }) => [
  { name: 'peak', days: 'all', ...first, ...('otherwise' in first ? {} : { ...ends, ...first }), ...price },
  ...('otherwise' in first
    ? [{ name: 'rest', from: '20:00', to: '16:00', pricePerKwh: 0.1 }]
    : [{ name: 'rest', otherwise: true, pricePerKwh: 0.1 }]),
];

/** The fields of a window, where `wrap` puts a list of windows into an element. */
const windowCases = (at: string, wrap: (list: readonly object[]) => object): Record<string, Case> => {
  const pair = (one: object, other: object): Case => [wrap(windows(one)), wrap(windows(other))];
  return {
    [`${at}.name`]: pair({ name: 'peak' }, { name: 'dear' }),
    [`${at}.seasons`]: pair({ seasons: 'summer' }, { seasons: 'winter' }),
    [`${at}.months`]: pair({ months: [1, 2] }, { months: [3] }),
    [`${at}.days`]: pair({ days: 'weekday' }, { days: 'weekend' }),
    [`${at}.from`]: pair({ from: '16:00' }, { from: '17:00' }),
    [`${at}.to`]: pair({ to: '20:00' }, { to: '21:00' }),
    [`${at}.daysOf`]: pair(
      { days: 'weekday', from: '22:00', to: '06:00' },
      { days: 'weekday', from: '22:00', to: '06:00', daysOf: 'start' },
    ),
    [`${at}.otherwise`]: pair({ otherwise: true }, {}),
    [`${at}.kind`]: pair({ kind: 'peak' }, { kind: 'shoulder' }),
    [`${at}.pricePerKwh`]: [wrap(windows({})), wrap(windows({}, { pricePerKwh: 0.4 }))],
    ...blockCases(`${at}.blocks`, (blocks) => wrap(windows({}, { blocks }))),
  };
};

/** The forms of a price, where `wrap` puts them into an element. */
const pricingCases = (at: string, wrap: (pricing: object) => object): Record<string, Case> => ({
  [`${at}pricePerKwh`]: [wrap({ pricePerKwh: 0.02 }), wrap({ pricePerKwh: 0.03 })],
  [`${at}byWindow`]: [wrap({ byWindow: { day: 0.02, night: 0.01 } }), wrap({ byWindow: { day: 0.01, night: 0.02 } })],
  ...windowCases(`${at}windows`, (list) => wrap({ windows: list })),
  [`${at}table.months`]: [
    wrap({
      table: [
        { months: [1, 2], pricesByHour: hours },
        { months: [3, 4, 5, 6, 7, 8, 9, 10, 11, 12], pricesByHour: otherHours },
      ],
    }),
    wrap({
      table: [
        { months: [1], pricesByHour: hours },
        { months: [2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], pricesByHour: otherHours },
      ],
    }),
  ],
  [`${at}table.days`]: [
    wrap({
      table: [
        { days: 'weekday', pricesByHour: hours },
        { days: ['weekend', 'holiday'], pricesByHour: otherHours },
      ],
    }),
    wrap({
      table: [
        { days: ['weekend', 'holiday'], pricesByHour: hours },
        { days: 'weekday', pricesByHour: otherHours },
      ],
    }),
  ],
  [`${at}table.pricesByHour`]: [
    wrap({ table: [{ pricesByHour: hours }] }),
    wrap({ table: [{ pricesByHour: otherHours }] }),
  ],
  ...blockCases(`${at}blocks`, (blocks) => wrap({ blocks })),
  [`${at}resets`]: [
    wrap({ blocks: [{ upToKwh: 5, pricePerKwh: 1 }, { pricePerKwh: 2 }] }),
    wrap({ blocks: [{ upToKwhPerDay: 5, pricePerKwh: 1 }, { pricePerKwh: 2 }], resets: 'day' }),
  ],
  [`${at}series.file`]: [wrap({ series: { file: 'a.csv' } }), wrap({ series: { file: 'b.csv' } })],
  [`${at}series.multiplier`]: [
    wrap({ series: { file: 'a.csv' } }),
    wrap({ series: { file: 'a.csv', multiplier: 1.2 } }),
  ],
  [`${at}series.adderPerKwh`]: [
    wrap({ series: { file: 'a.csv' } }),
    wrap({ series: { file: 'a.csv', adderPerKwh: 0.1 } }),
  ],
  [`${at}series.known`]: [wrap({ series: { file: 'a.csv' } }), wrap({ series: { file: 'a.csv', known: 'published' } })],
});

const holiday = (one: object, other: object): Case => [[{ name: 'Day', ...one }], [{ name: 'Day', ...other }]];
const list = (one: object, other: object): Case => [[one], [other]];
const energy = (more: object) => [{ name: 'Supply', ...more }];
const credit = { name: 'Credit', amount: 50, leastKwh: 1000 };
const demand = { name: 'Peak', pricePerKw: 5 };
const event = { name: 'Event', dates: ['2026-07-01'], ...ends, rebatePerKwh: 1, baselineKwh: 3 };
const { rebatePerKwh: _, baselineKwh: __, ...called } = event;
const netMoney = { kind: 'net-metering', carry: 'money', trueUpMonth: 3 };
const netKwh = { kind: 'net-metering', carry: 'kwh', trueUpMonth: 3 };
const billed = { kind: 'net-billing', pricePerKwh: 0.05, carry: 'money', trueUpMonth: 3 };
const pairs = (base: object, cases: Record<string, Case>, at: string): Record<string, Case> =>
  Object.fromEntries(
    Object.entries(cases).map(([field, [one, other, around]]) => [
      `${at}.${field}`,
      list({ ...base, ...around, [field]: one }, { ...base, ...around, [field]: other }),
    ]),
  );

/** By element of the file: each field, by its address in the schema. Fields of one address and several forms are told in one of them. */
const CASES: Readonly<Record<string, Readonly<Record<string, Case>>>> = {
  name: { name: ['T', 'U'] },
  utility: { utility: ['Wires', 'Grid'] },
  notes: { notes: ['From the sheet of May', ['Another']] },
  currency: { currency: ['USD', 'EUR'] },
  unusualPrices: { unusualPrices: [true, undefined] },
  rounding: {
    'rounding.at': [{ at: 'line' }, { at: 'bill' }],
    'rounding.mode': [{ mode: 'half-up' }, { mode: 'half-even' }],
    'rounding.decimals': [{ decimals: 2 }, { decimals: 3 }],
    'rounding.energyDecimals': [{ energyDecimals: 0 }, { energyDecimals: 1 }],
  },
  billing: {
    'billing.by': [{ by: 'cycle-day', day: 7 }, { by: 'calendar-month' }],
    'billing.day': [
      { by: 'cycle-day', day: 7 },
      { by: 'cycle-day', day: 8 },
    ],
    'billing.dates': [
      { by: 'read-dates', dates: ['2026-01-03', '2026-02-04'] },
      { by: 'read-dates', dates: ['2026-01-03', '2026-02-05'] },
    ],
    'billing.monthDays': [{ monthDays: 30 }, { monthDays: 31 }],
    'billing.monthDecimals': [
      { monthDays: 30, monthDecimals: 1 },
      { monthDays: 30, monthDecimals: 2 },
    ],
  },
  holidays: {
    holidays: [['us-six'], ['us-eight']],
    'holidays.name': list({ name: 'Day', date: '05-01' }, { name: 'May', date: '05-01' }),
    'holidays.since': holiday({ date: '05-01' }, { date: '05-01', since: 2020 }),
    'holidays.until': holiday({ date: '05-01' }, { date: '05-01', until: 2030 }),
    'holidays.date': holiday({ date: '05-01' }, { date: '05-02' }),
    'holidays.observed': holiday({ date: '05-01' }, { date: '05-01', observed: 'nearest-weekday' }),
    'holidays.weekday': holiday({ weekday: 'monday', nth: 1, month: 5 }, { weekday: 'tuesday', nth: 1, month: 5 }),
    'holidays.nth': holiday({ weekday: 'monday', nth: 1, month: 5 }, { weekday: 'monday', nth: -1, month: 5 }),
    'holidays.month': holiday({ weekday: 'monday', nth: 1, month: 5 }, { weekday: 'monday', nth: 1, month: 6 }),
    'holidays.onOrBefore': holiday(
      { weekday: 'monday', onOrBefore: '05-01' },
      { weekday: 'monday', onOrBefore: '05-02' },
    ),
    'holidays.onOrAfter': holiday(
      { weekday: 'monday', onOrAfter: '05-01' },
      { weekday: 'monday', onOrBefore: '05-01' },
    ),
    'holidays.daysAfterEaster': holiday({ daysAfterEaster: 1 }, { daysAfterEaster: -2 }),
    'holidays.church': holiday({ daysAfterEaster: 1 }, { daysAfterEaster: 1, church: 'orthodox' }),
    'holidays.dates': holiday({ dates: ['2026-05-01'] }, { dates: ['2026-05-02'] }),
  },
  seasons: {
    'seasons.name': [
      [
        { name: 'summer', from: '06-01', to: '09-30' },
        { name: 'winter', from: '10-01', to: '05-31' },
      ],
      [
        { name: 'summer', from: '06-01', to: '09-30' },
        { name: 'cold', from: '10-01', to: '05-31' },
      ],
    ],
    'seasons.from': [
      [
        { name: 'summer', from: '06-01', to: '09-30' },
        { name: 'winter', from: '10-01', to: '05-31' },
      ],
      [
        { name: 'summer', from: '06-02', to: '09-30' },
        { name: 'winter', from: '10-01', to: '06-01' },
      ],
    ],
    'seasons.to': [
      [
        { name: 'summer', from: '06-01', to: '09-30' },
        { name: 'winter', from: '10-01', to: '05-31' },
      ],
      [
        { name: 'summer', from: '06-01', to: '09-29' },
        { name: 'winter', from: '09-30', to: '05-31' },
      ],
    ],
    'seasons.months': [
      [
        { name: 'summer', months: [6, 7, 8, 9] },
        { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
      ],
      [
        { name: 'summer', months: [6, 7, 8] },
        { name: 'winter', months: [9, 10, 11, 12, 1, 2, 3, 4, 5] },
      ],
    ],
  },
  windows: windowCases('windows', (all) => all),
  energy: {
    'energy.name': list({ name: 'Supply', pricePerKwh: 0.1 }, { name: 'Power', pricePerKwh: 0.1 }),
    ...pairs(
      { name: 'Supply', pricePerKwh: 0.1 },
      {
        supplier: ['Wires', 'Grid'],
        seasons: ['summer', 'winter'],
        inWindows: ['day', 'night'],
        nonBypassable: [true, undefined],
        programme: ['Care', undefined],
      },
      'energy',
    ),
    ...pricingCases('energy.', energy),
  },
  baseline: pairs(
    { kwhPerDay: 9 },
    { kwhPerDay: [9, 10], seasons: ['summer', 'winter'], zone: ['A', 'B'] },
    'baseline',
  ),
  events: {
    ...pairs(
      event,
      {
        name: ['Event', 'Call'],
        dates: [['2026-07-01'], ['2026-07-02']],
        from: ['16:00', '17:00'],
        to: ['20:00', '21:00'],
        rebatePerKwh: [1, 0.5],
        baselineKwh: [3, 4],
      },
      'events',
    ),
    ...pairs(called, { pricePerKwh: [1, 1.5], adderPerKwh: [1, 1.5] }, 'events'),
    ...pairs({ ...called, rebatePerKwh: 1 }, { baselineDays: [5, 10] }, 'events'),
  },
  demand: {
    ...pairs(
      demand,
      {
        name: ['Peak', 'Power'],
        supplier: ['Wires', 'Grid'],
        pricePerKw: [5, 6],
        ...hoursCases({}),
        inWindows: ['day', 'night'],
        averagingMinutes: [15, 30],
        highestDays: [1, 3],
        minimumKw: [2, 3],
        contractShare: [0.5, 0.6],
        unit: ['kW', 'kVA'],
      },
      'demand',
    ),
    'demand.ratchet.share': list(
      { ...demand, ratchet: { share: 0.5, months: 11 } },
      { ...demand, ratchet: { share: 0.6, months: 11 } },
    ),
    'demand.ratchet.months': list(
      { ...demand, ratchet: { share: 0.5, months: 11 } },
      { ...demand, ratchet: { share: 0.5, months: 6 } },
    ),
    'demand.ratchet.seasons': list(
      { ...demand, ratchet: { share: 0.5, months: 11 } },
      { ...demand, ratchet: { share: 0.5, months: 11, seasons: 'summer' } },
    ),
    'demand.pricePerKwDay': list({ name: 'P', pricePerKwDay: 1 }, { name: 'P', pricePerKw: 1 }),
    'demand.steps.upToKw': list(
      { name: 'P', steps: [{ upToKw: 3, amount: 5 }, { amount: 9 }] },
      { name: 'P', steps: [{ upToKw: 4, amount: 5 }, { amount: 9 }] },
    ),
    'demand.steps.amount': list(
      { name: 'P', steps: [{ upToKw: 3, amount: 5 }, { amount: 9 }] },
      { name: 'P', steps: [{ upToKw: 3, amount: 6 }, { amount: 9 }] },
    ),
  },
  fixed: {
    ...pairs(
      { name: 'Base', amount: 5 },
      {
        name: ['Base', 'Meter'],
        supplier: ['Wires', 'Grid'],
        amount: [5, 6],
        per: ['day', 'year'],
        seasons: ['summer', 'winter'],
        programme: ['Care', undefined],
      },
      'fixed',
    ),
    'fixed.byServiceSize.upToAmps': list(
      { name: 'Base', byServiceSize: [{ upToAmps: 100, amount: 5 }, { amount: 9 }] },
      { name: 'Base', byServiceSize: [{ upToAmps: 125, amount: 5 }, { amount: 9 }] },
    ),
    'fixed.byServiceSize.amount': list(
      { name: 'Base', byServiceSize: [{ upToAmps: 100, amount: 5 }, { amount: 9 }] },
      { name: 'Base', byServiceSize: [{ upToAmps: 100, amount: 6 }, { amount: 9 }] },
    ),
  },
  usageCredits: pairs(
    credit,
    {
      name: ['Credit', 'Thanks'],
      supplier: ['Wires', 'Grid'],
      amount: [50, -50],
      leastKwh: [1000, 900],
      belowKwh: [2000, undefined],
    },
    'usageCredits',
  ),
  export: {
    'export.kind': [{ kind: 'none' }, { kind: 'buy-all', pricePerKwh: 0.05 }],
    'export.limitKw': [{ kind: 'none', limitKw: 5 }, { kind: 'none' }],
    'export.name': [
      { ...billed, name: 'Credit' },
      { ...billed, name: 'Feed-in' },
    ],
    'export.carry': [billed, { ...billed, carry: 'none', trueUpMonth: undefined }],
    'export.offsets': [
      { ...billed, offsets: 'energy' },
      { ...billed, offsets: 'all' },
    ],
    'export.trueUpMonth': [billed, { ...billed, trueUpMonth: 4 }],
    'export.settleShare': [{ ...billed, settleShare: 0.5 }, billed],
    'export.within': [
      { ...netMoney, within: 'window' },
      { ...netMoney, within: 'period' },
    ],
    'export.surplusPerKwh': [netKwh, { ...netKwh, surplusPerKwh: 0.02 }],
    ...pricingCases('export.', (pricing) => ({ kind: 'net-billing', ...pricing })),
  },
  adjustments: pairs(
    { name: 'Rider', percent: 5 },
    { name: ['Rider', 'Levy'], percent: [5, 6], on: ['energy', 'fixed'], programme: ['Care', undefined] },
    'adjustments',
  ),
  minimumBill: {
    'minimumBill.name': [{ amount: 10 }, { amount: 10, name: 'Least' }],
    'minimumBill.amount': [{ amount: 10 }, { amount: 11 }],
    'minimumBill.per': [{ amount: 10 }, { amount: 10, per: 'day' }],
    'minimumBill.on': [{ amount: 10 }, { amount: 10, on: 'energy' }],
  },
  taxes: pairs(
    { name: 'VAT', percent: 5 },
    { name: ['VAT', 'Tax'], percent: [5, 6], on: ['energy', 'fixed'], programme: ['Care', undefined] },
    'taxes',
  ),
  life: {
    'life.closedFrom': [{ closedFrom: '2026-01-01' }, { closedFrom: '2026-02-01' }],
    'life.endsOn': [{ endsOn: '2026-12-31' }, { endsOn: '2027-12-31' }],
    'life.successor': [{ endsOn: '2026-12-31' }, { endsOn: '2026-12-31', successor: 'Next' }],
    'life.successorFile': [
      { endsOn: '2026-12-31', successor: 'Next' },
      { endsOn: '2026-12-31', successor: 'Next', successorFile: 'next.json' },
    ],
    'life.lockInMonths': [{ lockInMonths: 12 }, { lockInMonths: 24 }],
    'life.earliestSwitch': [{ earliestSwitch: '2026-12-31' }, { earliestSwitch: '2027-12-31' }],
    'life.billProtectionMonths': [{ billProtectionMonths: 12 }, { billProtectionMonths: 24 }],
    'life.eligibility': [{ eligibility: ['Homes with solar'] }, { eligibility: ['Homes with a car'] }],
  },
  versions: {
    'versions.from': [[{ from: '2026-01-01' }], [{ from: '2026-02-01' }]],
    'versions.note': [[{ from: '2026-01-01', note: 'Dearer' }], [{ from: '2026-01-01', note: 'Cheaper' }]],
  },
};

/** Fields about the file itself. */
const NOT_TOLD = ['$schema', 'format'];

const BASE = {
  format: 'duskbank.tariff/1',
  name: 'T',
  currency: 'USD',
  holidays: ['us-six'],
  seasons: [
    { name: 'summer', months: [6, 7, 8, 9] },
    { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
  ],
  windows: [
    { name: 'day', from: '06:00', to: '22:00', pricePerKwh: 0.2 },
    { name: 'night', otherwise: true, pricePerKwh: 0.1 },
  ],
  baseline: [{ kwhPerDay: 8 }],
};

/** The words of a tariff with an element; the prices of the picture aren't among them. */
function words(element: string, value: unknown): string {
  const day = '2026-07-15';
  const document = JSON.parse(JSON.stringify({ ...BASE, [element]: value }));
  const { weeks: __, warnings: ___, ...told } = describeTariff(parseTariff(document), day);
  return JSON.stringify(told);
}

interface Schema {
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly items?: Schema;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
}

const wholeSchema = z.toJSONSchema(tariffSchema, { io: 'input', unrepresentable: 'any' }) as Schema;

/** The addresses of the fields under a schema: of each that has no fields of its own. */
function fieldsOf(schema: Schema, at: string): string[] {
  const own = Object.entries(schema.properties ?? {}).flatMap(([name, field]) =>
    fieldsOf(field, at === '' ? name : `${at}.${name}`),
  );
  const within = [
    ...own,
    ...(schema.items === undefined ? [] : fieldsOf(schema.items, at)),
    ...[...(schema.anyOf ?? []), ...(schema.oneOf ?? [])].flatMap((one) => fieldsOf(one, at)),
  ];
  return within.length === 0 ? [at] : [...new Set(within)];
}

test('every element of the file is looked at', () => {
  expect([...Object.keys(CASES), ...NOT_TOLD].sort()).toEqual(Object.keys(wholeSchema.properties!).sort());
});

test('a version may hold what a tariff may, in the same words', () => {
  const { from: _from, note: _note, ...rates } = wholeSchema.properties!.versions!.items!.properties!;
  for (const [element, schema] of Object.entries(rates)) expect(schema).toEqual(wholeSchema.properties![element]);
  const told = (document: object) => describeTariff(parseTariff({ ...BASE, ...document }), '2026-07-15').sections;
  for (const element of Object.keys(rates)) {
    const [value] = Object.values(CASES[element]!)[0]!;
    expect(told({ versions: [{ from: '2026-01-01', [element]: value }] })).toEqual(told({ [element]: value }));
  }
});

describe.each(Object.entries(CASES))('%s in words', (element, cases) => {
  test('every field of the schema is looked at', () => {
    const fields =
      element === 'versions'
        ? ['versions.from', 'versions.note']
        : fieldsOf(wholeSchema.properties![element]!, element);
    const looked = Object.keys(cases);
    expect(fields.filter((field) => !looked.includes(field))).toEqual([]);
    expect(looked.filter((field) => !fields.includes(field) && field !== element)).toEqual([]);
  });

  test.each(Object.entries(cases))('%s is told', (_, [one, other]) => {
    expect(words(element, one)).not.toBe(words(element, other));
  });
});

test.each(['pricePerKwh', 'adderPerKwh', 'rebatePerKwh'])('what an event does is told apart: %s', (field) => {
  const effects = ['pricePerKwh', 'adderPerKwh', 'rebatePerKwh'].map((other) =>
    words('events', [{ ...called, [other]: 1, ...(other === 'rebatePerKwh' ? { baselineKwh: 3 } : {}) }]),
  );
  const own = words('events', [{ ...called, [field]: 1, ...(field === 'rebatePerKwh' ? { baselineKwh: 3 } : {}) }]);
  expect(effects.filter((effect) => effect === own)).toHaveLength(1);
});

describe('blocks in the picture', () => {
  const weekOf = (document: object) => describeTariff(parseTariff({ ...BASE, ...document }), '2026-07-15').weeks[0]!;

  test('each half-hour has the blocks that it stands in', () => {
    const { blocks } = weekOf({
      windows: windows({}, { blocks: [{ upToKwh: 60, pricePerKwh: 0.3 }, { pricePerKwh: 0.41 }] }),
    });
    expect(blocks!.sets).toHaveLength(1);
    expect(blocks!.sets[0]).toEqual([
      { charge: 'Energy', later: [{ above: '60 kWh a month', addedPerKwh: expect.closeTo(0.11, 9) }] },
    ]);
    // 16:00 to 20:00 are the half-hours 32 to 39.
    expect(blocks!.set[0]!.map((set) => set + 1).join('')).toBe(`${'0'.repeat(32)}${'1'.repeat(8)}${'0'.repeat(8)}`);
  });

  test('where no charge has blocks there are none', () => {
    expect(weekOf({}).blocks).toBeUndefined();
  });
});

describe('steps of the week', () => {
  const weekOf = (from: string, to: string, more: object = {}) =>
    describeTariff(
      parseTariff({
        ...BASE,
        windows: [
          { name: 'peak', from, to },
          { name: 'rest', otherwise: true },
        ],
        energy: [{ name: 'Energy', byWindow: { peak: 0.42, rest: 0.19 } }],
        ...more,
      }),
      '2026-07-15',
    ).weeks[0]!;

  test('are half-hours where hours begin and end on these', () => {
    const { stepMinutes, pricePerKwh } = weekOf('17:30', '21:00');
    expect([stepMinutes, pricePerKwh[0]!.length]).toEqual([30, 48]);
  });

  test.each([
    ['17:15', '20:45', 15, 69, 83],
    ['17:20', '20:40', 20, 52, 62],
    ['17:10', '20:00', 10, 103, 120],
    ['17:05', '20:50', 5, 205, 250],
  ])('hold the edges of %s to %s: no price is a mean of two', (from, to, stepMinutes, first, end) => {
    const week = weekOf(from, to);
    expect(week.stepMinutes).toBe(stepMinutes);
    for (const prices of [week.pricePerKwh[0]!, week.statedPerKwh[0]!])
      expect(prices).toEqual(prices.map((_, k) => (k >= first && k < end ? 0.42 : 0.19)));
    expect(week.window[0]!.flatMap((name, k) => (name === 'peak' ? [k] : []))).toHaveLength(end - first);
  });

  test('hold the edges of other charges too', () => {
    const levy = [
      { name: 'levied', from: '18:45', to: '19:30', pricePerKwh: 0.05 },
      { name: 'else', otherwise: true, pricePerKwh: 0 },
    ];
    const energy = [
      { name: 'Energy', byWindow: { peak: 0.42, rest: 0.19 } },
      { name: 'Evening levy', windows: levy },
    ];
    const week = weekOf('17:00', '21:00', { energy });
    expect(week.stepMinutes).toBe(15);
    expect(week.pricePerKwh[0]!.filter((price) => Math.abs(price - 0.47) < 1e-9)).toHaveLength(3);
  });
});

test('a description says nothing of steps: it reads no data', () => {
  const demand = [{ name: 'Peak power', pricePerKw: 9, averagingMinutes: 15 }];
  const { warnings } = describeTariff(parseTariff({ ...BASE, demand }), '2026-07-15');
  expect(warnings).toEqual([]);
});

test('a price that holds always is told as of every hour: there are no others', () => {
  const rest = { name: 'rest', otherwise: true, pricePerKwh: 0.3 };
  const told = (windows: object[]) =>
    JSON.stringify(describeTariff(parseTariff({ ...BASE, energy: undefined, windows }), '2026-07-15').sections);
  expect(told([rest])).toContain(String.raw`\"rest\": every hour, 0.3 a kWh`);
  expect(told([{ name: 'dear', from: '17:00', to: '21:00', pricePerKwh: 0.5 }, rest])).toContain(
    String.raw`\"rest\": all other hours, 0.3 a kWh`,
  );
});
