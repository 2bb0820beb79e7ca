import { isMadeHere, vouchFor } from '../input/door.ts';
import type { Strategy, StrategyRole } from './strategy.ts';

/** Enters a strategy as one of ours: it is known by its identity, and trusted not to write what it is shown. */
export function enter<Ours extends Strategy>(strategy: Ours): Ours {
  return vouchFor('strategy', strategy);
}

/** Whether a strategy is one of ours. A copy of one isn't. */
export function isOurs(strategy: Strategy): boolean {
  return isMadeHere('strategy', strategy);
}

/** What a strategy is for: its own word, else a yardstick where it knows the future, else a rule. */
export function roleOf(strategy: Strategy): StrategyRole {
  return strategy.role ?? (strategy.knowledge === 'foresight' ? 'yardstick' : 'rule');
}
