import { enter } from './identity.ts';
import type { Planner, Strategy, StrategyView } from './strategy.ts';

/** The plant absent: the home as it is, with no battery, no standby and no inverter limit. */
export const none: Strategy = /* @__PURE__ */ enter({
  name: 'none',
  knowledge: 'causal',
  role: 'baseline',
  begin: () => ({ plan: (from) => from + 1 }),
});

/** Buys to full and stays there: all of the battery for an outage, none of it for the bill. */
export const hold: Strategy = /* @__PURE__ */ enter({
  name: 'hold',
  knowledge: 'causal',
  begin: (view) => ({
    plan(from, _socKwh, levels) {
      levels.gridChargeToKwh.fill(Number.POSITIVE_INFINITY, from);
      levels.serveDownToKwh.fill(Number.POSITIVE_INFINITY, from);
      return view.axis.intervals;
    },
  }),
});

/** Stores own surplus, carries own load whenever there is any, never buys, never sells. */
export const selfConsumption: Strategy = /* @__PURE__ */ enter({
  name: 'self-consumption',
  knowledge: 'causal',
  // Levels arrive set to just this.
  begin: (view: StrategyView): Planner => ({ plan: () => view.axis.intervals }),
});
