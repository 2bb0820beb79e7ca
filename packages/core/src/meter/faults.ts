import { check, flag, number, optional, record } from '../input/door.ts';
import type { Said } from '../words/metering.ts';
import { darkIntervals, sunDays } from './metering/daylight.ts';
import type { MeteringContext, MeteringFault } from './metering/fault.ts';
import { checkReadings } from './metering/odd-readings.ts';
import { checkClock } from './metering/solar-clock.ts';
import { checkReversed, checkSolarHalf, checkSolarInLoad, checkSwapped } from './metering/transformers.ts';
import { meteredSeries } from './rules.ts';
import type { IntervalSeries } from './series.ts';
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
      }),
    },
  );
  const faults: MeteringFault[] = [];
  const days = sunDays(series, context);
  const dark = darkIntervals(series, days);
  const swapped = checkSwapped(series, dark, faults);
  if (!swapped) {
    checkReversed(series, dark, days, context.billedKwh, saidOf(series, context), faults);
    // Where the grid's signs can't be trusted, export says nothing of solar.
    if (faults.length === 0) checkSolarHalf(series, faults);
    checkSolarInLoad(series, dark, faults);
    checkClock(series, days, faults);
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
