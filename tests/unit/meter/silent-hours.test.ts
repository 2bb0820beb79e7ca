import { makeAxis } from '@duskbank/core/axis';
import {
  checkMetering,
  faultsOf,
  type IntervalSeries,
  parseIntervalData,
  writeIntervalCsv,
} from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { cureOf } from '../../../packages/core/src/words/cures.ts';
import { randomOf } from '../../support/metered-home.ts';
import { makeSunHome } from '../../support/sun-homes.ts';

// A register that counts at certain hours only is asked about whatever the file is called (docs/reference/interval-files.md).

const ZONE = 'Etc/UTC';
/** Mean kW at an hour of a day, Monday is 0. */
type Course = (day: number, hour: number, weekday: number, random: () => number) => number;
const drawn = (hour: number, random: () => number) =>
  0.15 + 0.1 * random() + Math.exp(-(((hour - 19) / 2) ** 2)) * random();
/** From Monday 2 February 2026 on. */
const seriesOf = (days: number, stepMinutes: number, course: Course): IntervalSeries => {
  const perDay = 1440 / stepMinutes;
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 1, 2), stepMinutes, intervals: days * perDay, zone: ZONE });
  const random = randomOf(5);
  const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) => {
    const day = Math.floor(i / perDay);
    return Math.round(course(day, (i % perDay) / (perDay / 24), day % 7, random) * stepMinutes * 1000) / 60_000;
  });
  return { axis, importKwh };
};
const csv = ({ axis, importKwh }: IntervalSeries) => {
  const stamp = (i: number) => new Date(axis.startEpochMs + i * axis.stepMinutes * 60_000).toISOString().slice(0, 16);
  return [
    'Time,Consumption kWh',
    ...Array.from(importKwh!, (kwh, i) => `${stamp(i).replace('T', ' ')},${kwh}`),
    '',
  ].join('\n');
};
const nem12 = ({ axis, importKwh }: IntervalSeries) => {
  const perDay = 1440 / axis.stepMinutes;
  const days = axis.calendar.days.map(({ civilDay, firstInterval }) => {
    const date = new Date(civilDay * 86_400_000).toISOString().slice(0, 10).replaceAll('-', '');
    return `300,${date},${[...importKwh!.slice(firstInterval, firstInterval + perDay)].join(',')},A,,,,`;
  });
  const block = `200,6000000001,E1,E1,E1,N1,M1,kWh,${axis.stepMinutes},`;
  return ['100,NEM12,202606010000,MDP,RET', block, ...days, '900', ''].join('\n');
};
const asked = (text: string, options = {}) =>
  parseIntervalData(text, { zone: ZONE, ...options }).findings.filter(({ code }) => code === 'part-alone');

const between = (from: number, to: number, wander = 0): Course => {
  return (day, hour, _, random) => {
    const late = wander === 0 ? 0 : (((day * 7) % 5) - 2) * (wander / 2);
    return hour >= from + late && hour < to - late ? drawn(hour, random) : 0;
  };
};
const onDays = (is: (weekday: number, hour: number) => boolean): Course => {
  return (_, hour, weekday, random) => (is(weekday, hour) ? drawn(hour, random) : 0);
};

/** What carries the home in those hours is asked, and each answer has its cure: the one that leaves energy out last. */
test('the hint of silent hours asks what carries the home then, with what each answer takes', () => {
  const { hint } = cureOf('part-alone', 'a.csv', { role: 'load', silent: {} });
  const answers = [
    'Another register of the meter: ',
    'Solar panels: ',
    'A battery: ',
    'Nothing, because nobody is there',
  ];
  const at = answers.map((answer) => hint.indexOf(answer));
  expect(at.every((k) => k > 0)).toBe(true);
  expect(at).toEqual(at.toSorted((a, b) => a - b));
  expect(hint.startsWith('what carries the home in those hours?')).toBe(true);
  expect(hint.slice(at[3])).toContain('{ path: …, channel: load }');
});

