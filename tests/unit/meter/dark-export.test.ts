import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type IntervalSeries } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { darkExport } from '../../../packages/core/src/meter/dark-export.ts';
import { type MadeSunHome, makeSunHome, type SunHome } from '../../support/sun-homes.ts';

// A roof sells nothing at night: what does has a battery, or wind, water or an engine (common practice, no source).

const SEEDS = [1, 2, 3, 4, 5, 6];
const HONEST: readonly SunHome[] = [
  {},
  { vehicle: 'noon' },
  { vehicle: 'night' },
  { load: 'heat-pump' },
  { load: 'cooling' },
  { battery: true },
];
type Kwh = (of: { readonly minute: number; readonly month: number; readonly k: number }) => number;

/** The same home that sells so much more in some hours. */
function selling({ series, ...place }: MadeSunHome, kwh: Kwh): MadeSunHome {
  const { calendar } = series.axis;
  const exportKwh = series.exportKwh.map(
    (sold, k) => sold + kwh({ minute: calendar.minuteOfDay[k]!, month: calendar.month[k]!, k }),
  );
  return { series: { ...series, exportKwh }, ...place };
}
const kw = ({ series }: MadeSunHome, power: number) => power * series.axis.stepHours;
const late = (minutes: number, { series }: MadeSunHome): IntervalSeries => {
  const by = minutes / series.axis.stepMinutes;
  const turned = (kwh: Float64Array) => kwh.map((_, i) => kwh[(i - by + kwh.length) % kwh.length]!);
  return { ...series, importKwh: turned(series.importKwh), exportKwh: turned(series.exportKwh) };
};

describe('what is sold at night', () => {
  test('is next to nothing of a home with a roof, with its place or without, on a clock that is an hour off too', () => {
    for (const has of HONEST)
      for (const seed of SEEDS) {
        const home = makeSunHome(seed, has);
        for (const minutes of [0, 60, -60])
          for (const place of [{}, home])
            expect(darkExport(late(minutes, home), place), `${JSON.stringify(has)} ${seed} ${minutes}`).toBeUndefined();
      }
  });

  test('is told by the place and by the clock, with its kWh', () => {
    for (const seed of SEEDS) {
      const home = makeSunHome(seed, {});
      const night = selling(home, ({ minute }) => (minute >= 1380 || minute < 60 ? kw(home, 2) : 0));
      const days = home.series.axis.calendar.days.length;
      const byClock = darkExport(night.series, {})!;
      expect(byClock.by).toBe('clock');
      // In summer time the first day lacks an hour.
      expect(byClock.kwh).toBeGreaterThan(0.96 * 4 * days);
      expect(darkExport(night.series, night)).toMatchObject({ by: 'place' });
    }
  });

  test('counts from 0.1 kW on, from 5 kWh on and from three nights on', () => {
    const home = makeSunHome(3, {});
    const at = (power: number, nights: number) =>
      darkExport(
        selling(home, ({ minute, k }) =>
          minute < 120 && k < (nights * 1440) / home.series.axis.stepMinutes ? kw(home, power) : 0,
        ).series,
        {},
      );
    expect(at(10, 2)).toBeUndefined();
    expect(at(10, 3)?.kwh).toBeCloseTo(60, 0);
    // A tenth of an hour's kWh over and under five.
    const bare = { ...home, series: { ...home.series, exportKwh: home.series.exportKwh.map(() => 0) } };
    const few = (power: number) =>
      darkExport(
        selling(bare, ({ minute, k }) =>
          minute < 60 && k < (10 * 1440) / home.series.axis.stepMinutes ? kw(home, power) : 0,
        ).series,
        {},
      );
    const steady = (power: number) =>
      darkExport(selling(bare, ({ minute }) => (minute < 150 ? kw(home, power) : 0)).series, {});
    expect(steady(0.09)).toBeUndefined();
    expect(steady(0.11)?.kwh).toBeGreaterThan(5);
    expect(few(0.49)).toBeUndefined();
    expect(few(0.51)?.kwh).toBeCloseTo(5.1, 6);
  });

  test('is left out below a fiftieth of all that is sold', () => {
    const home = makeSunHome(1, {});
    const sold = home.series.exportKwh.reduce((sum, one) => sum + one, 0);
    const perNight = (share: number) => (share * sold) / home.series.axis.calendar.days.length;
    const at = (share: number) =>
      darkExport(
        selling(home, ({ minute }) => (minute < 60 ? perNight(share) * home.series.axis.stepHours : 0)).series,
        {},
      );
    expect(at(0.015)).toBeUndefined();
    expect(at(0.03)?.kwh).toBeGreaterThan(0.02 * sold);
  });

  // The far north: sun at midnight from May to July, none in winter; here without its place.
  const north = makeAxis({
    startEpochMs: Date.UTC(2024, 11, 31, 23),
    stepMinutes: 60,
    intervals: 365 * 24,
    zone: 'Europe/Oslo',
  });
  const height = (i: number) => {
    const [day, hour] = [Math.floor(i / 24), (i % 24) + 0.5];
    const sun = ((-23.44 * Math.PI) / 180) * Math.cos((2 * Math.PI * (day + 10)) / 365);
    const lat = (69.6 * Math.PI) / 180;
    return Math.sin(lat) * Math.sin(sun) - Math.cos(lat) * Math.cos(sun) * Math.cos((hour * Math.PI) / 12);
  };
  const each = Float64Array.from({ length: north.intervals }, (_, i) => Math.max(0, 8 * height(i) - 0.3));
  const flat = each.map(() => 0.2);

  test('may be the midnight sun’s, where no place is known', () => {
    const summer = each.reduce((sum, kwh, i) => sum + (i % 24 >= 23 || i % 24 < 2 ? kwh : 0), 0);
    expect(summer).toBeGreaterThan(15);
    expect(darkExport({ axis: north, importKwh: flat, exportKwh: each }, {})).toBeUndefined();
    const sells = each.map((kwh, i) => kwh + (i % 24 === 23 ? 2 : 0));
    expect(darkExport({ axis: north, importKwh: flat, exportKwh: sells }, {})?.by).toBe('clock');
  });

  test('counts in a year’s three darkest stretches from 20 h on', () => {
    const sells = each.map((kwh, i) => kwh + (i % 24 === 21 ? 2 : 0));
    const told = darkExport({ axis: north, importKwh: flat, exportKwh: sells }, {})!;
    // Three times 28 days, the last stretch one longer.
    expect([168, 170]).toContain(Math.round(told.kwh));
  });
});

