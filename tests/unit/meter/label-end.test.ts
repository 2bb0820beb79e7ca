// Which end of its interval a label names is one decision for all series of a file.
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const DAY_MS = 86_400_000;
const FIRST = Date.UTC(2026, 0, 13);
const ENDS_BY_RUN = 'labels are interval ends: the first is one step after midnight, the last is midnight';
const CONTRADICTED =
  'labels are taken as the start of their interval: some series run as starts do and some as ends do';

/** Labels of two days: `2026-01-13 00:15`, … */
function labels(stepMinutes: number, { from = 0, to = 2 * DAY_MS, ends = false } = {}): string[] {
  const stepMs = stepMinutes * 60_000;
  const list: string[] = [];
  for (let at = from; at < to; at += stepMs)
    list.push(new Date(FIRST + at + (ends ? stepMs : 0)).toISOString().slice(0, 16).replace('T', ' '));
  return list;
}

const rows = (type: string, list: readonly string[], kwh: number) => list.map((label) => `${label},${type},${kwh}`);
const file = (...parts: string[][]) => `Time,Direction,kWh\n${parts.flat().join('\n')}\n`;
const read = (text: string, options: ParseOptions = {}) => parseIntervalData(text, { zone: 'UTC', ...options });
/** First and last interval, of two days of 15 minutes, that hold a reading. */
const spanOf = (values: Float64Array | undefined) =>
  values === undefined
    ? undefined
    : [values.findIndex((kwh) => !Number.isNaN(kwh)), values.findLastIndex((kwh) => !Number.isNaN(kwh))];

describe('series of one file', () => {
  test('Delivered and Received rows labelled by interval end land on the same intervals', () => {
    const ends = labels(15, { ends: true });
    const { series, findings, layout } = read(file(rows('Delivered', ends, 0.2), rows('Received', ends, 0.1)));
    expect(findings).toEqual([]);
    expect(series?.axis).toMatchObject({ startEpochMs: FIRST, intervals: 192 });
    expect(spanOf(series?.importKwh)).toEqual([0, 191]);
    expect(spanOf(series?.exportKwh)).toEqual([0, 191]);
    expect(layout.evidence.filter((line) => line.startsWith('labels'))).toEqual([ENDS_BY_RUN]);
  });

  test.each([
    ['first', true],
    ['last', false],
  ])('one series that starts and stops within a day follows the other, be it the %s', (_, partFirst) => {
    const whole = rows('Delivered', labels(15, { ends: true }), 0.2);
    // Export from 09:00 to 15:00 of the second day, its labels 09:15 to 15:00.
    const part = rows(
      'Received',
      labels(15, { from: DAY_MS + 9 * 3_600_000, to: DAY_MS + 15 * 3_600_000, ends: true }),
      0.1,
    );
    const { series, layout } = read(partFirst ? file(part, whole) : file(whole, part));
    expect(spanOf(series?.importKwh)).toEqual([0, 191]);
    expect(spanOf(series?.exportKwh)).toEqual([96 + 36, 96 + 59]);
    expect(layout.evidence).toContain(ENDS_BY_RUN);
  });

  test('series whose runs contradict each other are all taken as starts, and that is told', () => {
    const text = file(rows('Delivered', labels(15, { ends: true }), 0.2), rows('Received', labels(15), 0.1));
    const { series, layout, findings } = read(text);
    expect(series?.axis).toMatchObject({ startEpochMs: FIRST, intervals: 193 });
    expect(spanOf(series?.importKwh)).toEqual([1, 192]);
    expect(spanOf(series?.exportKwh)).toEqual([0, 191]);
    expect(layout.evidence).toContain(CONTRADICTED);
    // A quarter of an hour at either end has a reading of one series only.
    expect(findings.map(({ code, severity }) => `${severity} ${code}`)).toEqual([
      'warning label-ends-differ',
      'warning gap',
    ]);
    expect(read(text, { intervalEnd: true }).findings.map(({ code }) => code)).toEqual(['gap']);
  });

  test('what the user states holds for all of them', () => {
    const ends = labels(15, { ends: true });
    const text = file(rows('Delivered', ends, 0.2), rows('Received', ends, 0.1));
    const { series, layout } = read(text, { intervalEnd: false });
    expect(spanOf(series?.importKwh)).toEqual([0, 191]);
    expect(spanOf(series?.exportKwh)).toEqual([0, 191]);
    expect(series?.axis.startEpochMs).toBe(FIRST + 900_000);
    expect(layout.evidence).toContain('labels are interval starts: stated');
  });

  test('a table without a word about it follows the one whose header names interval ends', () => {
    const first = labels(15, { to: DAY_MS, ends: true });
    const second = labels(15, { from: DAY_MS, to: DAY_MS + 18 * 3_600_000, ends: true });
    const table = (header: string, list: readonly string[]) => [header, ...list.map((label) => `${label},0.2`)];
    for (const [names, told] of [
      [['Interval End,kWh', 'Time,kWh'], 'labels are interval ends: by the column’s name'],
      [['Time,kWh', 'Interval End,kWh'], 'labels are interval ends: others of the file are'],
    ] as const) {
      const text = `${[...table(names[0], first), ...table(names[1], second)].join('\n')}\n`;
      const { series, layout } = read(text, { channel: 'import' });
      expect(series?.axis).toMatchObject({ startEpochMs: FIRST, intervals: 96 + 72 });
      expect(spanOf(series?.importKwh)).toEqual([0, 167]);
      expect(layout.evidence).toContain(told);
    }
  });
});
