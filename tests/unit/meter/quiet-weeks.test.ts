import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type IntervalSeries } from '@duskbank/core/meter';
import { describe, expect, it } from 'vitest';

const DAYS = 90;
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 24 * DAYS, zone: 'UTC' });

/** A home whose hours of day `d` are `kwhOf(d)` kWh, a little more in the evening and never twice the same. */
const hours = (kwhOf: (d: number) => number) =>
  Float64Array.from(
    { length: axis.intervals },
    (_, i) => kwhOf(Math.floor(i / 24)) * (1 + 0.5 * Math.sin(i / 3.8) ** 2 + (i % 7) / 100),
  );
const found = (series: Omit<IntervalSeries, 'axis'>) =>
  checkMetering({ axis, ...series }).filter(({ code }) => code === 'quiet-weeks');

describe('weeks with nobody at home', () => {
  it('are told with their dates and what a day of them is', () => {
    // Days 30 to 43 (counted from 0) at a fifth: 31 January to 13 February.
    const [fault, ...more] = found({ importKwh: hours((d) => (d >= 30 && d < 44 ? 0.2 : 1)) });
    expect(more).toEqual([]);
    expect(fault).toMatchObject({
      confidence: 'possible',
      count: 14 * 24,
      data: { channel: 'import', from: '2026-01-31', to: '2026-02-13' },
    });
    const { dailyKwh, beforeKwh, afterKwh } = fault!.data as Record<string, number>;
    expect(dailyKwh! / beforeKwh!).toBeCloseTo(0.2, 2);
    expect(afterKwh! / beforeKwh!).toBeCloseTo(1, 1);
  });

  it.each([
    ['nine days', (d: number) => (d >= 30 && d < 39 ? 0.2 : 1)],
    ['weeks after which little more is used', (d: number) => (d < 30 ? 1 : d < 44 ? 0.3 : 0.45)],
    ['half of the usual', (d: number) => (d >= 30 && d < 44 ? 0.5 : 1)],
    ['a season that comes and goes', (d: number) => 0.2 + 0.8 * Math.abs(1 - (2 * d) / DAYS)],
    ['a home that stays empty to the end', (d: number) => (d >= 70 ? 0.2 : 1)],
  ])('%s are none', (_, kwhOf) => {
    expect(found({ importKwh: hours(kwhOf) })).toEqual([]);
  });

  it('are not told of import where sun may be what lowers it, and are of load', () => {
    const kwh = hours((d) => (d >= 30 && d < 44 ? 0.2 : 1));
    const exportKwh = hours(() => 0.1);
    expect(found({ importKwh: kwh, exportKwh })).toEqual([]);
    expect(found({ importKwh: kwh, exportKwh, loadKwh: kwh })[0]!.data).toMatchObject({ channel: 'load' });
  });
});
