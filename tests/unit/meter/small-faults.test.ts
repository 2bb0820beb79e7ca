// Faults of a sign, a limit or a place that no other test of reading sees. What each figure is, is arithmetic.
import { makeAxis } from '@duskbank/core/axis';
import { checkMetering } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { unitOf } from '../../../packages/core/src/meter/table/header.ts';
import { HOURS, read, table, total } from '../../support/meter-tables.ts';

const axis = makeAxis({
  startEpochMs: Date.UTC(2024, 11, 31, 23),
  stepMinutes: 60,
  intervals: 24 * 60,
  zone: 'Europe/Berlin',
});
const used = (i: number) => 0.3 + ((i * 37) % 499) / 1000;
const hours = (kwh: (i: number) => number) => Float64Array.from({ length: axis.intervals }, (_, i) => kwh(i));
const fault = (code: string, importKwh: Float64Array) =>
  checkMetering({ axis, importKwh }).find((each) => each.code === code);

describe('signs of wrong metering', () => {
  test('of several stretches of days of zero the longest is told, be it the first', () => {
    const isZero = (day: number) => (day >= 10 && day < 20) || (day >= 40 && day < 44);
    const found = fault(
      'days-of-zero',
      hours((i) => (isZero(Math.floor(i / 24)) ? 0 : used(i))),
    );
    expect(found?.data).toMatchObject({ from: '2025-01-11', to: '2025-01-20', days: 10, daysInAll: 14 });
  });

  test('of several stretches of one value the first is told by its date', () => {
    const kwh = hours(used);
    kwh.fill(0.7777, 240, 256);
    kwh.fill(0.7888, 900, 916);
    expect(fault('stuck-value', kwh)?.data).toMatchObject({ firstOn: '2025-01-11', intervals: 32 });
  });
});

describe('what findings hold', () => {
  test('a clock change is told by its date alone', () => {
    const labels = Array.from({ length: 72 }, (_, k) => Date.UTC(2026, 9, 31) + k * 3_600_000);
    // The second hour of 1 November stands there twice.
    const at = labels.findIndex((label) => new Date(label).toISOString().startsWith('2026-11-01T01'));
    const twice = [...labels.slice(0, at + 1), ...labels.slice(at)];
    const rows = twice.map((label, i) => `${new Date(label).toISOString().slice(0, 16).replace('T', ' ')},${used(i)}`);
    const found = read(table('Start,kWh', rows)).findings.find(({ code }) => code === 'autumn-hour-repeated');
    expect(found?.data).toEqual({ date: '2026-11-01' });
  });

  test('two steps one after the other are told in minutes', () => {
    const step = (from: number, count: number, minutes: number) =>
      Array.from({ length: count }, (_, i) => {
        const label = new Date(Date.UTC(2026, 0, 5) + (from + i * minutes) * 60_000).toISOString();
        return `${label.slice(0, 16).replace('T', ' ')},0.${1 + (i % 7)}`;
      });
    const text = table('Start,Usage (kWh)', [...step(0, 96, 30), ...step(2880, 400, 20)]);
    const found = read(text).findings.find(({ code }) => code === 'mixed-steps');
    expect(found?.data).toEqual({ finerMinutes: 20, coarserMinutes: 30 });
  });

  test('a gap of one reading is told by its date', () => {
    const rows = HOURS.map((label, i) => `${label},${used(i)}`).filter((_, i) => i !== 100);
    const found = read(table('Start,kWh', rows)).findings.find(({ code }) => code === 'gap');
    expect(found?.data).toMatchObject({ longest: { from: '2026-01-09', to: '2026-01-09', intervals: 1 } });
    expect(found?.count).toBe(1);
  });

  test('rows under a banner of gas are told as another commodity, and not counted', () => {
    const rows = HOURS.map((label, i) => `${label},${used(i)}`);
    const text = table('Start,Usage (kWh)', ['Electricity import', ...rows, 'Gas', ...rows]);
    const { findings, series } = read(text);
    expect(findings.filter(({ code }) => code === 'other-commodity')).toHaveLength(1);
    expect(series?.importKwh?.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(
      HOURS.reduce((sum, _, i) => sum + used(i), 0),
      9,
    );
  });

  test('a unit that changes is told with the energy of a day before and after', () => {
    const rows = HOURS.map(
      (label, i) => `${label},${((0.5 + (i % 24 === 7 ? 1 : 0)) * (i < 96 ? 1 : 1000)).toFixed(3)}`,
    );
    const found = read(table('Start,Usage kWh', rows)).findings.find(({ code }) => code === 'unit-changes');
    expect(found?.data?.dailyKwhBefore).toBeCloseTo(13, 9);
    expect(found?.data?.dailyKwhAfter).toBeCloseTo(13_000, 6);
  });
});

describe('what is read', () => {
  test('of a net and an import in the same rows `repeats: first` takes the import', () => {
    const rows = HOURS.map((label, i) => `${label},${used(i).toFixed(3)},${(used(i + 3) * 1.4).toFixed(3)}`);
    const text = table('Start,Import (kWh),Net (kWh)', rows);
    const sum = HOURS.reduce((kwh, _, i) => kwh + Number(used(i).toFixed(3)), 0);
    expect(total(text, 'import', { repeats: 'first' })).toBeCloseTo(sum, 6);
  });

  test('a unit may stand among three words, and among four it is of something else', () => {
    expect(unitOf('kWh per interval')).toBe('kWh');
    expect(unitOf('average kWh per interval')).toBeUndefined();
  });

  const feed = (commodity: number, time = '') =>
    `<feed><entry><link rel="self" href="/MeterReading/1"/><content><MeterReading/></content></entry>
<entry><content><ReadingType><commodity>${commodity}</commodity><uom>72</uom><flowDirection>1</flowDirection></ReadingType></content></entry>${time}
<entry><link rel="up" href="/MeterReading/1/IntervalBlock"/><content><IntervalBlock>${HOURS.map(
      (_, i) =>
        `<IntervalReading><timePeriod><duration>3600</duration><start>${Date.UTC(2026, 0, 5, 7 + i) / 1000}</start></timePeriod><value>${500 + (i % 9)}</value></IntervalReading>`,
    ).join('')}</IntervalBlock></content></entry></feed>`;

  test('a feed whose commodity is a wildcard of its maker is read, gas isn’t', () => {
    expect(total(feed(4096), 'import')).toBeGreaterThan(80);
    expect(read(feed(7)).series).toBeUndefined();
  });

  test('a feed that states its local time isn’t said to lack it, with a zone or without', () => {
    const time =
      '<entry><content><LocalTimeParameters><tzOffset>-25200</tzOffset></LocalTimeParameters></content></entry>';
    const lacks = 'the feed states no local time';
    for (const options of [{}, { zone: undefined }]) {
      expect(read(feed(1, time), options as object).layout.evidence).not.toContain(lacks);
      expect(read(feed(1), options as object).layout.evidence).toContain(lacks);
    }
  });
});
