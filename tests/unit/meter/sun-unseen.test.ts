import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type IntervalSeries } from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';
import { randomOf } from '../../support/metered-home.ts';
import { makeSunHome, type SunHome } from '../../support/sun-homes.ts';

// A refrigerator runs at noon as at night: what draws nothing about noon, and something at night, has a roof (common practice, no source).

const SEEDS = [1, 2, 3, 4, 5, 6, 7, 8];
const told = (series: IntervalSeries, said = {}) =>
  checkMetering(series, said).filter(({ code }) => code === 'sun-unseen');
const kwhAt = ({ axis }: IntervalSeries, kwh: Float64Array, of: (hour: number, kwh: number, day: number) => number) =>
  kwh.map((one, i) => of(axis.calendar.minuteOfDay[i]! / 60, one, axis.calendar.day[i]!));

/** A channel under labels that are some hours late. */
const rolled = (axis: IntervalSeries['axis'], kwh: Float64Array, hours: number) => {
  const steps = Math.round(hours / axis.stepHours);
  return kwh.map((_, i) => kwh[(i - steps + kwh.length) % kwh.length]!);
};

/** What such a home drew without its roof: its own draw of the night, at every hour. */
const WITHOUT_SUN: readonly (readonly [string, (hour: number, kwh: number, day: number) => number])[] = [
  ['draws a third of it by day', (hour, kwh) => (hour >= 8 && hour < 18 ? 0.35 * kwh : kwh)],
  ['heats at night', (hour, kwh) => kwh + (hour < 6 ? 3 : 0)],
  ['is off on every ninth day', (_, kwh, day) => (day % 9 === 0 ? 0 : kwh)],
];