describe('a register that counts at certain hours', () => {
  test.each([
    ['by day', between(7, 22)],
    ['at noon', between(10, 15)],
    ['by day, with edges that wander by a quarter', between(7, 22, 0.25)],
    ['by day, with edges that wander by an hour', between(7, 22, 1)],
    ['on weekends', onDays((weekday) => weekday > 4)],
    ['on weekends from Friday night', onDays((weekday, hour) => weekday > 4 || (weekday === 4 && hour >= 22))],
  ] as const)('is asked about in any file of ten days and more: %s', (_, course) => {
    for (const days of [10, 13, 20, 27, 60]) {
      const series = seriesOf(days, 15, course);
      expect(asked(csv(series)), `${days} days`).toHaveLength(1);
      expect(asked(nem12(series), { zone: 'Australia/Brisbane' }), `${days} days, NEM12`).toHaveLength(1);
      expect(asked(writeIntervalCsv(series)), `${days} days, our own`).toHaveLength(1);
    }
  });

  test.each([
    ['from Friday on', onDays((weekday) => weekday > 3)],
    ['until Thursday', onDays((weekday) => weekday < 4)],
  ] as const)('is asked about where it is of some weekdays, in three weeks and more: %s', (_, course) => {
    for (const days of [21, 28, 60]) expect(asked(csv(seriesOf(days, 30, course))), `${days} days`).toHaveLength(1);
  });

  test('by night is asked about in two weeks: in fewer a battery may have carried the days', () => {
    const night: Course = (_, hour, __, random) => (hour >= 22 || hour < 7 ? drawn(hour, random) : 0);
    expect(asked(csv(seriesOf(14, 15, night)))).toHaveLength(1);
    expect(asked(csv(seriesOf(13, 15, night)))).toEqual([]);
  });

  test('is all where it is said so, of our own file too', () => {
    const series = seriesOf(28, 60, between(7, 22));
    const kwh = series.importKwh!.reduce((sum, each) => sum + each, 0);
    for (const text of [csv(series), writeIntervalCsv(series)]) {
      expect(asked(text, { channel: 'import' })).toEqual([]);
      expect(asked(text, { billedKwh: kwh })).toEqual([]);
    }
  });
});

describe('a home that counts nothing for a time', () => {
  const home: Course = (_, hour, __, random) => drawn(hour, random);
  const away =
    (from: number, to: number): Course =>
    (day, hour, weekday, random) =>
      day >= from && day < to ? 0 : home(day, hour, weekday, random);
  test.each([
    ['never', home],
    ['for two weeks', away(5, 19)],
    ['for four weeks', away(20, 48)],
    ['for the first four', away(0, 28)],
    ['for all but two days', away(2, 40)],
    [
      'for days on which the sun carries it, and not at the same hours',
      ((day, hour, _, random) => {
        const [up, down] = [8 + ((day * 5) % 7) * 0.35, 17 - ((day * 3) % 6) * 0.5];
        return day % 5 > 0 && hour >= up && hour < down ? 0 : drawn(hour, random);
      }) as Course,
    ],
    [
      'for days and evenings that a battery carries',
      ((day, hour, _, random) =>
        day % 7 > 0 && hour >= 7.5 && hour < 20 + ((day * 7) % 11) * 0.9 ? 0 : drawn(hour, random)) as Course,
    ],
    ['where its meter is coarse', ((_, __, ___, random) => (random() < 0.4 ? 0 : 0.3)) as Course],
  ] as const)('isn’t asked: %s', (_, course) => {
    for (const days of [10, 20, 56, 90]) expect(asked(csv(seriesOf(days, 30, course))), `${days} days`).toEqual([]);
  });

  test('isn’t asked where it is read in whole kWh, of which its night is none', () => {
    const whole = csv(seriesOf(28, 60, (_, hour, __, random) => (hour < 6 ? 0 : random() < 0.5 ? 1 : 2)));
    expect(asked(whole)).toEqual([]);
  });

  test('isn’t asked where a battery carries it, from its import alone or beside its export', () => {
    for (let seed = 1; seed <= 8; seed++)
      for (const vehicle of [{}, { vehicle: 'night' }] as const) {
        const { axis, importKwh, exportKwh } = makeSunHome(seed, { battery: true, ...vehicle }).series;
        expect(asked(writeIntervalCsv({ axis, importKwh })), `seed ${seed}`).toEqual([]);
        expect(asked(writeIntervalCsv({ axis, importKwh, exportKwh })), `seed ${seed}`).toEqual([]);
      }
  });
});

