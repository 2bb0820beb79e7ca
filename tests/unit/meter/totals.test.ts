// Sums among the readings are no readings.
import { expect, test } from 'vitest';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

const use = (i: number) => 0.5 + (i % 5) * 0.1;
const sum = HOURS.reduce((kwh, _, i) => kwh + use(i), 0);
const dayOf = (i: number) => HOURS[i]!.slice(0, 10);
/** Hours, with a row for each day made of its sum, before or after its hours. */
const withSums = (row: (day: string, kwh: number) => string, before: boolean) =>
  table(
    'Start,Usage kWh',
    HOURS.flatMap((label, i) => {
      const hour = `${label},${use(i).toFixed(3)}`;
      const kwh = HOURS.reduce((all, _, k) => all + (dayOf(k) === dayOf(i) ? use(k) : 0), 0);
      if (before && i % 24 === 0) return [row(dayOf(i), kwh), hour];
      return !before && i % 24 === 23 ? [hour, row(dayOf(i), kwh)] : [hour];
    }),
  );

test('a sum of the day at its midnight is left out, wherever it stands and however its time is written', () => {
  for (const before of [true, false])
    for (const row of [
      (day: string, kwh: number) => `${day},${kwh.toFixed(3)}`,
      (day: string, kwh: number) => `${day} 00:00,${kwh.toFixed(1)}`,
    ]) {
      const text = withSums(row, before);
      expect(total(text, 'import')).toBeCloseTo(sum, 6);
      expect(read(text).findings.find(({ code }) => code === 'totals-row')).toMatchObject({
        severity: 'note',
        count: 7,
      });
    }
});

test('what is twice at midnight and no sum is a question that says what each answer makes', () => {
  const text = withSums((day) => `${day},3`, false);
  expect(errors(text)).toEqual(['duplicate-differs']);
  const { message } = read(text).findings[0]!;
  const kwh = (repeats: 'first' | 'last' | 'add') =>
    Number(total(text, 'import', { repeats }).toPrecision(4)).toLocaleString('en-US');
  for (const repeats of ['first', 'last', 'add'] as const) expect(message).toContain(`${repeats}: ${kwh(repeats)} kWh`);
});
