import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type IntervalSeries } from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, it } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const DAYS = 60;
/** From midnight in Berlin; 31 days of January. */
const axis = makeAxis({
  startEpochMs: Date.UTC(2024, 11, 31, 23),
  stepMinutes: 60,
  intervals: 24 * DAYS,
  zone: 'Europe/Berlin',
});
/** Hour `h` of day `d`, both from 0. */
const hours = (kwhOf: (d: number, h: number) => number) =>
  Float64Array.from({ length: axis.intervals }, (_, i) => kwhOf(Math.floor(i / 24), i % 24));
/** Never the same twice, and zero from day `from` to before day `to`. */
const zeroBetween = (from: number, to: number) =>
  hours((d, h) => (d >= from && d < to ? 0 : 0.3 + 0.2 * Math.sin(h / 3.8) ** 2 + ((24 * d + h) % 97) / 1000));
const sunnyKwh = hours((_, h) => (h > 8 && h < 17 ? 1 : 0));
const all = (series: Omit<IntervalSeries, 'axis'>) => checkMetering({ axis, ...series });
const found = (series: Omit<IntervalSeries, 'axis'>) => all(series).filter(({ code }) => code === 'days-of-zero');

describe('whole days of nothing but zeros', () => {
  it('are told with their dates, a month at the end of the data as likely', () => {
    const [fault, ...more] = found({ importKwh: zeroBetween(30, 60) });
    expect(more).toEqual([]);
    expect(fault).toMatchObject({
      severity: 'warning',
      confidence: 'likely',
      count: 30 * 24,
      data: { channel: 'import', from: '2025-01-31', to: '2025-03-01', days: 30, daysInAll: 30 },
    });
    expect(fault!.message).toContain('Treat them as missing');
  });

  it.each([
    [13, 'possible'],
    [14, 'likely'],
  ])('%d days are %s', (days, confidence) => {
    expect(found({ importKwh: zeroBetween(20, 20 + days) })).toMatchObject([{ confidence }]);
  });

  it('two days are none, three are, with the longest span of several and the days of all', () => {
    expect(found({ importKwh: zeroBetween(20, 22) })).toEqual([]);
    const [one, other] = [zeroBetween(20, 23), zeroBetween(40, 45)];
    const both = one.map((kwh, i) => Math.min(kwh, other[i]!));
    expect(found({ importKwh: both })).toMatchObject([
      { data: { from: '2025-02-10', to: '2025-02-14', days: 5, daysInAll: 8 }, count: 8 * 24 },
    ]);
  });

  it('are none of what is sold: where import and export seem exchanged, unless it is stated which is which', () => {
    // What is bought, on all nights too, under the name of export; what a roof sells on most days under that of import.
    const series = {
      importKwh: hours((d, h) => (d % 12 > 3 && h > 8 && h < 16 ? 1 : 0)),
      exportKwh: zeroBetween(0, 0),
    };
    expect(all(series).map(({ code }) => code)).toContain('grid-reversed');
    expect(found(series)).toEqual([]);
    const stated = checkMetering({ axis, ...series }, { rolesStated: true });
    expect(stated.find(({ code }) => code === 'grid-reversed')?.data).toMatchObject({ stated: true });
    expect(stated.map(({ code }) => code)).toContain('days-of-zero');
  });

  it('are told of load, and of a home with solar', () => {
    const kwh = zeroBetween(20, 23);
    expect(found({ importKwh: zeroBetween(0, 0), loadKwh: kwh })).toMatchObject([{ data: { channel: 'load' } }]);
    expect(found({ importKwh: kwh, exportKwh: sunnyKwh, solarKwh: sunnyKwh })).toMatchObject([
      { data: { channel: 'import' } },
    ]);
  });

  it('are not sunny days, days of gaps, or solar and export in dark weeks', () => {
    const zeroByDay = hours((_, h) => (h > 5 && h < 20 ? 0 : 0.2));
    expect(found({ importKwh: zeroByDay, exportKwh: sunnyKwh })).toEqual([]);
    const blank = zeroBetween(20, 30).map((kwh) => (kwh === 0 ? Number.NaN : kwh));
    expect(found({ importKwh: blank })).toEqual([]);
    const dark = sunnyKwh.map((kwh, i) => (i < 24 * 30 ? 0 : kwh));
    expect(found({ importKwh: zeroBetween(0, 0), exportKwh: dark, solarKwh: dark })).toEqual([]);
  });

  it('are told once: not as lost intervals or an empty home too', () => {
    const codes = (days: number) => all({ importKwh: zeroBetween(20, 20 + days) }).map(({ code }) => code);
    expect(codes(3)).toEqual(['days-of-zero']);
    expect(codes(12)).toEqual(['days-of-zero']);
  });
});

it('a study warns of three of them already, and no longer once the data are cut to the others', async () => {
  const warned = async (meter: object) => {
    const windows = [{ name: 'all', otherwise: true, pricePerKwh: 0.3 }];
    const days = hoursOf(7, (h, day) => [day >= 4 ? 0 : 0.3 + 0.01 * h, 0]);
    const site = smallSite(days, { windows }, {}, {}, { meter: { files: ['home.csv'], ...meter } });
    const { study } = await loadSite(site.path, site.read);
    return study.warnings.filter(({ code }) => code === 'days-of-zero');
  };
  expect(await warned({})).toMatchObject([{ severity: 'warning', data: { days: 3, from: '2025-01-05' } }]);
  expect(await warned({ span: { from: '2025-01-01', to: '2025-01-04' } })).toEqual([]);
});
