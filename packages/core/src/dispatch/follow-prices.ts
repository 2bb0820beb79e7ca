import { enter } from './identity.ts';
import { rolling } from './rolling/rolling.ts';
import type { Strategy } from './strategy.ts';

/**
 * What a box or an automation that follows published prices can do: it plans again every hour, from past days and from
 * the prices that are published by then, as `rolling` does by default. A home that can run it may count on it; without
 * such a box the same plan is a yardstick and bears the name `rolling`.
 *
 * @see docs/concepts/forecast.md
 */
export function followPrices(): Strategy {
  return enter({ name: 'follow-prices', knowledge: 'causal', role: 'rule', begin: rolling().begin });
}
