import type { FindingList } from './findings.ts';
import type { IntervalSeries } from './series.ts';

/** How far figures of coarse data lie below those of 15-minute data: shares, 0 … 1, from a tenth to nine tenths of homes. */
export interface CoarseBias {
  /** Highest import of a month. */
  readonly peak: readonly [number, number];
  /** Energy imported, in homes with solar: import and export within a step cancel. */
  readonly import: readonly [number, number];
  /** Energy exported, in homes with solar. */
  readonly export: readonly [number, number];
}

/**
 * Measured by coarsening the 15-minute data of modelled homes (tests/laws/meter/coarse.test.ts, which holds
 * these numbers to what it measures; the table stands in docs/concepts/validation-meter.md).
 */
export const COARSE_BIAS: Readonly<Record<30 | 60, CoarseBias>> = {
  30: { peak: [0.031, 0.084], import: [0.003, 0.007], export: [0.009, 0.037] },
  60: { peak: [0.065, 0.155], import: [0.006, 0.015], export: [0.02, 0.076] },
};

/** Hours of equal steps above this share of those that hold energy are no chance. */
const EQUAL_SHARE = 0.9;

/**
 * Says that data of shorter steps are hourly data, where the steps of nearly every hour are equal, and hours differ.
 *
 * @param settled whether it is known that a row holds its own step's energy, and not the hour's
 */
export function noteHourly(series: IntervalSeries, settled: boolean, findings: FindingList): void {
  const { stepMinutes, calendar, intervals } = series.axis;
  const values = series.importKwh ?? series.loadKwh;
  const perHour = 60 / stepMinutes;
  if (values === undefined || stepMinutes >= 60 || !Number.isInteger(perHour)) return;
  let hours = 0;
  let equal = 0;
  let changes = 0;
  let kwh = 0;
  for (let i = 0; i + perHour <= intervals; i++) {
    if (calendar.minuteOfDay[i]! % 60 !== 0) continue;
    const first = values[i]!;
    if (!(first > 0)) continue;
    hours++;
    let same = true;
    for (let k = 1; k < perHour; k++) same &&= Math.abs(values[i + k]! - first) <= 1e-6 + 1e-4 * first;
    if (same) equal++;
    if (i >= perHour && values[i - 1] !== first) changes++;
    kwh += first;
  }
  // A home whose load never changes is another matter.
  if (hours < 48 || equal < EQUAL_SHARE * hours || changes < hours / 2) return;
  findings.add('hourly-in-quarters', 'warning', {
    stepMinutes,
    equalShare: equal / hours,
    kwhADay: (perHour * kwh * 24) / (intervals * series.axis.stepHours),
    settled,
    channel: series.importKwh === undefined ? 'load' : 'import',
  });
}

/** Says, with data of half hours or hours, what they hide. */
export function noteCoarseSteps(series: IntervalSeries, settled: boolean, findings: FindingList): void {
  noteHourly(series, settled, findings);
  const { stepMinutes } = series.axis;
  if (stepMinutes !== 30 && stepMinutes !== 60) return;
  const bias = COARSE_BIAS[stepMinutes];
  const hasSolar = series.solarKwh !== undefined || series.exportKwh !== undefined;
  findings.add('coarse-steps', stepMinutes === 60 ? 'warning' : 'note', {
    stepMinutes,
    peakShares: bias.peak,
    ...(hasSolar ? { flowShares: { import: bias.import, export: bias.export } } : {}),
  });
}
