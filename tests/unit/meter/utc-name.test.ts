// A column that is named for UTC holds UTC, wherever in a day the file begins.
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const HOUR_MS = 3_600_000;
const BY_NAME = 'labels are UTC: by the column’s name';

/** Labels of thirty minutes, as ISO times without an offset. */
function stamps(from: string, hours: number): string[] {
  const list: string[] = [];
  const fromMs = Date.parse(`${from}Z`);
  for (let at = fromMs; at < fromMs + hours * HOUR_MS; at += HOUR_MS / 2)
    list.push(new Date(at).toISOString().slice(0, 16).replace('T', ' '));
  return list;
}

const file = (name: string, list: readonly string[]) =>
  `${name},kWh\n${list.map((label, i) => `${label},${(1 + ((i * 29) % 97)) / 400}`).join('\n')}\n`;
const read = (text: string, options: ParseOptions = {}) =>
  parseIntervalData(text, { zone: 'Australia/Sydney', ...options });
const codes = (text: string, options: ParseOptions = {}) => read(text, options).findings.map(({ code }) => code);

// From the middle of a day in summer over a spring and an autumn of the home's clock.
const YEAR = stamps('2024-12-31T18:30', 365 * 24);

test.each([
  'timestamp_utc',
  'timestampUTC',
  'UTCTimestamp',
  'startUtc',
  'utc',
  'datetimeutc',
  'Zeit (UTC)',
  'Time (UTC)',
  'Time (GMT)',
  'Time GMT+0',
  'Time (UTC+00:00)',
  'Time [Z]',
])('"%s" is UTC, and the layout says so', (name) => {
  const { series, findings, layout } = read(file(name, YEAR));
  expect(findings.map(({ code }) => code)).toEqual(['coarse-steps']);
  expect(series!.axis).toMatchObject({
    startEpochMs: Date.parse('2024-12-31T18:30Z'),
    intervals: YEAR.length,
  });
  expect(layout.evidence).toContain(BY_NAME);
});

test.each([
  'timestamp',
  'Time (UTC+1)',
  'Time (UTC +10:00)',
  'Time UTC-7',
  'UTC offset time',
  'Local time (UTC)',
  'Time (GMT/BST)',
  'Zeit',
])('"%s" isn’t', (name) => {
  const { layout } = read(file(name, stamps('2025-07-01T18:30', 48)));
  expect(layout.evidence).not.toContain(BY_NAME);
  expect(read(file(name, stamps('2025-07-01T18:30', 48))).series!.axis.startEpochMs).toBe(
    Date.parse('2025-07-01T08:30Z'),
  );
});

test('a date and a time apart are of UTC where either says so', () => {
  const rows = stamps('2025-07-01T18:30', 48).map((label) => `${label.replace(' ', ',')},0.2`);
  for (const head of ['Date (UTC),Time', 'Date,Time (UTC)'])
    expect(read(`${head},kWh\n${rows.join('\n')}\n`).series!.axis.startEpochMs).toBe(Date.parse('2025-07-01T18:30Z'));
});

describe('the name and the labels', () => {
  // What the clock of the home shows: it skips 02:00 on 2025-10-05, and repeats it on 2025-04-06.
  const local = (from: string, hours: number, offset: (ms: number) => number) =>
    stamps(from, hours).map((label) => {
      const ms = Date.parse(`${label.replace(' ', 'T')}Z`);
      return new Date(ms + offset(ms) * HOUR_MS).toISOString().slice(0, 16).replace('T', ' ');
    });
  const spring = local('2025-10-01T04:30', 200, (ms) => (ms < Date.parse('2025-10-04T16:00Z') ? 10 : 11));
  const autumn = local('2025-04-02T04:30', 200, (ms) => (ms < Date.parse('2025-04-05T16:00Z') ? 11 : 10));

  test('contradict each other where labels change with the clock of the home: that is asked', () => {
    for (const list of [spring, autumn]) {
      expect(codes(file('timestamp_utc', list))).toEqual(['utc-name-contradicted']);
      const { series, findings } = read(file('timestamp_utc', list), { clock: 'local' });
      expect(findings.map(({ code }) => code)).not.toContain('gap');
      expect(series!.axis.intervals).toBe(400);
    }
    expect(codes(file('time', spring))).not.toContain('utc-name-contradicted');
  });

  test('yield to what is stated, and to an offset that labels print', () => {
    const list = stamps('2025-07-01T18:30', 48);
    for (const clock of ['local', 'standard'] as const)
      expect(read(file('timestamp_utc', list), { clock }).series!.axis.startEpochMs).toBe(
        Date.parse('2025-07-01T08:30Z'),
      );
    const offset = list.map((label) => `${label.replace(' ', 'T')}:00+10:00`);
    expect(read(file('timestamp_utc', offset)).series!.axis.startEpochMs).toBe(Date.parse('2025-07-01T08:30Z'));
  });

  test('tell ends of the home’s days as labels with Z do', () => {
    const ends = stamps('2025-07-01T14:30', 9 * 24);
    const { series } = read(file('timestamp_utc', ends));
    expect(series!.axis.startEpochMs).toBe(Date.parse('2025-07-01T14:00Z'));
  });
});

describe('a row a day under a column of dates that is named for UTC', () => {
  const kwhAt = (i: number) => (1 + ((i * 29) % 97)) / 40;
  const HOURS = Array.from({ length: 24 }, (_, hour) => hour);
  const two = (n: number) => String(n).padStart(2, '0');
  const wide = (date: string, names: (hour: number) => string) =>
    [
      [date, ...HOURS.map(names)].join(','),
      ...Array.from({ length: 365 }, (_, day) =>
        [
          new Date(Date.UTC(2025, 0, 1 + day)).toISOString().slice(0, 10),
          ...HOURS.map((hour) => kwhAt(24 * day + hour).toFixed(3)),
        ].join(','),
      ),
      '',
    ].join('\n');

  test.each([
    ['H0, H1, …', (hour: number) => `H${hour}`],
    ['00:00, 01:00, …', (hour: number) => `${two(hour)}:00`],
  ])('has the days of UTC, by columns %s', (_, names) => {
    for (const date of ['date_utc', 'Date (UTC)', 'Datum (GMT)']) {
      const { series, findings, layout } = read(wide(date, names), { unit: 'kWh' });
      expect(series!.axis).toMatchObject({ startEpochMs: Date.UTC(2025, 0, 1), intervals: 365 * 24, stepMinutes: 60 });
      expect([...series!.importKwh!]).toEqual(Array.from({ length: 365 * 24 }, (_, i) => kwhAt(i)));
      expect(findings.map(({ code }) => code)).not.toContain('clock-standard');
      expect(layout.evidence).toContain(BY_NAME);
    }
    const { series, layout } = read(wide('Date', names), { unit: 'kWh' });
    expect(series!.axis.startEpochMs).toBe(Date.parse('2024-12-31T14:00Z'));
    expect(layout.evidence).not.toContain(BY_NAME);
  });

  test('is on the clock that is stated, where one is', () => {
    const { series } = read(
      wide('date_utc', (hour) => `H${hour}`),
      { unit: 'kWh', clock: 'standard' },
    );
    expect(series!.axis.startEpochMs).toBe(Date.parse('2024-12-31T14:00Z'));
  });
});
