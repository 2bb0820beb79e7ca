// A running total that starts anew each midnight is no energy of intervals.
import { expect, test } from 'vitest';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

/** What a home draws each hour, kWh: more in the evening, and never twice the same. */
const use = (i: number) => 0.1 + (i % 5) * 0.04 + (i % 24 > 17 ? 0.5 : 0) + i * 0.0001;
const sum = HOURS.reduce((kwh, _, i) => kwh + use(i), 0);
/** The day's total at the end of each hour. */
const totals = HOURS.map((_, i) => {
  let kwh = 0;
  for (let k = i - (i % 24); k <= i; k++) kwh += use(k);
  return kwh.toFixed(4);
});
const rows = (of: (i: number) => string) => HOURS.map((label, i) => `${label},${of(i)}`);
const codes = (text: string) => read(text).findings.map(({ code }) => code);

test('a total of the day is read as the energy of its hours, with a name and without', () => {
  for (const header of ['Start,Usage today (kWh)', 'time,value']) {
    const text = table(
      header,
      rows((i) => totals[i]!),
    );
    expect(total(text, 'import', { unit: 'kWh' })).toBeCloseTo(sum, 2);
    expect(read(text, { unit: 'kWh' }).series?.importKwh?.[20]).toBeCloseTo(use(20), 3);
    expect(read(text, { unit: 'kWh' }).findings.map(({ code }) => code)).toContain('day-total-differenced');
  }
});

test('newest first, by interval ends, with a day that a gap cuts', () => {
  const header = 'Time,Usage today (kWh)';
  expect(total(table(header, rows((i) => totals[i]!).reverse()), 'import')).toBeCloseTo(sum, 2);
  // The first label is 01:00 and the last midnight of the day after.
  const ends = HOURS.map((_, i) => `${HOURS[i + 1] ?? '2026-01-12 00:00'},${totals[i]}`);
  const ended = read(table(header, ends));
  expect(ended.series?.importKwh?.[19]).toBeCloseTo(use(19), 3);
  expect(ended.layout.evidence.join('; ')).toContain(
    'labels are interval ends: the day’s total starts anew one step after',
  );
  const gap = rows((i) => totals[i]!).filter((_, i) => i !== 60 && i !== 72);
  const read60 = read(table(header, gap));
  // Of the hour without a row, and of the one after it, nothing is known; the first of a day counts from zero.
  expect(read60.series?.importKwh?.[60]).toBeNaN();
  expect(read60.series?.importKwh?.[61]).toBeNaN();
  expect(read60.series?.importKwh?.[73]).toBeNaN();
  expect(read60.series?.importKwh?.[74]).toBeCloseTo(use(74), 3);
});

test('a total whose last hour of the day is never shown is refused, and so is one in kW', () => {
  const shifted = rows((i) => (i % 24 === 0 ? '0.0000' : totals[i - 1]!));
  expect(errors(table('Time,Usage today (kWh)', shifted))).toEqual(['day-total-unclear']);
  expect(
    errors(
      table(
        'Time,Usage today (kW)',
        rows((i) => totals[i]!),
      ),
    ),
  ).toEqual(['day-total-unclear']);
});

test('the sun’s total of the day starts at zero, and loses nothing', () => {
  const sun = (i: number) => Math.max(0, Math.sin((((i % 24) - 6) / 12) * Math.PI)) * 2;
  const made = HOURS.map((_, i) => {
    let kwh = 0;
    for (let k = i - (i % 24); k <= i; k++) kwh += sun(k);
    return kwh.toFixed(4);
  });
  const text = table(
    'Start,Usage (kWh),Solar today (kWh)',
    HOURS.map((label, i) => `${label},${use(i)},${made[i]}`),
  );
  expect(total(text, 'solar')).toBeCloseTo(
    HOURS.reduce((kwh, _, i) => kwh + sun(i), 0),
    2,
  );
});

test('what rises and falls within days is no total', () => {
  const none = (of: (i: number) => number, header = 'Start,Usage (kWh)') =>
    expect(
      codes(
        table(
          header,
          rows((i) => of(i).toFixed(3)),
        ),
      ),
    ).not.toContain('day-total-differenced');
  none(use);
  // The sun's hours; a home that draws more each hour of the day; heat from late evening to midnight; one that only rises.
  none((i) => Math.max(0, Math.sin((((i % 24) - 6) / 12) * Math.PI)), 'Start,Solar (kWh)');
  none((i) => 0.3 + (i % 24) * 0.05);
  none((i) => (i % 24 > 20 ? 3.6 : 0.2));
  none((i) => i * 0.1);
});

test('over both clock changes an hour is an hour, and a missing one at night elsewhere is a gap', () => {
  // Denver, 2026: 2 to 3 on 8 March isn't there, 1 to 2 on 1 November twice.
  for (const [from, gap, again] of [
    ['2026-03-06', '2026-03-08 02:00', ''],
    ['2026-10-30', '', '2026-11-01 01:00'],
  ] as const) {
    const rowsOf: string[] = [];
    let kwh = 0;
    let all = 0;
    for (let i = 0; i < 120; i++) {
      const label = new Date(Date.parse(`${from}T00:00Z`) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' ');
      if (i % 24 === 0) kwh = 0;
      if (label === gap) continue;
      for (let pass = 0; pass < (label === again ? 2 : 1); pass++) {
        kwh += use(i);
        all += use(i);
        rowsOf.push(`${label},${kwh.toFixed(4)}`);
      }
    }
    const text = table('Start,Usage today (kWh)', rowsOf);
    expect(total(text, 'import')).toBeCloseTo(all, 2);
    const { series } = read(text);
    expect(series?.importKwh?.filter((value) => Number.isNaN(value)).length).toBe(0);
    expect(series?.importKwh?.length).toBe(gap === '' ? 121 : 119);
  }
  const night = rows((i) => totals[i]!).filter((_, i) => i !== 50);
  const values = read(table('Start,Usage today (kWh)', night)).series?.importKwh;
  expect([values?.[50], values?.[51]]).toEqual([Number.NaN, Number.NaN]);
});

test('which end of an interval labels are, where it was stated, isn’t read off the totals', () => {
  const ends = HOURS.map((_, i) => `${HOURS[i + 1] ?? '2026-01-12 00:00'},${totals[i]}`);
  const { evidence } = read(table('Time,Usage today (kWh)', ends), { intervalEnd: true }).layout;
  expect(evidence.join('; ')).not.toContain('the day’s total starts anew');
});
