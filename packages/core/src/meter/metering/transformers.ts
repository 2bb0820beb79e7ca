import { linearRegression } from 'simple-statistics';
import type { Said } from '../../words/metering.ts';
import type { IntervalSeries } from '../series.ts';
import { checkExchanged } from './exchanged.ts';
import { type MeteringFault, meteringFault } from './fault.ts';
import type { SolarDay } from './sun.ts';

/** Energy of a channel, all of it and in the dark, kWh. */
function energies(values: Float64Array | undefined, dark: Uint8Array): { all: number; dark: number } {
  let all = 0;
  let night = 0;
  if (values !== undefined)
    for (let i = 0; i < values.length; i++) {
      const value = values[i]!;
      if (Number.isNaN(value)) continue;
      all += value;
      if (dark[i] === 1) night += value;
    }
  return { all, dark: night };
}

/** A solar channel with energy at night beside a grid channel without any: the two are swapped. */
export function checkSwapped(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): boolean {
  const { importKwh, solarKwh } = series;
  if (importKwh === undefined || solarKwh === undefined) return false;
  const solar = energies(solarKwh, dark);
  const grid = energies(importKwh, dark);
  if (!(solar.all > 0) || solar.dark / solar.all < 0.05) return false;
  if (grid.dark > 0.1 * solar.dark) return false;
  faults.push(
    meteringFault(
      'solar-grid-swapped',
      { solarDarkShare: solar.dark / solar.all, gridDarkShare: grid.all > 0 ? grid.dark / grid.all : 0 },
      {
        confidence: 'sure',
        fix: { flag: '--swap solar,grid', adjustment: { swapSolarAndGrid: true } },
        count: importKwh.length,
      },
    ),
  );
  return true;
}

/** Export in the dark shows a reversed transformer; a bill above what is metered, a leg that is missing or reversed. */
export function checkReversed(
  series: IntervalSeries,
  dark: Uint8Array,
  suns: readonly SolarDay[] | undefined,
  billedKwh: number | undefined,
  said: Said,
  faults: MeteringFault[],
): void {
  const { importKwh, exportKwh } = series;
  const bought = energies(importKwh, dark);
  const sold = energies(exportKwh, dark);
  let darkIntervals = 0;
  let exporting = 0;
  for (let i = 0; i < dark.length; i++) {
    if (dark[i] === 0 || importKwh === undefined) continue;
    const net = importKwh[i]! - (exportKwh?.[i] ?? 0);
    if (Number.isNaN(net)) continue;
    darkIntervals++;
    if (net < 0) exporting++;
  }
  const exportShare = darkIntervals === 0 ? 0 : exporting / darkIntervals;
  // With both legs reversed, what reads as export is what the utility billed. With one, the sum of the legs says nothing.
  const turned = billedKwh === undefined || billedKwh <= 0 || Math.abs(sold.all / billedKwh - 1) < 0.2;
  if (turned && darkIntervals > 20 && exportShare > 0.8 && sold.dark > 4 * bought.dark) {
    faults.push(
      meteringFault(
        'grid-reversed',
        { exportShare, exportKwh: sold.dark, ...said },
        { confidence: 'sure', fix: { flag: '--flip grid', adjustment: { flipGrid: true } }, count: exporting },
      ),
    );
    return;
  }
  if (checkExchanged(series, dark, suns, said, faults)) return;
  // A home that is billed for much more than it is metered to buy has a part that the transformers don't see.
  const ratio =
    billedKwh === undefined || billedKwh <= 0 || importKwh === undefined ? Number.NaN : bought.all / billedKwh;
  const bothSigns = darkIntervals > 20 && exportShare > 0.02;
  if (bothSigns) {
    faults.push(
      meteringFault(
        'leg-reversed',
        { exportShare, ...(Number.isNaN(ratio) ? {} : { meteredShare: ratio }) },
        { confidence: ratio < 0.9 ? 'sure' : 'possible', count: exporting },
      ),
    );
    return;
  }
  if (ratio < 0.85) {
    const half = ratio > 0.35 && ratio < 0.65 && series.solarKwh === undefined;
    faults.push(
      meteringFault(
        'leg-missing',
        { meteredShare: ratio, billedKwh: billedKwh! },
        {
          confidence: half ? 'likely' : 'possible',
          ...(half ? { fix: { flag: '--scale import=2', adjustment: { scale: { import: 2 } } } } : {}),
          count: importKwh!.length,
        },
      ),
    );
  }
}

/** Export above solar, which a home without a battery can't have: one conductor of a 240 V feed was measured, and not doubled. */
export function checkSolarHalf(series: IntervalSeries, faults: MeteringFault[]): void {
  const { exportKwh, solarKwh } = series;
  if (exportKwh === undefined || solarKwh === undefined) return;
  let sunny = 0;
  let above = 0;
  let aboveTwice = 0;
  let most = 0;
  for (const value of solarKwh) if (value > most) most = value;
  for (let i = 0; i < solarKwh.length; i++) {
    const solar = solarKwh[i]!;
    if (!(solar > most * 0.05)) continue;
    sunny++;
    if (exportKwh[i]! > solar * 1.1) above++;
    if (exportKwh[i]! > solar * 2.1) aboveTwice++;
  }
  if (sunny < 50 || above < Math.max(5, sunny * 0.002)) return;
  const mends = aboveTwice <= above * 0.02;
  faults.push(
    meteringFault(
      'solar-half',
      { sunnyIntervals: sunny, aboveIntervals: above, doublingMends: mends },
      {
        confidence: mends ? 'likely' : 'possible',
        ...(mends ? { fix: { flag: '--scale solar=2', adjustment: { scale: { solar: 2 } } } } : {}),
        count: above,
      },
    ),
  );
}

/** Load that rises and falls with solar, cloud by cloud. */
export function checkSolarInLoad(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): void {
  const { loadKwh, solarKwh, axis } = series;
  if (loadKwh === undefined || solarKwh === undefined) return;
  // What changes from one day to the next at the same time is cloud, not habit.
  const perDay = Math.round(24 / axis.stepHours);
  const points: [number, number][] = [];
  for (let i = perDay; i < axis.intervals; i++) {
    if (dark[i] === 1) continue;
    const solarStep = solarKwh[i]! - solarKwh[i - perDay]!;
    const loadStep = loadKwh[i]! - loadKwh[i - perDay]!;
    if (Number.isNaN(solarStep) || Number.isNaN(loadStep) || solarStep === 0) continue;
    points.push([solarStep, loadStep]);
  }
  if (points.length < 200) return;
  const slope = linearRegression(points).m;
  if (slope > 0.7)
    faults.push(
      meteringFault(
        'solar-in-load',
        { loadPerSolar: slope },
        {
          confidence: slope > 0.85 && slope < 1.15 ? 'sure' : 'likely',
          fix: { flag: '--solar-in-load', adjustment: { solarInLoad: true } },
          count: points.length,
        },
      ),
    );
  else if (slope < -0.5)
    faults.push(
      meteringFault(
        'solar-in-load',
        { loadPerSolar: slope },
        { confidence: slope < -0.85 ? 'sure' : 'likely', count: points.length },
      ),
    );
}
