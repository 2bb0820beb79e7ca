import type { Service } from './plant.ts';

/** A limit of the service that the home has passed. */
export interface LimitPassed {
  readonly way: 'import' | 'export';
  readonly limitKw: number;
  /** The highest that passed, kW, and the intervals and energy above the limit. */
  readonly highestKw: number;
  readonly intervals: number;
  readonly aboveKwh: number;
}

/** A reading is in whole Wh at best: what is above a limit by no more is rounding, kWh. */
const READING_KWH = 0.001;

/**
 * A service with its limits raised to what passed it: the past was not limited, so a limit below it can't be what holds.
 *
 * Were it applied, metered load would go unserved and metered export be lost in every result that is compared, and a
 * battery would be praised for mending what never happened.
 *
 * @param netKwh what the meter read, import positive, kWh an interval
 */
export function raiseToMetered(
  stated: Service,
  netKwh: Float64Array,
  stepHours: number,
): { service: Service; passed: readonly LimitPassed[] } {
  const passed: LimitPassed[] = [];
  const fit = (way: LimitPassed['way'], limitKw: number, sign: number) => {
    if (limitKw === Number.POSITIVE_INFINITY) return limitKw;
    const limitKwh = limitKw * stepHours;
    let highestKwh = 0;
    let intervals = 0;
    let aboveKwh = 0;
    for (let i = 0; i < netKwh.length; i++) {
      const kwh = sign * netKwh[i]!;
      if (kwh > highestKwh) highestKwh = kwh;
      if (kwh <= limitKwh + READING_KWH) continue;
      intervals++;
      aboveKwh += kwh - limitKwh;
    }
    const highestKw = highestKwh / stepHours;
    if (intervals > 0) passed.push({ way, limitKw, highestKw, intervals, aboveKwh });
    // A hair more, so that kW made of kWh and back cut nothing off the highest reading.
    return Math.max(limitKw, highestKw * (1 + 1e-12));
  };
  const importLimitKw = fit('import', stated.importLimitKw, 1);
  const exportLimitKw = fit('export', stated.exportLimitKw, -1);
  return { service: { importLimitKw, exportLimitKw }, passed };
}
