import { check, flag, number, optional, record } from '../input/door.ts';
import type { Said } from '../words/metering.ts';
import { checkClockElsewhere } from './metering/clock-elsewhere.ts';
import { darkIntervals, sunDays } from './metering/daylight.ts';
import { type MeteringContext, type MeteringFault, meteringFault } from './metering/fault.ts';
import { checkReadings } from './metering/odd-readings.ts';
import { checkClock } from './metering/solar-clock.ts';
import { checkSunUnseen } from './metering/sun-unseen.ts';
import { checkReversed, checkSolarHalf, checkSolarInLoad, checkSwapped } from './metering/transformers.ts';
import { silentHours } from './place/silent-hours.ts';
import { meteredSeries } from './rules.ts';
import { channelField, type IntervalSeries } from './series.ts';
import { noNightOf } from './solar-shape.ts';

/**
 * Looks for metering faults that show in the data: transformers the wrong way round, a leg missing, solar and
 * grid swapped, solar inside load, a clock that is off, and readings that no home makes.
 *
 * Common practice: one transformer on each grid leg, its arrow by the maker's mark towards the source, one on
 * either conductor of the solar feed, where one suffices and counts twice. Nothing is corrected here: a fault
 * names the adjustment that would.
 *
 * @throws InputError on series of another length than their axis, and a place that is not on the earth
 * @example checkMetering(series, { latitudeDeg: 39.7, longitudeDeg: -105 }).map((fault) => fault.code)
 */
export function checkMetering(series: IntervalSeries, context: MeteringContext = {}): MeteringFault[] {
  check(
    { series, context },
    {
      series: meteredSeries,
      context: record<MeteringContext>({
        latitudeDeg: optional(number({ least: -90, most: 90 })),
        longitudeDeg: optional(number({ least: -180, most: 180 })),
        billedKwh: optional(number({ least: 0 })),
        rolesStated: optional(flag),
        drawnIsAll: optional(flag),
        noPanels: optional(flag),
        netOneWay: optional(flag),
      }),
    },
  );
  const faults: MeteringFault[] = [];
  const days = sunDays(series, context);
  const dark = darkIntervals(series, days);
  const swapped = checkSwapped(series, dark, faults);
  if (!swapped) {
    const elsewhere = checkClockElsewhere(series, faults);
    if (!elsewhere) checkReversed(series, dark, days, context.billedKwh, saidOf(series, context), faults);
    // Where the grid's signs can't be trusted, export says nothing of solar.
    if (faults.length === 0) checkSolarHalf(series, faults);
    checkSolarInLoad(series, dark, faults);
    const { drawnIsAll: isAll = false, netOneWay: isNet = false, noPanels: hasNoPanels = false } = context;
    checkSunUnseen(series, { isAll, isNet, hasNoPanels }, faults);
    if (context.drawnIsAll === true) checkSilent(series, faults);
    if (!elsewhere) checkClock(series, days, faults);
  }
  checkReadings(series, dark, faults);
  return faults;
}

/** Whether the user says which is bought and which is sold, and whether what they call bought has the shape of solar: no home draws so. */
function saidOf(series: IntervalSeries, { rolesStated }: MeteringContext): Said {
  if (rolesStated !== true) return {};
  const { importKwh } = series;
  return importKwh !== undefined && noNightOf(series, importKwh)?.arc === true ? { denied: true } : { stated: true };
}

/** What is stated as all that the home takes is nothing at set hours: the words lift the question, not what it is asked for. */
function checkSilent(series: IntervalSeries, faults: MeteringFault[]): void {
  const channel = series.importKwh === undefined ? 'load' : 'import';
  const drawn = series[channelField(channel)];
  const { exportKwh, solarKwh } = series;
  const silent =
    drawn === undefined
      ? undefined
      : silentHours(series.axis, drawn, (i) => (exportKwh?.[i] ?? 0) > 0 || (solarKwh?.[i] ?? 0) > 0);
  if (silent === undefined || noNightOf(series, drawn!)?.arc === true) return;
  faults.push(
    meteringFault('silent-hours', { channel, ...silent }, { confidence: 'likely', count: series.axis.intervals }),
  );
}
