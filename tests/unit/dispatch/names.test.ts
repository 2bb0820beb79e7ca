import * as dispatch from '@duskbank/core/dispatch';
import {
  followPrices,
  followSheet,
  hold,
  none,
  optimum,
  peakShave,
  RESERVED_STRATEGY_NAMES,
  rolling,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { expect, test } from 'vitest';

test('the reserved names are those that the library’s strategies bear', () => {
  const solarForecast = { error: 0.2, seed: 1 };
  const borne = [
    none,
    hold,
    selfConsumption,
    windowFill,
    peakShave(),
    followSheet({ reservePercent: 20, dated: [], gridChargeKw: 0, schedules: [] }),
    optimum(),
    optimum(undefined, 0.01),
    followPrices(),
    rolling(),
    rolling({ wearPerKwh: 0.01 }),
    rolling({ solarForecast }),
    rolling({ solarForecast, wearPerKwh: 0.01 }),
  ].map((strategy) => strategy.name);
  expect([...new Set(borne)].sort()).toEqual([...RESERVED_STRATEGY_NAMES].sort());
  // A strategy that is exported without being made here is found by its form.
  for (const value of Object.values(dispatch))
    if (typeof value === 'object' && value !== null && 'begin' in value)
      expect(RESERVED_STRATEGY_NAMES).toContain((value as { name: string }).name);
});
