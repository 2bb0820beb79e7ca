import { makeAxis } from '@duskbank/core/axis';
import {
  ESTIMATED,
  estimatedShare,
  gapIntervals,
  type IntervalSeries,
  joinSeries,
  repairGaps,
  undoRepairs,
} from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

/** 28 days of hours in UTC from Monday 2026-01-05: day number + hour / 100 kWh. */
function month(): IntervalSeries & { importKwh: Float64Array } {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 28 * 24, zone: 'UTC' });
  return { axis, importKwh: Float64Array.from({ length: 28 * 24 }, (_, i) => Math.floor(i / 24) + (i % 24) / 100) };
}

describe('repairGaps', () => {
  test('fills a short gap with the median of the nearest like days and says its spread', () => {
    const series = month();
    // Wednesday 2026-01-21 is day 16; 14:00 and 15:00 are missing.
    series.importKwh.fill(Number.NaN, 16 * 24 + 14, 16 * 24 + 16);
    const { series: repaired, repairs, left } = repairGaps(series, { likeDays: 3 });
    // Nearest weekdays: days 15, 14, 11 (Friday) before and 17, 18, 21 after: median (15 + 17) / 2 = 16.
    expect(repaired.importKwh?.[16 * 24 + 14]).toBeCloseTo(16.14, 12);
    expect(repairs).toMatchObject([{ channel: 'import', firstInterval: 398, intervals: 2, likeDays: 6 }]);
    expect(repairs[0]!.energyKwh).toBeCloseTo(32.29, 12);
    // Two hours of days 11, 14, 15, 17, 18, 21 plus 0.29; a tenth of the way through six is half way from the
    // first (22.29) to the second (28.29), nine tenths half way from 36.29 to 42.29.
    expect(repairs[0]!.spreadKwh[0]).toBeCloseTo(25.29, 12);
    expect(repairs[0]!.spreadKwh[1]).toBeCloseTo(39.29, 12);
    expect(left).toEqual([]);
    expect(repaired.estimated?.[398]).toBe(ESTIMATED.byRepair);
    expect(estimatedShare(repaired)).toBe(2 / 672);
    expect(series.importKwh[398]).toBeNaN();
  });

  test('a long gap stays unless asked for, and every repair can be undone', () => {
    const series = month();
    series.importKwh.fill(Number.NaN, 16 * 24, 16 * 24 + 10);
    expect(repairGaps(series).left).toMatchObject([{ reason: 'too-long', intervals: 10 }]);
    const { series: repaired, repairs } = repairGaps(series, { maxGapHours: 10 });
    expect(gapIntervals(repaired)).toBe(0);
    expect(undoRepairs(repaired, repairs)).toEqual(series);
  });

  test('fewer than three like days are no evidence', () => {
    const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 72, zone: 'UTC' });
    const importKwh = new Float64Array(72).fill(1);
    importKwh[30] = Number.NaN;
    expect(repairGaps({ axis, importKwh }).left).toMatchObject([{ reason: 'too-few-like-days' }]);
  });
});

describe('joinSeries', () => {
  const axis = (start: number, intervals: number, stepMinutes = 60) =>
    makeAxis({ startEpochMs: start, stepMinutes, intervals, zone: 'UTC' });
  const ones = (n: number, value = 1) => new Float64Array(n).fill(value);
  const t0 = Date.UTC(2026, 0, 1);

  test('load of one file and solar of another', () => {
    const { series, findings } = joinSeries([
      { axis: axis(t0, 48), loadKwh: ones(48) },
      { axis: axis(t0, 48 * 4, 15), solarKwh: ones(192, 0.5) },
    ]);
    expect(findings.map((finding) => finding.code)).toEqual(['steps-joined']);
    expect(series?.solarKwh?.[0]).toBe(2);
    expect(series?.loadKwh).toHaveLength(48);
  });
  test('overlaps are compared, not added', () => {
    const second = ones(48);
    second[0] = 3;
    const { series, findings } = joinSeries([
      { axis: axis(t0, 48), loadKwh: ones(48) },
      { axis: axis(t0 + 24 * 3_600_000, 48), loadKwh: second },
    ]);
    expect(series?.axis.intervals).toBe(72);
    expect(series?.loadKwh?.reduce((a, b) => a + b, 0)).toBe(72);
    expect(findings).toMatchObject([
      { code: 'overlap-differs', count: 1, energyKwh: 2 },
      { code: 'overlap-equal', count: 23 },
    ]);
  });
  test('channels of another span are an error', () => {
    const { series, findings } = joinSeries([
      { axis: axis(t0, 480), loadKwh: ones(480) },
      { axis: axis(t0 + 100 * 3_600_000, 480), solarKwh: ones(480) },
    ]);
    expect(series).toBeUndefined();
    expect(findings).toMatchObject([{ code: 'span-differs', severity: 'error' }]);
  });
  test('files of two zones are an error', () => {
    const elsewhere = makeAxis({ startEpochMs: t0, stepMinutes: 60, intervals: 48, zone: 'Europe/Paris' });
    const { series, findings } = joinSeries([
      { axis: axis(t0, 48), loadKwh: ones(48) },
      { axis: elsewhere, solarKwh: ones(48) },
    ]);
    expect(series).toBeUndefined();
    expect(findings).toMatchObject([{ code: 'zone-differs', severity: 'error' }]);
  });
  test('what lies between two files is a gap, and the longest is named', () => {
    const first = ones(48);
    first[5] = Number.NaN;
    const { findings } = joinSeries([
      { axis: axis(t0, 48), loadKwh: first },
      { axis: axis(t0 + 60 * 3_600_000, 48), loadKwh: ones(48) },
    ]);
    // An hour of the first file, and the twelve between the two.
    expect(findings).toMatchObject([{ code: 'gap', count: 13, data: { longest: { intervals: 12 } } }]);
  });
});

test('a gap of two weeks to the hour is filled with medians, a longer one by turns, and what that may miss is measured', () => {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 140 * 24, zone: 'UTC' });
  const filled = (hours: number) => {
    const importKwh = Float64Array.from({ length: axis.intervals }, (_, i) => Math.floor(i / 24) + (i % 24) / 100);
    importKwh.fill(Number.NaN, 60 * 24, 60 * 24 + hours);
    return repairGaps({ axis, importKwh }, { maxGapHours: 400 });
  };
  expect(filled(336).repairs).toHaveLength(1);
  expect(filled(336).repairs[0]).not.toHaveProperty('missedByKwh');
  expect(filled(337).repairs[0]).toHaveProperty('missedByKwh');
});