describe('what is drawn of a home with a roof, without what it sells', () => {
  test.each<SunHome>([{}, { vehicle: 'night' }, { load: 'heat-pump' }, { load: 'cooling' }])('is told: %j', (has) => {
    for (const seed of SEEDS) {
      const { axis, importKwh, exportKwh } = makeSunHome(seed, has).series;
      expect(told({ axis, importKwh }), `seed ${seed}`).toMatchObject([{ data: { channel: 'import' } }]);
      expect(told({ axis, loadKwh: importKwh })[0]!.message).toContain('state "channel": "import" for the file');
      // What is sold is given.
      expect(told({ axis, importKwh, exportKwh })).toEqual([]);
    }
  });

  test.each(WITHOUT_SUN)('isn’t of one without that %s', (_, of) => {
    for (const seed of SEEDS) {
      const { series } = makeSunHome(seed, {});
      const { axis, importKwh } = series;
      // The draw of the evening before stands for that of the day.
      const perHour = 60 / axis.stepMinutes;
      const drawn = importKwh.map((kwh, i) => {
        const hour = Math.floor(axis.calendar.minuteOfDay[i]! / 60);
        return hour >= 5 && hour < 21 ? importKwh[Math.max(0, i - (hour - 4) * perHour)]! + 0.02 : kwh;
      });
      const kwh = kwhAt(series, drawn, of);
      for (const hours of [0, -5, 7, 12])
        expect(told({ axis, importKwh: rolled(axis, kwh, hours) }), `seed ${seed}, ${hours} h`).toEqual([]);
    }
  });

  test('is told with its clock where the labels keep another', () => {
    for (const seed of SEEDS)
      for (const hours of [-5, 6, 7, 8]) {
        const { axis, importKwh } = makeSunHome(seed, {}).series;
        const drawn = rolled(axis, importKwh, hours);
        const [fault] = told({ axis, importKwh: drawn });
        const { middleHour } = fault!.data as { middleHour: number };
        expect(Math.abs(middleHour - 12.5 - hours), `seed ${seed}, ${hours} h`).toBeLessThan(1.5);
        expect(fault!.message).toContain('every price is taken at the wrong hour');
        // What is read is all: that answers for the sun alone.
        expect(told({ axis, importKwh: drawn }, { drawnIsAll: true })).toMatchObject([{ data: { middleHour } }]);
      }
  });

  test('names labels of UTC', () => {
    const zone = 'America/Denver';
    const intervals = 100 * 48;
    const axis = makeAxis({ startEpochMs: Date.parse('2025-05-01T06:00Z'), stepMinutes: 30, intervals, zone });
    // Nothing about 19 h, from the second hour on more or less.
    const importKwh = Float64Array.from({ length: intervals }, (_, i) =>
      Math.abs((i % 48) / 2 - 19) < 2 + ((i * 7) % 5) / 2 ? 0 : 0.2,
    );
    expect(told({ axis, importKwh })).toMatchObject([{ data: { isUtc: true } }]);
    expect(told({ axis, importKwh })[0]!.message).toContain('state "clock": "utc" for the file');
    // By the clock on each day: a battery's, or a switch.
    const switched = importKwh.map((_, i) => (Math.abs((i % 48) / 2 - 19) < 3 ? 0 : 0.2));
    expect(told({ axis, importKwh: switched })).toEqual([]);
  });

  describe('is told apart from what is off by the clock', () => {
    interface Off {
      readonly stepMinutes: number;
      readonly days: number;
      readonly on: 'weekdays' | 'all days';
    }
    /** Nobody at home from 8:30 to 17:15: a standby of 5 W. */
    const off = ({ stepMinutes, days, on }: Off) => {
      const axis = makeAxis({
        startEpochMs: Date.parse('2025-01-06T07:00Z'),
        stepMinutes,
        intervals: (days * 1440) / stepMinutes,
        zone: 'America/Denver',
      });
      const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) => {
        const hour = axis.calendar.minuteOfDay[i]! / 60;
        const isOff = hour >= 8.5 && hour < 17.25 && (on === 'all days' || axis.calendar.weekday[i]! < 6);
        return (isOff ? 0.005 : 0.1 + ((i * 7) % 13) / 40) * axis.stepHours;
      });
      return { axis, importKwh };
    };

    test.each<Off>([
      { on: 'weekdays', stepMinutes: 15, days: 28 },
      { on: 'weekdays', stepMinutes: 60, days: 60 },
      { on: 'weekdays', stepMinutes: 60, days: 365 },
      { on: 'all days', stepMinutes: 15, days: 365 },
      { on: 'all days', stepMinutes: 30, days: 365 },
    ])('not told: %j', (home) => {
      expect(told(off(home))).toEqual([]);
    });

    test.each<Off>([
      // Too few weekends, and a year too short or too coarse to tell the seasons by.
      { on: 'weekdays', stepMinutes: 15, days: 14 },
      { on: 'all days', stepMinutes: 15, days: 60 },
      { on: 'all days', stepMinutes: 60, days: 365 },
    ])('still told: %j', (home) => {
      expect(told(off(home))).toHaveLength(1);
    });

    test('still told of what comes and goes within an hour of the clock all year', () => {
      const { axis } = off({ stepMinutes: 15, days: 365, on: 'all days' });
      const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) => {
        const late = ((axis.calendar.day[i]! * 7) % 4) / 4;
        const hour = axis.calendar.minuteOfDay[i]! / 60;
        return hour >= 9 + late && hour < 16 + late ? 0 : 0.03;
      });
      expect(told({ axis, importKwh })).toHaveLength(1);
    });

    // Homes of which nobody is there on weekdays from 9 to 17 h, or that draw alike at all hours, under roofs of all sizes and latitudes.
    test('and every roof goes on being told, from the equator to 50 degrees', () => {
      let asked = 0;
      const calm: string[] = [];
      // In early summer a large roof leaves no hour of night at 50 degrees to hold noon against.
      for (const latitudeDeg of [0, 1.3, 10, 22, 35, 50])
        for (const solarKw of latitudeDeg < 40 ? [1.5, 4, 8, 15] : [1.5, 4])
          for (const stepMinutes of [15, 60])
            for (const days of [28, 365])
              for (const load of ['away', 'steady', 'evening'] as const)
                for (const cloudy of [0.05, 0.3]) {
                  const random = randomOf(100 * latitudeDeg + 7 * solarKw + days + stepMinutes);
                  const intervals = (days * 1440) / stepMinutes;
                  const startEpochMs = Date.UTC(2025, days === 365 ? 0 : 4, 5);
                  const axis = makeAxis({ startEpochMs, stepMinutes, intervals, zone: 'UTC' });
                  let clear = 1;
                  const importKwh = Float64Array.from({ length: intervals }, (_, i) => {
                    const hour = axis.calendar.minuteOfDay[i]! / 60 + axis.stepHours / 2;
                    if (axis.calendar.minuteOfDay[i] === 0)
                      clear = random() < cloudy ? 0.1 + 0.2 * random() : 0.6 + 0.4 * random();
                    const dayOfYear = axis.calendar.days[axis.calendar.day[i]!]!.civilDay % 365.25;
                    const sun = (-23.44 * Math.cos((2 * Math.PI * (dayOfYear + 10)) / 365.25) * Math.PI) / 180;
                    const north = (latitudeDeg * Math.PI) / 180;
                    const angle = ((hour - 12.3) * Math.PI) / 12;
                    const height = Math.sin(north) * Math.sin(sun) + Math.cos(north) * Math.cos(sun) * Math.cos(angle);
                    const solar = Math.max(0, height) ** 1.15 * solarKw * clear * (0.7 + 0.3 * random());
                    const baseKw = 0.06 + 0.03 * random();
                    const isAway = load === 'away' && axis.calendar.weekday[i]! < 6 && hour >= 9 && hour < 17;
                    const [from, to, most] = load === 'evening' ? [18, 23, 0.8] : [6.5, 23, 1.2];
                    const kw = baseKw + (!isAway && hour > from && hour < to ? most * random() : 0);
                    return Math.round(1000 * Math.max(0, kw - solar) * axis.stepHours) / 1000;
                  });
                  asked++;
                  if (told({ axis, importKwh }).length === 0)
                    calm.push(JSON.stringify({ latitudeDeg, solarKw, stepMinutes, days, load, cloudy }));
                }
      expect(asked).toBe(528);
      expect(calm).toEqual([]);
    });
  });

  test('is told from seven days on', () => {
    const { series } = makeSunHome(3, {});
    const { axis } = series;
    const on = (days: number) =>
      kwhAt(series, series.importKwh, (hour, _, day) => (day < days && hour >= 10 && hour < 15 ? 0 : 0.2));
    expect(told({ axis, importKwh: on(6) })).toEqual([]);
    expect(told({ axis, importKwh: on(7) })).toMatchObject([{ data: { days: 7 } }]);
  });
});

