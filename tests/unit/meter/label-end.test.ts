// Which end of its interval a label names is one decision for all series of a file.
import { epochAtLocal, offsetMinutesAt } from '@duskbank/core/axis';
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

describe('hourly labels from 01:00 to midnight', () => {
  const week = (options: { ends?: boolean } = {}) => labels(60, { to: 8 * DAY_MS, ...options });
  const one = (list: readonly string[]) =>
    `Date,kWh\n${list.map((label, i) => `${label},${0.2 + (i % 24) / 100}`).join('\n')}\n`;
  const codes = (text: string, options: ParseOptions = {}) => read(text, options).findings.map(({ code }) => code);

  test('are ends: no file of starts begins an hour late', () => {
    for (const zone of ['UTC', 'America/Denver', 'Europe/Athens']) {
      const { series, layout, findings } = read(one(week({ ends: true })), { zone });
      expect(findings.map(({ code }) => code)).not.toContain('label-ends-asked');
      expect(layout.evidence).toContain(ENDS_BY_RUN);
      expect(series!.axis.calendar.minuteOfDay[0]).toBe(0);
      expect(series!.axis.intervals).toBe(192);
    }
  });

  test('are asked about an hour ahead of UTC, where whole days of UTC run so by their starts', () => {
    const text = one(week({ ends: true }));
    expect(codes(text, { zone: 'Europe/Berlin' })).toContain('label-ends-asked');
    expect(read(text, { zone: 'Europe/Berlin' }).series).toBeUndefined();
    for (const intervalEnd of [true, false]) {
      const { series, findings } = read(text, { zone: 'Europe/Berlin', intervalEnd });
      expect(findings.map(({ code }) => code)).not.toContain('label-ends-asked');
      expect(series!.axis.calendar.minuteOfDay[0]).toBe(intervalEnd ? 0 : 60);
    }
    // In summer whole days of UTC begin at 02:00 there.
    const summer = one(week({ ends: true }).map((label) => label.replace('2026-01', '2026-07')));
    expect(codes(summer, { zone: 'Europe/Berlin' })).not.toContain('label-ends-asked');
  });

  test('of a few days may begin so by chance; from midnight to 23:00 they are starts', () => {
    expect(read(one(labels(60, { ends: true }))).layout.evidence).not.toContain(ENDS_BY_RUN);
    expect(codes(one(week()), { zone: 'Europe/Berlin' })).not.toContain('label-ends-asked');
    expect(read(one(week()), { zone: 'Europe/Berlin' }).series!.axis.intervals).toBe(192);
  });

  test('beside hours that run as starts they are contradicted', () => {
    const text = file(rows('Delivered', week({ ends: true }), 0.2), rows('Received', week(), 0.1));
    expect(codes(text, { zone: 'America/Denver' })).toContain('label-ends-differ');
    expect(read(text).layout.evidence).toContain(CONTRADICTED);
  });
});

describe('labels of the last moment of an interval', () => {
  const LAST = 'labels are interval ends: each is the last second or minute of its interval';
  const late = (stepMinutes: number, lessSeconds: number) =>
    labels(stepMinutes, { to: 8 * DAY_MS, ends: true }).map((label) =>
      new Date(Date.parse(`${label.replace(' ', 'T')}Z`) - lessSeconds * 1000)
        .toISOString()
        .slice(0, lessSeconds < 60 ? 19 : 16)
        .replace('T', ' '),
    );
  const one = (list: readonly string[]) =>
    `Date,kWh\n${list.map((label, i) => `${label},${0.1 + (i % 9) / 50}`).join('\n')}\n`;

  test.each([
    [60, 1],
    [15, 1],
    [60, 60],
    [15, 60],
  ])('of %i minutes, %i seconds before the full step, are its end', (stepMinutes, lessSeconds) => {
    for (const options of [{}, { intervalEnd: true }]) {
      const { series, layout, findings } = read(one(late(stepMinutes, lessSeconds)), {
        zone: 'Europe/Berlin',
        ...options,
      });
      expect(series!.axis.calendar.minuteOfDay[0]).toBe(0);
      expect(series!.axis.intervals).toBe((8 * 1440) / stepMinutes);
      expect(layout.evidence).toContain('intervalEnd' in options ? 'labels are interval ends: stated' : LAST);
      expect(findings.filter(({ code }) => code !== 'coarse-steps')).toEqual([]);
    }
  });

  test('of five minutes may be a logger’s own, and stated starts stay starts', () => {
    expect(read(one(late(5, 60))).layout.evidence).not.toContain(LAST);
    expect(read(one(late(60, 60)), { intervalEnd: false }).series!.axis.calendar.minuteOfDay[0]).toBe(59);
  });
});

