// Totals of real files, as their ORIGIN.md states them. The data lie beside the project, not in it.
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Channel, channelField, type IntervalData, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const data = process.env.DUSKBANK_OPEN_DATA ?? fileURLToPath(new URL('../../../../shared/data/', import.meta.url));
const present = existsSync(`${data}/ORIGIN.md`);
if (!present) process.stderr.write('open data are not there: the tests that read them are skipped\n');

const read = (file: string) => readFileSync(`${data}/${file}`);
const total = (result: IntervalData, channel: Channel) =>
  (result.series?.[channelField(channel)] ?? new Float64Array()).reduce((sum, value) => sum + (value || 0), 0);
const codes = (result: IntervalData) => result.findings.map((finding) => finding.code);
/** The totals are printed to 0.05 %. */
const close = (actual: number, stated: number) => expect(Math.abs(actual / stated - 1)).toBeLessThan(5e-4);

describe.skipIf(!present)('real interval files give the totals that are known of them', () => {
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
});
