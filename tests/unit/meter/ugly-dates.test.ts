// Dates and times that a spreadsheet or a portal has shortened: the year first with two digits, AM and PM lost, the year lost.
import type { ParseOptions } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { errors, read } from '../../support/meter-tables.ts';

const kwh = (i: number) => 0.3 + (i % 11) * 0.04;
const MONTHS = 'Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec'.split(' ');

interface Label {
  readonly date: string;
  readonly short: string;
  readonly time: string;
  readonly month: number;
  readonly day: number;
  /** Minutes of a clock of twelve hours. */
  readonly twelve: string;
}

/** Labels of local time, step by step. */
function labels(days: number, first: string, minutes = 60): Label[] {
  return Array.from({ length: (days * 1440) / minutes }, (_, i) => {
    const iso = new Date(Date.parse(`${first}Z`) + i * minutes * 60_000).toISOString();
    const hour = Number(iso.slice(11, 13)) % 12 || 12;
    return {
      date: iso.slice(0, 10),
      short: iso.slice(2, 10),
      time: iso.slice(11, 16),
      month: Number(iso.slice(5, 7)),
      day: Number(iso.slice(8, 10)),
      twelve: `${hour}:${iso.slice(14, 16)}`,
    };
  });
}

const file = (all: readonly Label[], row: (label: Label) => string, header = 'When,Usage (kWh)') =>
  `${[header, ...all.map((label, i) => `${row(label)},${kwh(i).toFixed(2)}`)].join('\n')}\n`;
/** First start in UTC, intervals, and the first and last value: where the readings stand. */
const placed = (text: string, options: ParseOptions = {}) => {
  const { series } = read(text, options);
  const values = series?.importKwh ?? new Float64Array();
  return {
    start: series === undefined ? undefined : new Date(series.axis.startEpochMs).toISOString(),
    values: [...values].map((value) => Number(value.toFixed(2))),
  };
};
const truth = (all: readonly Label[], start: string) => ({
  start,
  values: all.map((_, i) => Number(kwh(i).toFixed(2))),
});

describe('two digits of a year in front', () => {
  test.each([
    ['a month', 60, '2024-01-01', '-'],
    ['from the middle of a month', 20, '2024-01-13', '/'],
    ['days that may be months', 9, '2010-12-02', '-'],
    ['across a year', 40, '2023-12-10', '.'],
    ['two days', 2, '2024-01-05', '-'],
  ])('%s: the order in which dates follow each other', (_, days, first, mark) => {
    const all = labels(days, first);
    const text = file(all, ({ short, time }) => `${short.replaceAll('-', mark)} ${time}`);
    expect(placed(text)).toEqual(truth(all, `${first}T07:00:00.000Z`));
  });

  test('newest first, and every second day', () => {
    const all = labels(20, '2024-01-01').filter(({ day }) => day % 2 === 1);
    const text = file(all.toReversed(), ({ short, time }) => `${short} ${time}`);
    expect(placed(text).start).toBe('2024-01-01T07:00:00.000Z');
  });

  test('the day in front stays the day', () => {
    const all = labels(20, '2024-01-13');
    const text = file(all, ({ date, time }) => `${date.slice(8)}/${date.slice(5, 7)}/${date.slice(2, 4)} ${time}`);
    expect(placed(text)).toEqual(truth(all, '2024-01-13T07:00:00.000Z'));
    const single = file(labels(1, '2024-01-13'), ({ time }) => `13/01/24 ${time}`);
    expect(placed(single).start).toBe('2024-01-13T07:00:00.000Z');
  });

  test('one date that may be any is asked about, and the year in front is an answer', () => {
    const text = file(labels(1, '2010-11-12'), ({ short, time }) => `${short} ${time}`);
    expect(errors(text)).toEqual(['date-order-unclear']);
    expect(placed(text, { dateOrder: 'year-first' }).start).toBe('2010-11-12T07:00:00.000Z');
  });
});

