import { linearRegression } from 'simple-statistics';
import type { IntervalSeries } from '../series.ts';
import { type MeteringContext, type MeteringFault, PANEL_CAUTION } from './fault.ts';

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

const percent = (share: number) => `${Math.round(share * 100)} %`;

/** A solar channel with energy at night beside a grid channel without any: the two are swapped. */
export function checkSwapped(series: IntervalSeries, dark: Uint8Array, faults: MeteringFault[]): boolean {
  const { importKwh, solarKwh } = series;
  if (importKwh === undefined || solarKwh === undefined) return false;
  const solar = energies(solarKwh, dark);
  const grid = energies(importKwh, dark);
  if (!(solar.all > 0) || solar.dark / solar.all < 0.05) return false;
  if (grid.dark > 0.1 * solar.dark) return false;
  faults.push({
    code: 'solar-grid-swapped',
    confidence: 'sure',
    evidence: `the solar channel has ${percent(solar.dark / solar.all)} of its energy in the dark, the grid channel ${percent(grid.all > 0 ? grid.dark / grid.all : 0)}`,
    meaning: `The transformers of solar and grid seem to be swapped, or their names in the monitor are. ${PANEL_CAUTION}`,
    fix: { flag: '--swap solar,grid', adjustment: { swapSolarAndGrid: true } },
    count: importKwh.length,
  });
  return true;
}

/** Export in the dark shows a reversed transformer; a bill above what is metered, a leg that is missing or reversed. */
export function checkReversed(
  series: IntervalSeries,
  dark: Uint8Array,
  context: MeteringContext,
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
  const { billedKwh } = context;
  // With both legs reversed, what reads as export is what the utility billed. With one, the sum of the legs says nothing.
  const turned = billedKwh === undefined || billedKwh <= 0 || Math.abs(sold.all / billedKwh - 1) < 0.2;
  if (turned && darkIntervals > 20 && exportShare > 0.8 && sold.dark > 4 * bought.dark) {
    faults.push({
      code: 'grid-reversed',
      confidence: 'sure',
      evidence: `${percent(exportShare)} of the dark intervals export (${sold.dark.toFixed(0)} kWh), when there is no sun to export`,
      meaning: `The grid’s transformers point the wrong way: turn both, or swap each one’s leads, so that the arrow follows the maker’s mark. ${PANEL_CAUTION}`,
      fix: { flag: '--flip grid', adjustment: { flipGrid: true } },
      count: exporting,
    });
    return;
  }
  // A home that is billed for much more than it is metered to buy has a part that the transformers don't see.
  const ratio =
    billedKwh === undefined || billedKwh <= 0 || importKwh === undefined ? Number.NaN : bought.all / billedKwh;
  const bothSigns = darkIntervals > 20 && exportShare > 0.02;
  if (bothSigns) {
    faults.push({
      code: 'leg-reversed',
      confidence: ratio < 0.9 ? 'sure' : 'possible',
      evidence: `${percent(exportShare)} of the dark intervals export${Number.isNaN(ratio) ? '' : `, and ${percent(ratio)} of the billed energy is metered`}`,
      meaning: `One of the two mains transformers seems reversed: the monitor reads one leg less the other, loads on both legs vanish, and signs can’t be trusted (or a battery exports at night). These data can’t be mended: turn the transformer and measure anew. ${PANEL_CAUTION}`,
      count: exporting,
    });
    return;
  }
  if (ratio < 0.85) {
    const half = ratio > 0.35 && ratio < 0.65 && series.solarKwh === undefined;
    faults.push({
      code: 'leg-missing',
      confidence: half ? 'likely' : 'possible',
      evidence: `${percent(ratio)} of the billed ${billedKwh!.toFixed(0)} kWh is metered`,
      meaning: `One of the two legs seems not to be measured: a transformer is missing, open, or its plug is out${ratio < 0.2 ? ', or one is reversed' : ''}. ${PANEL_CAUTION}`,
      ...(half ? { fix: { flag: '--scale import=2', adjustment: { scale: { import: 2 } } } } : {}),
      count: importKwh!.length,
    });
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
  faults.push({
    code: 'solar-half',
    confidence: mends ? 'likely' : 'possible',
    evidence: `export is above solar in ${((100 * above) / sunny).toFixed(1)} % of the sunny intervals${mends ? '; with solar doubled, in almost none' : ''}`,
    meaning: `The solar feed seems to be measured on one of two conductors without being counted twice, or a second array isn’t measured. ${PANEL_CAUTION}`,
    ...(mends ? { fix: { flag: '--scale solar=2', adjustment: { scale: { solar: 2 } } } } : {}),
    count: above,
  });
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
    faults.push({
      code: 'solar-in-load',
      confidence: slope > 0.85 && slope < 1.15 ? 'sure' : 'likely',
      evidence: `load moves with solar: ${slope.toFixed(2)} kWh for each kWh of solar`,
      meaning: `Solar is counted inside load: the solar feed lands on the load’s side of the transformers, or the monitor adds it. ${PANEL_CAUTION}`,
      fix: { flag: '--solar-in-load', adjustment: { solarInLoad: true } },
      count: points.length,
    });
  else if (slope < -0.5)
    faults.push({
      code: 'solar-in-load',
      confidence: slope < -0.85 ? 'sure' : 'likely',
      evidence: `load falls as solar rises: ${slope.toFixed(2)} kWh for each kWh of solar`,
      meaning: `What is called load seems to be what the grid delivers, solar already taken off: read that column as import (columns.import). ${PANEL_CAUTION}`,
      count: points.length,
    });
}
