// A file whose only quantity is what solar gave is asked about, and never taken as the home; no home is accused of it.
import { makeAxis } from '@duskbank/core/axis';
import {
  faultsOf,
  type IntervalSeries,
  type ParseOptions,
  parseIntervalData,
  writeIntervalCsv,
} from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { homeA, homeC } from '../../support/data-homes.ts';
import { openDataPresent } from '../../support/open-data.ts';
import { generateHome, readerOf } from '../../support/panel/index.ts';

const zone = 'America/Denver';
const year = makeAxis({ startEpochMs: Date.UTC(2025, 0, 1, 7), stepMinutes: 60, intervals: 8760, zone });

/** A file with a column of dates, one of times, and one of values that may say nothing. */
function fileOf({ axis }: Pick<IntervalSeries, 'axis'>, values: Float64Array, name = 'kWh'): string {
  const own = writeIntervalCsv({ axis, importKwh: values }).split('\n').slice(5);
  return `Start,${name}\n${own.map((row) => row.replace(/T(\d\d:\d\d)[^,]*/, ' $1')).join('\n')}`;
}

/** A course by hour, day and weekday (0: Sunday), never twice the same. */
function course(kwh: (hour: number, day: number, weekday: number) => number): Float64Array {
  const { calendar } = year;
  return Float64Array.from({ length: year.intervals }, (_, i) => {
    const day = calendar.day[i]!;
    const value = kwh(calendar.minuteOfDay[i]! / 60, day, calendar.days[day]!.weekday % 7);
    return Math.round(value * (0.8 + (((i * 7919) % 100) / 100) * 0.4) * 1000) / 1000;
  });
}

const sun = course((hour, day) => {
  const length = 12 - 2.8 * Math.cos((2 * Math.PI * (day + 10)) / 365);
  const at = (hour + 0.5 - 12.5 + length / 2) / length;
  return at > 0 && at < 1 ? 3 * Math.sin(Math.PI * at) ** 1.3 * (day % 5 === 0 ? 0.2 : 1) : 0;
});

const codes = (text: string, options: ParseOptions = {}) =>
  parseIntervalData(text, { zone, ...options }).findings.map(({ code, severity }) => `${severity} ${code}`);

test.each(['kWh', 'Usage (kWh)', 'Import kWh', 'Consumption'])('%s of the sun alone is asked about', (name) => {
  const text = fileOf({ axis: year }, sun, name);
  const options: ParseOptions = name === 'Consumption' ? { unit: 'kWh' } : {};
  const data = parseIntervalData(text, { zone, ...options });
  expect(data.series).toBeUndefined();
  expect(faultsOf('a.csv', data.findings)).toMatchObject([{ code: 'solar-shaped' }]);
  // What the question offers is an answer, whatever the column is called.
  const solar = parseIntervalData(text, { zone, ...options, channel: 'solar' });
  expect(solar.series?.importKwh).toBeUndefined();
  expect(solar.series?.solarKwh?.reduce((a, b) => a + b)).toBeCloseTo(
    sun.reduce((a, b) => a + b),
    6,
  );
  const load = parseIntervalData(text, { zone, ...options, channel: 'import' });
  expect(load.series?.importKwh).toBeDefined();
  expect(load.findings).toContainEqual(expect.objectContaining({ code: 'solar-shaped', severity: 'warning' }));
});

test('solar alone says that the home’s own file is missing', async () => {
  const site = JSON.stringify({
    format: 'duskbank.site/1',
    name: 'Alder Row',
    zone,
    meter: { files: [{ path: 'sun.csv', channel: 'solar' }] },
    tariff: 'tariff.json',
  });
  const tariff = JSON.stringify({
    format: 'duskbank.tariff/1',
    name: 'One price',
    currency: 'USD',
    energy: [{ name: 'all', pricePerKwh: 0.2 }],
  });
  const files = { 'site.json': site, 'tariff.json': tariff, 'sun.csv': fileOf({ axis: year }, sun) };
  await expect(loadSite('site.json', readerOf(files))).rejects.toMatchObject({
    issues: [expect.objectContaining({ code: 'missing-channel', received: 'solar alone' })],
  });
});