describe('AM and PM lost', () => {
  test.each([
    ['hours', 60, ({ date, twelve }: Label) => `${date} ${twelve}`, 5],
    ['half hours, month first', 30, ({ month, day, twelve }: Label) => `${month}/${day}/2024 ${twelve}`, 20],
    ['quarter hours', 15, ({ date, twelve }: Label) => `${date} ${twelve}`, 4],
  ])('%s: each date runs through its hours twice, and the fact is told', (_, minutes, row, days) => {
    const all = labels(days, '2024-01-05', minutes);
    const text = file(all, row);
    expect(placed(text)).toEqual(truth(all, '2024-01-05T07:00:00.000Z'));
    expect(read(text).findings).toContainEqual(
      expect.objectContaining({ code: 'half-days-restored', severity: 'warning' }),
    );
  });

  test('newest first', () => {
    const all = labels(5, '2024-01-05');
    const text = file(all.toReversed(), ({ date, twelve }) => `${date} ${twelve}`);
    expect(placed(text).values).toEqual([...truth(all, '').values].reverse());
  });

  test('the first date begins in the afternoon, the last ends in the morning', () => {
    const all = labels(5, '2024-01-05T15:00').slice(0, 4 * 24 - 6);
    const text = file(all, ({ date, twelve }) => `${date} ${twelve}`);
    expect(placed(text)).toEqual(truth(all, '2024-01-05T22:00:00.000Z'));
  });

  test('the ends of hours, midnight as the last of its date', () => {
    const all = labels(5, '2024-01-05');
    const ends = labels(5, '2024-01-05T01:00');
    const rows = all.map(({ date }, i) => `${date} ${ends[i]!.twelve},${kwh(i).toFixed(2)}`);
    expect(placed(`When,Usage (kWh)\n${rows.join('\n')}\n`)).toEqual(truth(all, '2024-01-05T07:00:00.000Z'));
  });

  test('both ends in columns of their own', () => {
    const all = labels(5, '2024-01-05');
    const ends = labels(5, '2024-01-05T01:00');
    const rows = all.map(({ date, twelve }, i) => `${date},${twelve},${ends[i]!.twelve},${kwh(i).toFixed(2)}`);
    const text = `Date,Start time,End time,Usage (kWh)\n${rows.join('\n')}\n`;
    expect(placed(text)).toEqual(truth(all, '2024-01-05T07:00:00.000Z'));
  });

  // In Denver clocks went back on 3 November 2024 and on on 10 March.
  test.each([
    ['autumn', '2024-11-01', 60],
    ['autumn in quarter hours', '2024-11-01', 15],
    ['spring', '2024-03-08', 60],
  ])('over a clock change in %s', (_, first, minutes) => {
    const startMs = Date.parse(`${first}T${first.includes('-11-') ? '06' : '07'}:00Z`);
    const n = (5 * 1440) / minutes;
    const form = new Intl.DateTimeFormat('en-US', {
      timeZone: 'America/Denver',
      dateStyle: 'short',
      timeStyle: 'short',
    });
    const rows = Array.from({ length: n }, (_, i) => {
      const [date, time] = form.format(startMs + i * minutes * 60_000).split(', ') as [string, string];
      return `${date} ${time.slice(0, -3)},${kwh(i).toFixed(2)}`;
    });
    const got = placed(`When,Usage (kWh)\n${rows.join('\n')}\n`);
    expect(got.start).toBe(new Date(startMs).toISOString());
    expect(got.values).toEqual(Array.from({ length: n }, (_, i) => Number(kwh(i).toFixed(2))));
  });

  test('rows that don’t run through a date twice are a question, never repeats', () => {
    const all = labels(5, '2024-01-05');
    const beside = all
      .filter(({ time }) => time < '12:00')
      .flatMap(({ date, twelve }, i) => [`${date} ${twelve},${kwh(i)}`, `${date} ${twelve},${kwh(i + 3)}`]);
    expect(errors(`When,Usage (kWh)\n${beside.join('\n')}\n`)).toEqual(['half-days-unclear']);
    const torn = all.filter(({ day, time }) => day !== 7 || time < '05:00' || time > '16:00');
    expect(errors(file(torn, ({ date, twelve }) => `${date} ${twelve}`))).toEqual(['half-days-unclear']);
  });

  test('hours told by the numbers 1 to 12 are a question: twelve may begin a half or end it', () => {
    const numbered = labels(5, '2024-01-05').map(({ date, twelve }, i) => `${date},${parseInt(twelve, 10)},${kwh(i)}`);
    expect(errors(`Date,Hour,Usage (kWh)\n${numbered.join('\n')}\n`)).toEqual(['half-days-unclear']);
  });

  test('a clock of 24 hours is left as it is', () => {
    const text = file(labels(5, '2024-01-05'), ({ date, time }) => `${date} ${time}`);
    expect(read(text).findings.map(({ code }) => code)).not.toContain('half-days-restored');
  });
});

describe('dates whose year a spreadsheet has lost', () => {
  test.each([
    [
      'a column of dates',
      'Date,Time,Usage (kWh)',
      ({ day, month, time }: Label) => `${day}-${MONTHS[month - 1]},${time}`,
    ],
    ['beside the time', 'When,Usage (kWh)', ({ day, month, time }: Label) => `${day}-${MONTHS[month - 1]} ${time}`],
    ['the month first', 'When,Usage (kWh)', ({ day, month, time }: Label) => `${MONTHS[month - 1]} ${day} ${time}`],
  ])('%s', (_, header, row) => {
    const all = labels(40, '2024-01-01');
    const text = file(all, row, header);
    expect(read(text).findings).toContainEqual(
      expect.objectContaining({ code: 'year-missing', message: expect.stringContaining('--year') }),
    );
    expect(placed(text, { year: 2024 })).toEqual(truth(all, '2024-01-01T07:00:00.000Z'));
  });

  test('a month and its year is no day', () => {
    const rows = MONTHS.map((month) => `${month}-24,${400}`);
    expect(errors(`Month,kWh\n${rows.join('\n')}\n`)).toEqual(['no-interval-data']);
  });
});
