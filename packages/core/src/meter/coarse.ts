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

/** Says, with data of half hours or hours, what they hide. */
export function noteCoarseSteps(series: IntervalSeries, findings: FindingList): void {
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
