import { describeTariff, parseTariff, tariffSchema } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import * as z from 'zod';

type Fields = Readonly<Record<string, readonly [one: unknown, other: unknown]>>;

/** Elements of a tariff file: one that is whole, and two values of each field that its words must tell apart. */
const ELEMENTS: Readonly<Record<string, { whole: object; fields: Fields; more?: object }>> = {
  demand: {
    whole: { name: 'Peak', pricePerKw: 5 },
    fields: {
      name: ['Peak', 'Power'],
      supplier: ['Wires', 'Grid'],
      pricePerKw: [5, 6],
      seasons: ['summer', 'winter'],
      months: [[1, 2], [3]],
      days: ['weekday', 'weekend'],
      from: ['16:00', '17:00'],
      to: ['20:00', '21:00'],
      daysOf: ['clock', 'start'],
      inWindows: ['day', 'night'],
      averagingMinutes: [15, 30],
      highestDays: [1, 3],
      minimumKw: [2, 3],
      contractShare: [0.5, 0.6],
      ratchet: [
        { share: 0.5, months: 11 },
        { share: 0.5, months: 11, seasons: 'summer' },
      ],
      unit: ['kW', 'kVA'],
    },
    more: { from: '16:00', to: '20:00' },
  },
  events: {
    whole: { name: 'Event', dates: ['2026-07-01'], from: '16:00', to: '20:00', rebatePerKwh: 1, baselineKwh: 3 },
    fields: {
      name: ['Event', 'Call'],
      dates: [['2026-07-01'], ['2026-07-02']],
      from: ['16:00', '17:00'],
      to: ['20:00', '21:00'],
      rebatePerKwh: [1, 0.5],
      baselineKwh: [3, 4],
    },
  },
  baseline: {
    whole: { kwhPerDay: 9 },
    fields: { kwhPerDay: [9, 10], seasons: ['summer', 'winter'], zone: ['A', 'B'] },
  },
  billing: {
    whole: { by: 'calendar-month', monthDays: 30 },
    fields: { monthDays: [30, 31], monthDecimals: [1, 2] },
  },
};

/** Fields that are told in the forms below, since they exclude others. */
const APART: Readonly<Record<string, readonly string[]>> = {
  demand: ['pricePerKwDay', 'steps'],
  events: ['pricePerKwh', 'adderPerKwh', 'baselineDays'],
  billing: ['by', 'day', 'dates'],
};

const EXCLUSIVE: readonly (readonly [element: string, one: object, other: object])[] = [
  ['demand', { name: 'P', pricePerKwDay: 1 }, { name: 'P', pricePerKwDay: 2 }],
  ['demand', { name: 'P', pricePerKwDay: 1 }, { name: 'P', pricePerKw: 1 }],
  [
    'demand',
    { name: 'P', steps: [{ upToKw: 3, amount: 5 }, { amount: 9 }] },
    { name: 'P', steps: [{ upToKw: 4, amount: 5 }, { amount: 9 }] },
  ],
  ...(['pricePerKwh', 'adderPerKwh'] as const).map(
    (field) =>
      [
        'events',
        { name: 'E', dates: ['2026-07-01'], from: '16:00', to: '20:00', [field]: 1 },
        { name: 'E', dates: ['2026-07-01'], from: '16:00', to: '20:00', [field]: 1.5 },
      ] as const,
  ),
  [
    'events',
    { name: 'E', dates: ['2026-07-01'], from: '16:00', to: '20:00', rebatePerKwh: 1, baselineDays: 5 },
    { name: 'E', dates: ['2026-07-01'], from: '16:00', to: '20:00', rebatePerKwh: 1, baselineDays: 10 },
  ],
  ['billing', { by: 'cycle-day', day: 7 }, { by: 'cycle-day', day: 8 }],
  ['billing', { by: 'cycle-day', day: 7 }, { by: 'calendar-month' }],
  [
    'billing',
    { by: 'read-dates', dates: ['2026-01-03', '2026-02-04'] },
    { by: 'read-dates', dates: ['2026-01-03', '2026-02-05'] },
  ],
];

function words(element: string, value: object): string {
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'T',
    currency: 'USD',
    seasons: [
      { name: 'summer', months: [6, 7, 8, 9] },
      { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
    ],
    windows: [
      { name: 'day', from: '06:00', to: '22:00', pricePerKwh: 0.2 },
      { name: 'night', otherwise: true, pricePerKwh: 0.1 },
    ],
    [element]: element === 'billing' ? value : [value],
  });
  return JSON.stringify(describeTariff(tariff, '2026-07-15').sections);
}

/** The fields that the schema has of an element. */
function fieldsOf(element: string): string[] {
  const { properties } = z.toJSONSchema(tariffSchema, { io: 'input', unrepresentable: 'any' }) as {
    properties: Record<string, { properties?: object; items?: { properties: object } }>;
  };
  const schema = properties[element]!;
  return Object.keys(schema.items?.properties ?? schema.properties!);
}

describe.each(Object.entries(ELEMENTS))('%s in words', (element, { whole, fields, more = {} }) => {
  test('every field of the schema is looked at', () => {
    expect([...Object.keys(fields), ...(APART[element] ?? [])].sort()).toEqual(fieldsOf(element).sort());
  });

  test.each(Object.entries(fields))('%s is told', (field, [one, other]) => {
    const base = { ...whole, ...more };
    expect(words(element, { ...base, [field]: one })).not.toBe(words(element, { ...base, [field]: other }));
  });
});

test.each(EXCLUSIVE)('%s: %j and %j are told apart', (element, one, other) => {
  expect(words(element, one)).not.toBe(words(element, other));
});
