import type { Said } from '../../words/metering.ts';
import { againstSun } from '../against-sun.ts';
import { toldRuns } from '../day-runs.ts';
import type { IntervalSeries } from '../series.ts';
import { type MeteringFault, meteringFault } from './fault.ts';
import type { SolarDay } from './sun.ts';

/** Of the dark intervals of a day, those in which a home's draw counts at least: a battery may carry it through most of the night. */
const DARK_SHARE = 0.2;
/** What flows in the dark while nothing is drawn may be a battery's leavings: less than a home's least draw. */
const LEAST_DARK_KW = 0.03;
/** A register of what is sold holds so much less in the dark than the other. */
const NO_DARK_SHARE = 0.1;
/** Local hours of sun, in which a register of what is sold has nearly all of its energy. */
const SUN_HOURS = { from: 6, to: 19 };
const SUNNY_SHARE = 0.95;
/** A home with a roof draws more in the dark than at noon from the grid; what the roof leaves over is sold at noon. */
const NOON = { from: 11, to: 14 };
/** Fewer days may be a battery's that was emptied into the grid. */
const FEWEST_DAYS = 7;

/**
 * Export that counts through the night, as what a home draws does, beside a register of import that counts by day alone, as what a roof
 * leaves over does: the two have each other's names, on all days or from a file or a day on. A register beside them that counts in
 * the dark (a hot water heater's) hides it from the sum. Where a battery carries the night too, the course of both over the day tells
 * it: {@link againstSun}.
 *
 * @param suns the sun's day for each local date, where the place is known
 * @param said whether the user says which is which
 * @returns whether it was told
 */
export function checkExchanged(
  series: IntervalSeries,
  dark: Uint8Array,
  suns: readonly SolarDay[] | undefined,
  said: Said,
  faults: MeteringFault[],
): boolean {
  const { axis, importKwh, exportKwh, parts = [] } = series;
  if (importKwh === undefined || exportKwh === undefined) return false;
  const registers = parts.flatMap(({ channel, name, kwh }) =>
    channel === 'import' && kwh !== undefined ? [{ name, kwh }] : [],
  );
  if (registers.length < 2) registers.splice(0, 1, { name: 'import', kwh: importKwh });
  for (const { name, kwh } of registers) {
    const days = axis.calendar.days.filter(({ firstInterval, intervals }) => {
      let [count, exporting, sold, bought] = [0, 0, 0, 0];
      for (let i = firstInterval; i < firstInterval + intervals; i++) {
        if (dark[i] === 0 || Number.isNaN(exportKwh[i]! + kwh[i]!)) continue;
        count++;
        if (exportKwh[i]! > 0) exporting++;
        sold += exportKwh[i]!;
        bought += kwh[i]!;
      }
      return (
        count > 0 &&
        exporting >= DARK_SHARE * count &&
        sold >= LEAST_DARK_KW * count * axis.stepHours &&
        bought <= NO_DARK_SHARE * sold
      );
    });
    if (days.length < FEWEST_DAYS) continue;
    const sun = { bought: 0, all: 0 };
    const [noon, night] = [
      { sold: 0, count: 0 },
      { sold: 0, count: 0 },
    ];
    for (const { firstInterval, intervals } of days)
      for (let i = firstInterval; i < firstInterval + intervals; i++) {
        if (Number.isNaN(exportKwh[i]! + kwh[i]!)) continue;
        const hour = axis.calendar.minuteOfDay[i]! / 60;
        const isIn = ({ from, to }: typeof NOON) => hour >= from && hour < to;
        sun.all += kwh[i]!;
        if (isIn(SUN_HOURS)) sun.bought += kwh[i]!;
        const of = dark[i] === 1 ? night : isIn(NOON) ? noon : undefined;
        if (of === undefined) continue;
        of.sold += exportKwh[i]!;
        of.count++;
      }
    if (!(sun.all > 0) || sun.bought < SUNNY_SHARE * sun.all) continue;
    if (!(night.sold * noon.count > noon.sold * night.count)) continue;
    faults.push(
      meteringFault(
        'registers-exchanged',
        {
          register: name,
          days: days.length,
          runs: toldRuns(days.map(({ civilDay }) => civilDay)),
          darkKwh: night.sold,
          ...said,
        },
        { confidence: 'sure', count: days.reduce((sum, { intervals }) => sum + intervals, 0) },
      ),
    );
    return true;
  }
  for (const { name, kwh } of registers) {
    const against = againstSun(series, kwh, exportKwh, suns);
    if (against === undefined) continue;
    const { days, darkKwh } = against;
    const data = { register: name, days: days.length, runs: toldRuns(days), darkKwh, by: 'course' as const, ...said };
    faults.push(meteringFault('registers-exchanged', data, { confidence: 'likely', count: axis.intervals }));
    return true;
  }
  return false;
}
