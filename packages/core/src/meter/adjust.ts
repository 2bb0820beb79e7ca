import { makeAxis } from '../axis/index.ts';
import { check, flag, number, optional, record } from '../input/door.ts';
import { withEnergy } from './parts.ts';
import { meteredSeries } from './rules.ts';
import { CHANNELS, type Channel, channelField, type IntervalSeries } from './series.ts';

/** Corrections of a metering fault: each is stated by the user, none is ever applied by itself. */
export interface Adjustment {
  /** Import becomes export and the other way: the grid's transformers point the wrong way. */
  readonly flipGrid?: boolean;
  /** Solar and grid have each other's transformers: what was read as grid is solar, what was read as solar is the grid, import positive. */
  readonly swapSolarAndGrid?: boolean;
  /** Factor for a channel, > 0: 2 where one of two legs is measured. */
  readonly scale?: Partial<Record<Channel, number>>;
  /** Added to every time, minutes; whole steps of the axis: −60 for a clock that runs an hour late. */
  readonly shiftMinutes?: number;
  /** Solar was counted inside load: taken off it (never below zero). */
  readonly solarInLoad?: boolean;
}

const factor = optional(number({ above: 0 }));

/** Corrections, as {@link Adjustment} describes them. */
export const anAdjustment = record<Adjustment>({
  flipGrid: optional(flag),
  swapSolarAndGrid: optional(flag),
  scale: optional(record<Record<Channel, number>>({ import: factor, export: factor, load: factor, solar: factor })),
  shiftMinutes: optional(number({ whole: true, least: -527_040, most: 527_040 })),
  solarInLoad: optional(flag),
});

/**
 * A corrected copy of a series; the input is never changed.
 * @throws InputError on factors that are not above 0, and shifts that are not whole minutes or more than a year
 */
export function adjustSeries(series: IntervalSeries, adjustment: Adjustment): IntervalSeries {
  check({ series, adjustment }, { series: meteredSeries, adjustment: anAdjustment });
  const adjusted: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { ...series };
  const { importKwh, exportKwh, solarKwh, axis } = series;
  // What is exchanged or reckoned anew is a whole from then on, but for a scale.
  const moved: Channel[] = [
    ...(adjustment.flipGrid === true ? (['import', 'export'] as const) : []),
    ...(adjustment.swapSolarAndGrid === true ? (['import', 'export', 'solar'] as const) : []),
    ...(adjustment.solarInLoad === true ? (['load'] as const) : []),
  ];
  const kept = series.parts?.filter(({ channel }) => !moved.includes(channel)) ?? [];
  delete adjusted.parts;
  if (kept.length > 0)
    adjusted.parts = withEnergy(kept, (kwh, { channel }) => {
      const factor = adjustment.scale?.[channel] ?? 1;
      return factor === 1 ? kwh : kwh.map((value) => value * factor);
    });
  if (adjustment.flipGrid === true) {
    adjusted.importKwh = exportKwh ?? new Float64Array(axis.intervals);
    adjusted.exportKwh = importKwh ?? new Float64Array(axis.intervals);
  }
  if (adjustment.swapSolarAndGrid === true && solarKwh !== undefined && importKwh !== undefined) {
    adjusted.solarKwh = importKwh;
    adjusted.importKwh = solarKwh;
    adjusted.exportKwh = exportKwh ?? new Float64Array(axis.intervals);
  }
  for (const channel of CHANNELS) {
    const factor = adjustment.scale?.[channel];
    const values = adjusted[channelField(channel)];
    if (factor !== undefined && values !== undefined)
      adjusted[channelField(channel)] = values.map((value) => value * factor);
  }
  if (adjustment.solarInLoad === true && adjusted.loadKwh !== undefined && adjusted.solarKwh !== undefined) {
    const solar = adjusted.solarKwh;
    adjusted.loadKwh = adjusted.loadKwh.map((value, i) =>
      Number.isNaN(value) ? value : Math.max(0, value - solar[i]!),
    );
  }
  if (adjustment.shiftMinutes !== undefined && adjustment.shiftMinutes !== 0) {
    const { startEpochMs, stepMinutes, intervals, zone } = axis;
    adjusted.axis = makeAxis({
      startEpochMs: startEpochMs + adjustment.shiftMinutes * 60_000,
      stepMinutes,
      intervals,
      zone,
    });
  }
  return adjusted;
}
