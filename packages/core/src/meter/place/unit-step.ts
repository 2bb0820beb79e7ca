import { dateOfCivilDay, formatDate } from '../../axis/civil-day.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { IntervalSeries } from '../series.ts';
import { isBilled } from './units.ts';

/** Days beside a step that are held against each other, and the fewest that tell. */
const DAYS_BESIDE = 14;
const LEAST_DAYS = 3;
/** From one day to the next a home may draw this many times as much; above it the days around are looked at. */
const SUSPECT = 100;
/** Units of energy and power lie 1,000 apart; homes differ by about this much from one fortnight to the next. */
const STEP = { least: 300, most: 3300 };

/**
 * Asks about a column whose unit changes on the way (kWh to November, Wh from December): from one day to the next the
 * usual and the high readings alike become a thousand times as large, or as small. A home that is left, or a battery that
 * takes over, lowers the usual reading and not the high ones by the same factor.
 *
 * @returns whether it asked
 */
export function asksUnitStep(series: IntervalSeries, options: ParseOptions, findings: FindingList): boolean {
  const values = series.importKwh ?? series.loadKwh;
  if (values === undefined || isBilled(series, options)) return false;
  const { days } = series.axis.calendar;
  const sums = days.map((day) => sumOf(values, day.firstInterval, day.intervals));
  for (let d = 1; d < days.length; d++) {
    const ratio = sums[d]! / sums[d - 1]!;
    if (!(ratio > SUSPECT || ratio < 1 / SUSPECT)) continue;
    // The day of the step itself may hold both units.
    for (const first of [d, d + 1]) {
      const before = range(Math.max(0, d - DAYS_BESIDE), d);
      const after = range(first, Math.min(days.length, first + DAYS_BESIDE));
      if (before.length < LEAST_DAYS || after.length < LEAST_DAYS) continue;
      const [low, high] = [before, after].map((some) => sizesOn(some, series, values));
      const usual = high!.usual / low!.usual;
      const most = high!.high / low!.high;
      if (!(isStep(usual, most) || isStep(1 / usual, 1 / most))) continue;
      findings.add('unit-changes', 'error', {
        date: formatDate(dateOfCivilDay(days[d]!.civilDay)),
        times: usual > 1 ? 1000 : 0.001,
        dailyKwhBefore: before.reduce((sum, k) => sum + sums[k]!, 0) / before.length,
        dailyKwhAfter: after.reduce((sum, k) => sum + sums[k]!, 0) / after.length,
      });
      return true;
    }
  }
  return false;
}

function isStep(...ratios: readonly number[]): boolean {
  return ratios.every((ratio) => ratio >= STEP.least && ratio <= STEP.most);
}

function range(from: number, to: number): number[] {
  return Array.from({ length: Math.max(0, to - from) }, (_, k) => from + k);
}

function sumOf(values: Float64Array, from: number, count: number): number {
  let sum = 0;
  for (let i = from; i < from + count; i++) sum += values[i]! || 0;
  return sum;
}

/** The middle and the ninth tenth of the readings above zero on some days. */
function sizesOn(
  some: readonly number[],
  series: IntervalSeries,
  values: Float64Array,
): { usual: number; high: number } {
  const readings: number[] = [];
  for (const d of some) {
    const { firstInterval, intervals } = series.axis.calendar.days[d]!;
    for (let i = firstInterval; i < firstInterval + intervals; i++) if (values[i]! > 0) readings.push(values[i]!);
  }
  readings.sort((a, b) => a - b);
  const at = (share: number) => readings[Math.floor(share * (readings.length - 1))] ?? 0;
  return { usual: at(0.5), high: at(0.9) };
}