describe('a midnight written with the date of the day that it ends', () => {
  /** `2026-01-13 00:15` to `2026-01-13 23:45`, then `2026-01-13 00:00`. */
  const days = (stepMinutes: number) =>
    labels(stepMinutes, { to: 8 * DAY_MS, ends: true }).map((label, i) => {
      const date = new Date(FIRST + Math.floor((i * stepMinutes) / 1440) * DAY_MS).toISOString().slice(0, 10);
      return `${date} ${label.slice(11)}`;
    });
  const one = (list: readonly string[]) => `Date,kWh\n${list.join('\n')}\n`;
  /** Values that change from one interval to the next, so that one out of place shows. */
  const kwhAt = (i: number) => (1 + ((i * 29) % 97)) / 400;
  const valued = (list: readonly string[]) => list.map((label, i) => `${label},${kwhAt(i)}`);

  test.each([15, 30, 60])('is read as its end, and that is said (%i minutes)', (stepMinutes) => {
    for (const list of [valued(days(stepMinutes)), valued(days(stepMinutes)).reverse()]) {
      const { series, findings, layout } = read(one(list), { zone: 'America/Denver' });
      expect(layout.evidence).toContain(ENDS_BY_RUN);
      expect(series!.axis.calendar.minuteOfDay[0]).toBe(0);
      expect([...series!.importKwh!]).toEqual(Array.from({ length: (8 * 1440) / stepMinutes }, (_, i) => kwhAt(i)));
      expect(findings.find(({ code }) => code === 'midnight-of-its-day')).toMatchObject({ severity: 'note', count: 8 });
    }
  });

  test('is none where a day begins with it, in whatever order days stand', () => {
    const whole = valued(labels(15, { to: 8 * DAY_MS }));
    const byDay = Array.from({ length: 8 }, (_, d) => whole.slice(d * 96, d * 96 + 96));
    for (const list of [
      whole,
      [...whole].reverse(),
      byDay.toReversed().flat(),
      byDay.flatMap((day) => day.toReversed()),
      // The second half of each day before the first.
      byDay.flatMap((day) => [...day.slice(48), ...day.slice(0, 48)]),
    ]) {
      const { findings, series } = read(one(list), { zone: 'America/Denver' });
      expect(findings.map(({ code }) => code)).not.toContain('midnight-of-its-day');
      expect(series!.importKwh![0]).toBe(kwhAt(0));
    }
    expect(read(one(valued(days(15))), { intervalEnd: false }).findings.map(({ code }) => code)).not.toContain(
      'midnight-of-its-day',
    );
  });
});