test('a clock that is hours off hides no sun', () => {
  const moved = sun.map((_, i) => sun[(i + 7) % sun.length]!);
  expect(codes(fileOf({ axis: year }, moved))).toContain('error solar-shaped');
});

test.each<[string, (hour: number, day: number, weekday: number) => number]>([
  ['a shop by day, with its standby', (h, _d, w) => (w !== 0 && h >= 9 && h < 18 ? 3 : 0.05)],
  ['a weekend cabin', (h, _d, w) => (w === 0 || w === 6 ? 0.1 + Math.max(0, Math.sin((Math.PI * (h - 6)) / 16)) : 0)],
  ['an office', (h) => 0.1 + Math.max(0, 4 * Math.sin((Math.PI * (h - 6)) / 13))],
  ['heat by night', (h) => (h < 6 ? 4 : 0.1)],
])('%s is not accused', (_, kwh) => {
  const found = codes(fileOf({ axis: year }, course(kwh)));
  expect(found).not.toContain('error solar-shaped');
  expect(found).not.toContain('warning nothing-at-night');
});

test.each<[string, (hour: number, day: number, weekday: number) => number]>([
  ['a shop that is dead at night', (h, _d, w) => (w !== 0 && h >= 9 && h < 18 ? 3 : 0)],
  ['a boiler at noon', (h) => (h >= 10 && h < 15 ? 3 : 0)],
])('%s is asked as one register of several', (_, kwh) => {
  const text = fileOf({ axis: year }, course(kwh));
  expect(codes(text)).toContain('warning part-alone');
  expect(codes(text)).not.toContain('error solar-shaped');
  expect(codes(text)).not.toContain('warning nothing-at-night');
  expect(codes(text, { channel: 'import' })).not.toContain('warning part-alone');
});

test('a load of no clock that is dead at night is told', () => {
  const isOn = (hour: number, day: number) => hour >= 5 + (day % 3) && hour < 8 + (day % 3);
  const text = fileOf(
    { axis: year },
    course((hour, day) => (isOn(hour, day) || isOn(hour - 12, day + 1) ? 3 : 0)),
  );
  expect(codes(text)).toContain('warning nothing-at-night');
  expect(codes(text, { channel: 'import' })).not.toContain('warning nothing-at-night');
});

test('of 40 generated homes none is accused, and nine in ten roofs are seen', () => {
  let roofs = 0;
  let seen = 0;
  for (let seed = 1; seed <= 40; seed++) {
    const home = generateHome(seed);
    const axis = makeAxis(home);
    for (const drawn of [home.loadKwh, home.importKwh]) {
      const found = codes(fileOf({ axis }, drawn), { zone: home.zone });
      expect(found.filter((code) => /solar-shaped|nothing-at-night/.test(code))).toEqual([]);
    }
    // A roof that feeds nothing in follows the home, not the sun: it is told of, if at all.
    if (!home.hasSolar || home.exportKwh.every((kwh) => kwh === 0) || axis.calendar.days.length < 14) continue;
    roofs++;
    if (codes(fileOf({ axis }, home.solarKwh), { zone: home.zone }).includes('error solar-shaped')) seen++;
  }
  expect(roofs).toBeGreaterThan(10);
  expect(seen / roofs).toBeGreaterThan(0.9);
}, 60_000);

test.skipIf(!openDataPresent)('metered homes: the roof is asked about, the home is not', () => {
  const [a, c] = [homeA()!, homeC()!];
  for (const [{ axis }, values, asked] of [
    [a, a.loadKwh, false],
    [a, a.solarKwh, true],
    [c, c.loadKwh, false],
  ] as const)
    expect(codes(fileOf({ axis }, values), { zone: 'Etc/UTC' }).includes('error solar-shaped')).toBe(asked);
});
