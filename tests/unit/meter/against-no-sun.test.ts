import type { IntervalSeries } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { againstSun } from '../../../packages/core/src/meter/against-sun.ts';
import { makeSunHome } from '../../support/sun-homes.ts';

// Days on which the sun doesn't rise, or doesn't set, say nothing of its hours: what such days hold changes no answer.

/** Sunrise at six and sunset at eighteen but on days of which one says so. */
function sunsOf({ axis }: IntervalSeries, isDark: (d: number) => boolean) {
  const firstMs = axis.startEpochMs;
  return axis.calendar.days.map((_, d) => {
    const noonMs = firstMs + d * 86_400_000 + 12 * 3_600_000;
    const half = isDark(d) ? Number.NaN : 6 * 3_600_000;
    return { noonMs, sunriseMs: noonMs - half, sunsetMs: noonMs + half };
  });
}

describe('days without a sunrise', () => {
  const { series } = makeSunHome(1, { battery: true, sells: { downTo: 0 } });
  const { axis } = series;
  // Exchanged: bought follows the sun, sold doesn't.
  const [bought, sold] = [series.exportKwh, series.importKwh];
  const on = (values: Float64Array, isOn: (d: number) => boolean, factor: number) =>
    values.map((kwh, i) => (isOn(axis.calendar.day[i]!) ? factor * kwh : kwh));

  test.each([
    ['every fifth day', (d: number) => d % 5 === 0],
    ['the first half', (d: number) => d < axis.calendar.days.length / 2],
    ['all but ten days', (d: number) => d >= 10],
  ])('%s: as though they were gaps, whatever is bought and sold on them', (_, isDark) => {
    const suns = sunsOf(series, isDark);
    const gaps = againstSun({ axis }, on(bought, isDark, Number.NaN), on(sold, isDark, Number.NaN), suns);
    expect(gaps).toBeDefined();
    for (const [ofBought, ofSold] of [
      [1, 1],
      [0, 40],
      [40, 0],
      [40, 40],
    ] as const)
      expect(againstSun({ axis }, on(bought, isDark, ofBought), on(sold, isDark, ofSold), suns)).toEqual(gaps);
  });

  test('where it never rises nothing is said', () => {
    expect(
      againstSun(
        { axis },
        bought,
        sold,
        sunsOf(series, () => true),
      ),
    ).toBeUndefined();
  });
});
