import { sampleCorrelation } from 'simple-statistics';
import type { FindingList } from '../findings.ts';
import type { IntervalSeries } from '../series.ts';

/** Of the highest solar: sun above this is more than what most homes draw by day. */
const SUNNY_SHARE = 0.5;
/** Steps from one sunny interval to that of the day before, fewer prove nothing. */
const LEAST_STEPS = 100;
/**
 * What a net without its signs rises with each kWh that solar rises, from one day to the next: 1, less where part of it still covers the
 * load. One that was drawn falls by 1, or stays at zero where the inverter holds back what isn't used.
 */
const RISE = { least: 0.5, most: 1.2 };
const LEAST_CORRELATION = 0.6;
/** Solar less load is below solar. What a home draws beside a small array isn't. */
const BELOW_SHARE = 0.95;

/**
 * Says that a net which never falls below zero has lost its signs, where the solar beside it shows that. A roof that never gives more
 * than is used makes a net that falls with the sun. What changes from one day to the next at the same time is cloud, not habit. Where less
 * than a third of the solar was exported the two can't be told apart for sure, nor without a solar column.
 */
export function noteNetSigns({ axis, importKwh, solarKwh }: IntervalSeries, findings: FindingList): void {
  if (importKwh === undefined || solarKwh === undefined) return;
  const perDay = Math.round(24 / axis.stepHours);
  let most = 0;
  for (const kwh of solarKwh) if (kwh > most) most = kwh;
  const sunnyKwh = SUNNY_SHARE * most;
  const [rises, steps]: [number[], number[]] = [[], []];
  let [sunny, below, atRiskKwh] = [0, 0, 0];
  for (let i = 0; i < axis.intervals; i++) {
    const sun = solarKwh[i]!;
    const net = importKwh[i]!;
    if (Number.isNaN(sun) || Number.isNaN(net)) continue;
    if (sun > sunnyKwh) {
      sunny++;
      if (net < sun) below++;
      atRiskKwh += net;
    }
    if (i < perDay || !(Math.max(sun, solarKwh[i - perDay]!) > sunnyKwh)) continue;
    const step = sun - solarKwh[i - perDay]!;
    const rise = net - importKwh[i - perDay]!;
    if (step === 0 || Number.isNaN(rise)) continue;
    steps.push(step);
    rises.push(rise);
  }
  if (steps.length < LEAST_STEPS || below < BELOW_SHARE * sunny) return;
  const likeness = sampleCorrelation(steps, rises);
  const risePerSolar = likeness * Math.sqrt(squares(rises) / squares(steps));
  if (!(likeness >= LEAST_CORRELATION && risePerSolar >= RISE.least && risePerSolar <= RISE.most)) return;
  findings.drop('net-one-way');
  findings.add('net-signs-lost', 'warning', { risePerSolar }, { count: sunny, energyKwh: atRiskKwh });
}

/** Σ of squares about the mean. */
function squares(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
}
