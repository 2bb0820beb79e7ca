// Totals of real files, as their ORIGIN.md states them. The data lie beside the project, not in it.
import { type Channel, channelField, type IntervalData, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { openDataPresent, openData as read } from '../../support/open-data.ts';

const total = (result: IntervalData, channel: Channel) =>
  (result.series?.[channelField(channel)] ?? new Float64Array()).reduce((sum, value) => sum + (value || 0), 0);
/** What half hours and hours hide is said of each of these files. */
const codes = (result: IntervalData) =>
  result.findings.map((finding) => finding.code).filter((code) => code !== 'coarse-steps');
/** The totals are printed to 0.05 %. */
const close = (actual: number, stated: number) => expect(Math.abs(actual / stated - 1)).toBeLessThan(5e-4);

describe.skipIf(!openDataPresent)('real interval files give the totals that are known of them', () => {
  test('home-a: no unit is a question, kW its answer; spring hour filled with 0, autumn hour summed', () => {
    const asked = parseIntervalData(read('home-a/home-a-halfhour.csv'), { zone: 'Australia/Sydney' });
    expect(asked.series).toBeUndefined();
    expect(codes(asked)).toContain('unit-unknown');
    const told = parseIntervalData(read('home-a/home-a-halfhour.csv'), { zone: 'Australia/Sydney', unit: 'kW' });
    expect(told.series?.axis.intervals).toBe(17_568);
    close(total(told, 'load'), 5938);
    close(total(told, 'solar'), 1296);
    expect(codes(told)).toEqual(['autumn-hour-summed', 'spring-hour-filled']);
  });

  test('home-b: hourly download with preamble, kept spring hour, autumn hour once, estimated notes', () => {
    const result = parseIntervalData(read('home-b/home-b-hourly-utility-download.csv'), {
      zone: 'America/Los_Angeles',
    });
    close(total(result, 'import'), 3912.4);
    expect(result.findings.find((finding) => finding.code === 'estimated-by-source')?.count).toBe(17);
    expect(codes(result)).toContain('spring-hour-kept');
    expect(codes(result)).toContain('autumn-hour-once');
    const said = JSON.stringify(result.findings) + JSON.stringify(result.layout);
    expect(said).not.toMatch(/CUSTOMER|EXAMPLE|0000000000/);
  });

  test('home-c: a typical year without years keeps standard time and is read as one', () => {
    const result = parseIntervalData(read('home-c/home-c-modelled-hourly.csv'), { zone: 'America/Denver' });
    expect(result.series?.axis.intervals).toBe(8760);
    close(total(result, 'load'), 8328.3);
    expect(codes(result)).toEqual(['year-missing', 'clock-standard', 'columns-ignored']);
  });

  test('home-a, a row a day: the same totals', () => {
    const options = { zone: 'Australia/Sydney', unit: 'kW' } as const;
    close(
      total(parseIntervalData(read('home-a/home-a-load-48-columns.csv'), { ...options, channel: 'load' }), 'load'),
      5938,
    );
    close(
      total(parseIntervalData(read('home-a/home-a-solar-48-columns.csv'), { ...options, channel: 'solar' }), 'solar'),
      1296,
    );
  });

  test('ESPI year: durations 0 and 7200 are found, and every reading gets an hour of its own', () => {
    const result = parseIntervalData(read('espi/hourly-year.xml'), { zone: 'America/Los_Angeles' });
    expect(result.series?.axis.intervals).toBe(8760);
    expect(result.series?.importKwh?.some(Number.isNaN)).toBe(false);
    close(total(result, 'import'), 12_397);
    // Line 12,096 ends the reading of 7200 s, line 52,136 that of 0 s.
    expect(result.findings.find((finding) => finding.code === 'duration-odd')?.lines).toEqual([12_096, 52_136]);
    expect(codes(result)).toContain('utc-hour-repeated');
  });

  test('ESPI months with a clock change done right: 743 and 721 readings, nothing to say', () => {
    for (const [file, readings] of [
      ['march', 743],
      ['november', 721],
    ] as const) {
      const result = parseIntervalData(read(`espi/hourly-${file}.xml`), { zone: 'America/New_York' });
      expect(codes(result)).toEqual([]);
      expect(result.series?.axis.intervals).toBe(readings);
    }
    // The feed's own summary of the billing period: overallConsumptionLastPeriod 2,278,213 Wh.
    expect(total(parseIntervalData(read('espi/hourly-march.xml'), { zone: 'America/New_York' }), 'import')).toBeCloseTo(
      2278.213,
      9,
    );
  });

  test('ESPI quarter hours: 1,340 readings', () => {
    const result = parseIntervalData(read('espi/quarter-hour-15-days.xml'), { zone: 'America/New_York' });
    expect(result.series?.axis).toMatchObject({ intervals: 1340, stepMinutes: 15 });
    expect(result.findings).toEqual([]);
  });

  test('ESPI with three usage points asks which, and reads both directions of the one named', () => {
    const text = read('espi/three-usage-points-both-directions.xml');
    const asked = parseIntervalData(text, { zone: 'America/Los_Angeles' });
    expect(asked.series).toBeUndefined();
    expect(asked.findings).toMatchObject([{ code: 'several-usage-points', severity: 'error', count: 3 }]);
    const told = parseIntervalData(text, { zone: 'America/Los_Angeles', usagePoint: 1 });
    expect(told.series?.axis).toMatchObject({ intervals: 96, stepMinutes: 15 });
    expect(told.series?.exportKwh).toBeDefined();
  });

  test('monthly ESPI is refused: no interval data', () => {
    const result = parseIntervalData(read('espi/monthly-power-of-ten-3.xml'), { zone: 'America/New_York' });
    expect(result.series).toBeUndefined();
    expect(codes(result)).toEqual(['no-interval-data']);
  });
});
