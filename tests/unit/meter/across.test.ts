import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, it } from 'vitest';

const DAYS = 12;
const kwh = (d: number, k: number) => ((d * 31 + k * 17) % 90) / 100 + 0.05;
const pad = (n: number) => String(n).padStart(2, '0');

/** A column a day, `perDay` rows down. */
function across(
  perDay: number,
  { corner = 'Time (kWh)', date = (d: number) => `2026-06-${pad(d + 1)}`, sep = ',', tail = '', head = '' } = {},
): string {
  const rows = [[corner, ...Array.from({ length: DAYS }, (_, d) => date(d))]];
  for (let k = 0; k < perDay; k++) {
    const minute = (k * 1440) / perDay;
    const cells = Array.from({ length: DAYS }, (_, d) => kwh(d, k).toFixed(2));
    rows.push([`${pad(Math.floor(minute / 60))}:${pad(minute % 60)}`, ...cells]);
  }
  return `${head}${rows.map((row) => row.join(sep)).join('\n')}\n${tail}`;
}

const read = (text: string, more: object = {}) => parseIntervalData(text, { zone: 'Etc/UTC', ...more });
const sumOf = (perDay: number) => {
  let sum = 0;
  for (let d = 0; d < DAYS; d++) for (let k = 0; k < perDay; k++) sum += kwh(d, k);
  return sum;
};

describe('a table with a column a day', () => {
  it.each([
    ['hours', 24, {}],
    ['half hours between semicolons', 48, { sep: ';' }],
    ['quarter hours between tabs, under a title', 96, { sep: '\t', head: 'Consumption in kWh\n\n' }],
    ['dates day first', 24, { date: (d: number) => `${pad(d + 10)}/06/2026` }],
    ['months by name', 24, { date: (d: number) => `${d + 1} Jun 2026` }],
  ])('of %s is read to the last reading', (_, perDay, form) => {
    const { series, findings, layout } = read(across(perDay, form), { channel: 'import' });
    expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
    expect(layout.name).toBe('a column a day');
    expect(series!.axis.intervals).toBe(DAYS * perDay);
    expect(series!.axis.stepMinutes).toBe(1440 / perDay);
    expect(series!.importKwh!.reduce((a, b) => a + b, 0)).toBeCloseTo(sumOf(perDay), 6);
    // The second reading of the third day.
    expect(series!.importKwh![2 * perDay + 1]).toBeCloseTo(kwh(2, 1), 9);
  });

  it('has totals below it that are told and left out', () => {
    const totals = `Total,${Array.from({ length: DAYS }, () => '9.99').join(',')}\n`;
    const { series, findings } = read(across(24, { tail: totals }), { channel: 'import' });
    expect(series!.importKwh!.reduce((a, b) => a + b, 0)).toBeCloseTo(sumOf(24), 6);
    expect(findings.map(({ code }) => code)).toContain('row-without-time');
  });

  it('keeps a blank as a gap', () => {
    const text = across(24).replace(/\n05:00,[^,]*,/, '\n05:00,,');
    const { series } = read(text, { channel: 'import' });
    expect(Number.isNaN(series!.importKwh![5]!)).toBe(true);
    expect(Number.isNaN(series!.importKwh![6]!)).toBe(false);
  });

  it('is not what a row an interval looks like, be there dates in its cells', () => {
    const rows = Array.from(
      { length: 48 },
      (_, k) => `2026-06-0${1 + Math.floor(k / 24)},${pad(k % 24)}:00,0.25,2026-06-09`,
    );
    expect(read(`date,time,kWh,billed on\n${rows.join('\n')}\n`, { channel: 'import' }).layout.name).not.toBe(
      'a column a day',
    );
  });
});

it('of three days is a table with a column a day; of two it may be anything', () => {
  const days = (count: number) =>
    across(24)
      .split('\n')
      .map((row) =>
        row
          .split(',')
          .slice(0, count + 1)
          .join(','),
      );
  const three = read(days(3).join('\n'), { channel: 'import' });
  expect(three.layout.name).toBe('a column a day');
  expect(three.series!.axis.intervals).toBe(72);
  expect(read(days(2).join('\n'), { channel: 'import' }).layout?.name).not.toBe('a column a day');
});