describe('labels of another clock', () => {
  const told = (series: IntervalSeries, place = {}) =>
    checkMetering(series, place).filter(({ code }) => /clock-elsewhere|exchanged|reversed/.test(code));

  test('in UTC are named as that, not as exchanged', () => {
    let homes = 0;
    for (const has of HONEST.slice(0, 4))
      for (const seed of SEEDS) {
        const home = makeSunHome(seed, has);
        expect(told(home.series)).toEqual([]);
        if (home.series.axis.zone !== 'Australia/Brisbane') continue;
        homes++;
        expect(told(late(-600, home)), `seed ${seed}`).toMatchObject([
          { code: 'clock-elsewhere', confidence: 'sure', data: { channel: 'export', isUtc: true } },
        ]);
        expect(told(late(-600, home))[0]!.message).toContain('state "clock": "utc"');
      }
    expect(homes).toBeGreaterThan(3);
  });

  test('of some other zone are named too', () => {
    const home = makeSunHome(1, {});
    expect(told(late(home.series.axis.zone === 'Australia/Brisbane' ? 480 : -480, home))).toMatchObject([
      { code: 'clock-elsewhere', confidence: 'likely', data: { isUtc: false } },
    ]);
  });

  test('are named of a meter of the panels whose place is known too, where its day goes on past midnight', () => {
    let homes = 0;
    for (const seed of [...SEEDS, 7, 8, 9, 10, 11, 12]) {
      const home = makeSunHome(seed, {});
      const asPanels = ({ axis, importKwh, exportKwh }: IntervalSeries): IntervalSeries => ({
        axis,
        loadKwh: importKwh!,
        solarKwh: exportKwh!,
      });
      const clocks = (series: IntervalSeries) =>
        checkMetering(asPanels(series), home).filter(({ code }) => code.startsWith('clock'));
      expect(clocks(home.series), `seed ${seed}`).toEqual([]);
      if (home.series.axis.zone !== 'Australia/Brisbane') continue;
      homes++;
      expect(clocks(late(-600, home)), `seed ${seed}`).toMatchObject([
        { code: 'clock-elsewhere', data: { channel: 'solar', isUtc: true } },
      ]);
    }
    expect(homes).toBeGreaterThan(1);
  });
});