test('a home that is off at night is told that its import and export look exchanged where they do', () => {
  // Drawn in the morning and in the evening, sold between them.
  const bought = seriesOf(28, 30, (_, hour, __, random) =>
    (hour >= 6 && hour < 9) || (hour >= 16 && hour < 22) ? drawn(hour, random) : 0,
  );
  const sold = seriesOf(28, 30, (_, hour, __, random) => (hour >= 9 && hour < 16 ? 1 + random() : 0));
  const { axis, importKwh } = bought;
  const right = asked(writeIntervalCsv({ axis, importKwh, exportKwh: sold.importKwh! }));
  expect(right).toHaveLength(1);
  expect(right[0]!.data).not.toHaveProperty('exchanged');
  // Hours of nothing may be those of a roof on another clock.
  const [silent] = faultsOf('a.csv', [{ ...right[0]!, severity: 'error' as const }]);
  expect(silent!.hint).toContain('state clock: utc of the file');
  const wrong = asked(writeIntervalCsv({ axis, importKwh: sold.importKwh!, exportKwh: importKwh! }));
  expect(wrong).toMatchObject([{ data: { exchanged: true }, message: expect.stringContaining('each other’s names') }]);
  const [fault] = faultsOf(
    'a.csv',
    wrong.map((finding) => ({ ...finding, severity: 'error' as const })),
  );
  expect(fault!.hint).toMatch(/^first look whether import and export are exchanged/);
});

describe('a channel that is stated as all, with silent hours', () => {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 28 * 24, zone: 'UTC' });
  const drawn = (from: number, to: number) =>
    Float64Array.from({ length: axis.intervals }, (_, i) => (i % 24 >= from && i % 24 < to ? 0 : 0.3 + (i % 7) / 10));
  const told = (importKwh: Float64Array, said: object) =>
    checkMetering({ axis, importKwh }, said).filter(({ code }) => code === 'silent-hours');

  test('is told with the battery that may carry them', () => {
    const [fault] = told(drawn(17, 21), { drawnIsAll: true });
    expect(fault).toMatchObject({ data: { channel: 'import', from: '17:00', to: '21:00' } });
    expect(fault!.meaning).toMatch(/^A battery that is there already/);
    // Asked where it isn't stated, and nothing to tell of what counts at all hours.
    expect(told(drawn(17, 21), {})).toEqual([]);
    expect(told(drawn(0, 0), { drawnIsAll: true })).toEqual([]);
  });
});

test('silent hours of a roof under labels of UTC are told as the clock’s first, those of a register as before', () => {
  const inZone = (zone: string, offsetHours: number, importKwh: Float64Array, stepMinutes: number) => {
    const stamp = (i: number) =>
      new Date(Date.UTC(2025, 0, 6) + i * stepMinutes * 60_000 - offsetHours * 3_600_000).toISOString();
    const rows = Array.from(importKwh, (kwh, i) => `${stamp(i).slice(0, 16).replace('T', ' ')},${kwh}`);
    return asked(['Start,Usage kWh', ...rows, ''].join('\n'), { zone });
  };
  for (const [zone, offsetHours] of [
    ['Australia/Brisbane', 10],
    ['Asia/Tokyo', 9],
    ['Asia/Kolkata', 5.5],
  ] as const) {
    for (const seed of [1, 3, 4, 6]) {
      const { axis, importKwh } = makeSunHome(seed, {}).series;
      const [found] = inZone(zone, offsetHours, importKwh, axis.stepMinutes);
      expect(found!.data, `${zone}, seed ${seed}`).toMatchObject({ isUtc: true });
      expect(found!.message).toContain('the clock is likelier another than a register missing');
      const [fault] = faultsOf('a.csv', [{ ...found!, severity: 'error' as const }]);
      expect(fault!.hint).toMatch(/^first look at the clock: where labels are UTC, state { path: …, clock: utc }/);
    }
    // Prices change by the clock of the meter: these labels are local.
    for (const [from, to] of [
      [7, 22],
      [9, 23],
    ] as const) {
      const [found] = inZone(zone, 0, seriesOf(28, 30, between(from, to)).importKwh!, 30);
      expect(found!.data).not.toHaveProperty('isUtc');
      expect(found!.message).toContain('so counts one register of several, or a home that is off then');
    }
  }
  // Hours that are the day's already, beside some of the night, in a zone near UTC.
  const both: Course = (day, hour, _, random) =>
    (hour >= 5 && hour < 9) || hour >= 17 + (day % 3) / 2 ? drawn(hour, random) : 0;
  const [found] = inZone('Europe/Berlin', 0, seriesOf(28, 30, both).importKwh!, 30);
  expect(found!.data).toMatchObject({ silent: { from: '09:00' } });
  expect(found!.data).not.toHaveProperty('isUtc');
});