describe('labels that are instants', () => {
  const MINUTE_MS = 60_000;
  const AT_HOME =
    'labels are interval ends: in the home’s time the first is one step after midnight, the last is midnight';
  /** What the home's clock shows, with its offset. */
  const withOffset = (ms: number, minutes: number) => {
    const size = Math.abs(minutes);
    const two = (n: number) => String(n).padStart(2, '0');
    const local = new Date(ms + minutes * MINUTE_MS).toISOString().slice(0, 19);
    return `${local}${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
  };
  const zulu = (ms: number) => new Date(ms).toISOString().replace('.000', '');
  /** Whole days of the home, from a local date on, by the starts or the ends of their intervals. */
  const instants = (zone: string, date: string, days: number, stepMinutes: number, ends: boolean) => {
    const from = epochAtLocal(zone, Date.parse(date));
    const to = epochAtLocal(zone, Date.parse(date) + days * DAY_MS);
    const list: number[] = [];
    for (let at = from; at < to; at += stepMinutes * MINUTE_MS) list.push(at + (ends ? stepMinutes * MINUTE_MS : 0));
    return { from, list };
  };
  const one = (list: readonly string[]) =>
    `Time,kWh\n${list.map((label, i) => `${label},${(1 + ((i * 29) % 97)) / 400}`).join('\n')}\n`;
  const codes = (text: string, options: ParseOptions) => read(text, options).findings.map(({ code }) => code);

  const ZONES = [
    'Europe/Berlin',
    'Europe/London',
    'America/Denver',
    'America/St_Johns',
    'Australia/Sydney',
    'Australia/Darwin',
    'Asia/Kolkata',
    'Asia/Kathmandu',
    'Etc/UTC',
  ];
  // The second holds the clock changes of both halves of the world.
  const SPANS = [
    ['2025-01-13', 9],
    ['2025-03-01', 60],
    ['2025-09-20', 60],
  ] as const;

  test.each(ZONES)('of whole days in %s, in quarters and half hours, name what they run as', (zone) => {
    for (const [date, days] of SPANS)
      for (const stepMinutes of [15, 30])
        for (const ends of [false, true])
          for (const form of ['offset', 'zulu'] as const) {
            const { from, list } = instants(zone, date, days, stepMinutes, ends);
            const text = one(
              list.map((ms) => (form === 'zulu' ? zulu(ms) : withOffset(ms, offsetMinutesAt(zone, ms)))),
            );
            const { series, layout, findings } = read(text, { zone });
            const told = `${date} ${stepMinutes} ${ends} ${form}`;
            expect([told, findings.map(({ code }) => code).filter((code) => code.startsWith('label'))]).toEqual([
              told,
              [],
            ]);
            expect([told, series?.axis.startEpochMs]).toEqual([told, from]);
            expect([told, layout.evidence.includes(AT_HOME) || layout.evidence.includes(ENDS_BY_RUN)]).toEqual([
              told,
              ends,
            ]);
          }
  });

  test('of hours are ends too, but asked about where starts of another clock’s days run so', () => {
    for (const [zone, form, date, asked] of [
      ['America/Denver', 'offset', '2025-01-13', false],
      ['America/Denver', 'zulu', '2025-01-13', false],
      ['America/Denver', 'offset', '2025-07-13', false],
      // Starts of days of standard time.
      ['America/Denver', 'zulu', '2025-07-13', true],
      ['Australia/Sydney', 'zulu', '2025-01-13', true],
      ['Europe/Athens', 'zulu', '2025-01-13', false],
      ['Europe/Berlin', 'offset', '2025-01-13', true],
      ['Europe/Berlin', 'offset', '2025-07-13', false],
    ] as const) {
      const { from, list } = instants(zone, date, 9, 60, true);
      const text = one(list.map((ms) => (form === 'zulu' ? zulu(ms) : withOffset(ms, offsetMinutesAt(zone, ms)))));
      const told = `${zone} ${form} ${date}`;
      expect([told, codes(text, { zone }).includes('label-ends-asked')]).toEqual([told, asked]);
      expect([told, read(text, { zone }).series?.axis.startEpochMs]).toEqual([told, asked ? undefined : from]);
      expect(read(text, { zone, intervalEnd: true }).series!.axis.startEpochMs).toBe(from);
      expect(read(text, { zone, intervalEnd: false }).series!.axis.startEpochMs).toBe(from + 3_600_000);
      // By their starts they are never asked about.
      const { list: starts } = instants(zone, date, 9, 60, false);
      const honest = one(starts.map((ms) => (form === 'zulu' ? zulu(ms) : withOffset(ms, offsetMinutesAt(zone, ms)))));
      expect([told, read(honest, { zone }).series?.axis.startEpochMs]).toEqual([told, from]);
    }
  });

  test('half hours of days of the next zone’s standard time are asked about where the home’s is half an hour off', () => {
    const { list } = instants('Australia/Brisbane', '2025-01-13', 9, 30, false);
    expect(codes(one(list.map(zulu)), { zone: 'Australia/Adelaide' })).toContain('label-ends-asked');
    const { from, list: quarters } = instants('Australia/Brisbane', '2025-01-13', 9, 15, false);
    expect(read(one(quarters.map(zulu)), { zone: 'Australia/Adelaide' }).series!.axis.startEpochMs).toBe(from);
  });

  test('of whole days of UTC are starts, and so are those of standard time by the offset that they print', () => {
    for (const zone of ['Europe/Berlin', 'America/Denver', 'Australia/Sydney'])
      for (const stepMinutes of [15, 30, 60]) {
        const { from, list } = instants('Etc/UTC', '2025-01-13', 9, stepMinutes, false);
        expect(read(one(list.map(zulu)), { zone }).series!.axis.startEpochMs).toBe(from);
        expect(codes(one(list.map(zulu)), { zone })).not.toContain('label-ends-asked');
      }
    const { from, list } = instants('Australia/Brisbane', '2025-01-13', 9, 60, false);
    const standard = one(list.map((ms) => withOffset(ms, 600)));
    expect(read(standard, { zone: 'Australia/Sydney' }).series!.axis.startEpochMs).toBe(from);
  });

  test('of whole days of UTC from 00:15 to 00:00 are ends, and so are the home’s days where the clock is stated as UTC', () => {
    const { from, list } = instants('Etc/UTC', '2025-01-13', 9, 15, true);
    expect(read(one(list.map(zulu)), { zone: 'America/Denver' }).series!.axis.startEpochMs).toBe(from);
    const { from: home, list: ends } = instants('America/Denver', '2025-01-13', 9, 15, true);
    const bare = one(ends.map((ms) => zulu(ms).replace('Z', '')));
    expect(read(bare, { zone: 'America/Denver', clock: 'utc' }).series!.axis.startEpochMs).toBe(home);
  });

  test('whose step changes are ends as well', () => {
    const zone = 'America/Denver';
    const { from, list } = instants(zone, '2025-01-13', 4, 30, true);
    const { list: finer } = instants(zone, '2025-01-17', 4, 15, true);
    for (const write of [zulu, (ms: number) => withOffset(ms, -420)]) {
      const { series, findings } = read(one([...list, ...finer].map(write)), { zone });
      expect(findings.map(({ code }) => code)).toContain('steps-change');
      expect(series!.axis).toMatchObject({ startEpochMs: from, intervals: 8 * 48 });
    }
  });
});