describe('a study of such a home', () => {
  const { axis, importKwh, exportKwh } = makeSunHome(3, {}).series;
  const two = (n: number) => String(n).padStart(2, '0');
  const table = (kwh: Float64Array, head = 'Usage kWh') => {
    const { minuteOfDay, day, days } = axis.calendar;
    const lines = Array.from(kwh, (one, i) => {
      const { month, dayOfMonth, year } = days[day[i]!]!;
      return `${year}-${two(month)}-${two(dayOfMonth)} ${two(Math.floor(minuteOfDay[i]! / 60))}:${two(minuteOfDay[i]! % 60)},${one}`;
    });
    return [`Start,${head}`, ...lines, ''].join('\n');
  };
  const study = (...files: object[]) => studyOf({ files });
  const studyOf = async (meter: object) => {
    const all: Record<string, string> = {
      'usage.csv': table(importKwh),
      'net.csv': table(importKwh, 'net kWh'),
      'late.csv': table(rolled(axis, importKwh, 7)),
      'solar.csv': table(
        exportKwh.map((kwh) => 1.3 * kwh),
        'solar kWh',
      ),
      // Its own draw of the night, at every hour.
      'no-roof.csv': table(
        importKwh.map((_, i) => (axis.calendar.minuteOfDay[i]! % 120 === 0 ? 0.12 : 0.1)),
        'net kWh',
      ),
      'sold.csv': table(exportKwh),
      'tariff.json': JSON.stringify({
        format: 'duskbank.tariff/1',
        name: 'Flat',
        utility: 'Invented Power',
        currency: 'AUD',
        windows: [{ name: 'always', otherwise: true, pricePerKwh: 0.3 }],
      }),
      'site.json': JSON.stringify({
        format: 'duskbank.site/1',
        name: 'Home',
        zone: axis.zone,
        meter,
        tariff: 'tariff.json',
      }),
    };
    return (await loadSite('site.json', (path) => Promise.resolve(new TextEncoder().encode(all[path])))).study;
  };

  test('gives no saving until what is sold is added, or it is stated that nothing is', async () => {
    const alone = await study({ path: 'usage.csv' });
    expect(alone.savingsWithheld).toContain('what it sells is not given');
    const stated = await study({ path: 'usage.csv', channel: 'import' });
    expect(stated.savingsWithheld).toBeUndefined();
    expect(stated.warnings.find(({ code }) => code === 'sun-unseen')?.message).toContain('all, as is stated');
    // It uses more than it buys: hours of a share of that were 24.5 where 21.5 are true.
    expect(stated.loadKnown).toBe(false);
    const both = await study({ path: 'usage.csv' }, { path: 'sold.csv', channel: 'export' });
    expect(both.savingsWithheld).toBeUndefined();
    expect(both.warnings.map(({ code }) => code)).not.toContain('sun-unseen');
  });

  test('is believed that it has no panels: hours of its metered load are told, and savings', async () => {
    for (const file of [{ path: 'usage.csv' }, { path: 'usage.csv', channel: 'import' }, { path: 'net.csv' }]) {
      const { savingsWithheld, warnings, loadKnown } = await studyOf({ files: [file], solarPanels: 'none' });
      expect(savingsWithheld).toBeUndefined();
      expect(loadKnown).toBe(true);
      expect(warnings.map(({ code }) => code)).not.toContain('sun-unseen');
    }
    // Where solar is metered, the word changes nothing.
    const both = await studyOf({ files: [{ path: 'net.csv' }, { path: 'solar.csv' }], solarPanels: 'none' });
    expect(both.savingsWithheld).toContain('the net never falls below zero');
  });

  // The meter cuts what is sold off: 125 a year were told where 414 were true.
  test.each([
    ['a column headed net', { path: 'net.csv' }],
    ['a column stated as net', { path: 'usage.csv', channel: 'net' }],
    ['a column numbered as net', { path: 'usage.csv', columns: { net: 2 } }],
  ])('gives none of %s that never falls below zero', async (_, file) => {
    for (const files of [[file], [file, { path: 'solar.csv' }]]) {
      const { savingsWithheld, warnings, loadKnown } = await study(...files);
      expect(savingsWithheld).toContain('the net never falls below zero, so that what it sells is cut off');
      expect(loadKnown).toBe(false);
      expect(warnings.find(({ code }) => code === 'sun-unseen')).toMatchObject({
        data: { net: files.length === 1 ? 'alone' : 'with-solar' },
      });
      expect(warnings.map(({ code }) => code)).not.toContain('net-one-way');
    }
    const stated = await study({ ...file, columns: undefined, channel: 'import' });
    expect(stated.savingsWithheld).toBeUndefined();
    const both = await study({ path: file.path, columns: { import: 2 } }, { path: 'sold.csv', channel: 'export' });
    expect(both.warnings.map(({ code }) => code)).not.toContain('sun-unseen');
  });

  test('gives none where the clock is another, though all is stated', async () => {
    const alone = await study({ path: 'late.csv' });
    expect(alone.savingsWithheld).toContain('state the clock and add its export');
    const stated = await study({ path: 'late.csv', channel: 'import' });
    expect(stated.savingsWithheld).toContain('the clock of the readings seems to be another');
  });

  test('gives one of a net that never falls below zero without a roof', async () => {
    const { savingsWithheld, warnings } = await study({ path: 'no-roof.csv' });
    expect(savingsWithheld).toBeUndefined();
    expect(warnings.map(({ code }) => code)).toContain('net-one-way');
  });
});
