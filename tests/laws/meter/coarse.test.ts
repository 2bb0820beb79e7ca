// How much hourly and half-hourly data hide: 15-minute data of modelled homes, coarsened.
import { makeAxis } from '@duskbank/core/axis';
import { COARSE_BIAS, type IntervalSeries, sumToStep } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { makeMeteredHome } from '../../support/metered-home.ts';

const HOMES = 60;

/** Linear between order statistics. */
function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = share * (sorted.length - 1);
  const below = Math.floor(at);
  return sorted[below]! + (at - below) * ((sorted[below + 1] ?? sorted[below]!) - sorted[below]!);
}

function figures(series: IntervalSeries) {
  const net = series.loadKwh!.map((load, i) => load - series.solarKwh![i]!);
  const peaks = new Map<number, number>();
  let bought = 0;
  let sold = 0;
  for (let i = 0; i < net.length; i++) {
    const kwh = net[i]!;
    if (kwh > 0) bought += kwh;
    else sold -= kwh;
    const month = series.axis.calendar.month[i]!;
    peaks.set(month, Math.max(peaks.get(month) ?? 0, kwh / series.axis.stepHours));
  }
  let peak = 0;
  for (const kw of peaks.values()) peak += kw;
  return { peak: peak / peaks.size, import: bought, export: sold };
}

test('the bias bands of coarse data are those measured', () => {
  const low: Record<30 | 60, Record<'peak' | 'import' | 'export', number[]>> = {
    30: { peak: [], import: [], export: [] },
    60: { peak: [], import: [], export: [] },
  };
  for (let seed = 1, taken = 0; taken < HOMES; seed++) {
    const home = makeMeteredHome(seed);
    if (home.stepMinutes !== 15 || home.solar.length === 0) continue;
    taken++;
    const axis = makeAxis({
      startEpochMs: home.startMs,
      stepMinutes: 15,
      intervals: home.solar.length,
      zone: home.zone,
    });
    const fine: IntervalSeries = {
      axis,
      loadKwh: home.legs[0].map((kw, i) => (kw + home.legs[1][i]!) / 4),
      solarKwh: home.solar.map((kw) => kw / 4),
    };
    const truth = figures(fine);
    for (const step of [30, 60] as const) {
      const coarse = figures(sumToStep(fine, step));
      for (const what of ['peak', 'import', 'export'] as const) low[step][what].push(1 - coarse[what] / truth[what]);
    }
  }
  const measured = ([30, 60] as const).flatMap((step) =>
    (['peak', 'import', 'export'] as const).map((what) => ({
      name: `${step} minutes, ${what}`,
      band: [quantile(low[step][what], 0.1), quantile(low[step][what], 0.9)],
      stated: COARSE_BIAS[step][what],
    })),
  );
  const told = measured
    .map(({ name, band }) => `${name}: ${band.map((share) => share.toFixed(4)).join(' … ')}`)
    .join('\n');
  // A thousandth: the constants are rounded to that.
  for (const { band, stated } of measured)
    for (const k of [0, 1] as const) expect(Math.abs(band[k]! - stated[k]), told).toBeLessThan(0.00051);
});
