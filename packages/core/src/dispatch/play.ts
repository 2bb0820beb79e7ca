import { callable, check, record } from '../input/door.ts';
import { InputError, showValue } from '../input/index.ts';
import { type Flows, type Levels, makeFlows, makeLevels, type PlantOnAxis } from '../plant/index.ts';
import {
  clearFlows,
  executeLevels,
  executeWithoutPlant,
  firstBadLevel,
  resetLevels,
  startState,
} from '../plant/inside.ts';
import { drawCurtain } from './curtain.ts';
import { executeKeeping, floorAhead, keepAhead } from './floor-ahead.ts';
import { type Home, layHome } from './home.ts';
import { isOurs, roleOf } from './identity.ts';
import { meetStranger } from './stranger.ts';
import type { Planner, Strategy } from './strategy.ts';

/** One strategy's year. */
export interface StrategyRun {
  readonly strategy: Strategy;
  readonly flows: Flows;
  /** Intervals that ended with less than the floor, and the largest lack, kWh. */
  readonly shortfallIntervals: number;
  readonly shortfallKwh: number;
}

/** What `runStrategy` may reuse, where many runs follow each other. */
export interface RunOptions {
  /** Result of `homeOnAxis` for this home. */
  readonly onAxis?: PlantOnAxis;
  /** Arrays of an earlier run, overwritten: its flows are gone then. */
  readonly flows?: Flows;
  readonly levels?: Levels;
}

/** `runStrategy` of a home and a strategy that were checked. */
export function playStrategy(strategy: Strategy, home: Home, options: RunOptions = {}): StrategyRun {
  const { axis, loadKwh, solarKwh, tariff, plant, service } = home;
  const n = axis.intervals;
  const flows = options.flows === undefined ? makeFlows(n) : clearFlows(options.flows);
  if (roleOf(strategy) === 'baseline') {
    executeWithoutPlant(axis, loadKwh, solarKwh, service, flows);
    return { strategy, flows, shortfallIntervals: 0, shortfallKwh: 0 };
  }
  const onAxis = options.onAxis ?? layHome(home);
  const levels = options.levels === undefined ? makeLevels(n) : resetLevels(options.levels);
  const trusted = isOurs(strategy);
  // What else a home carries, such as a case's plant on its axis, no strategy is shown.
  const stranger = trusted ? undefined : meetStranger(strategy, levels, n);
  const shown = trusted ? { axis, loadKwh, solarKwh, tariff, plant, service } : copyOf(home);
  const shownFlows = stranger?.flows ?? flows;
  const curtain = strategy.knowledge === 'causal' ? drawCurtain(shown, shownFlows, axis, trusted) : undefined;
  const planner = strategy.begin(curtain?.view ?? { ...shown, flows: shownFlows });
  if (!trusted) check({ planner }, { planner: record<Planner>({ plan: callable }) });
  stranger?.levels(curtain);
  const state = startState(plant);
  const ahead = floorAhead(strategy, home, onAxis);
  for (let from = 0; from < n; ) {
    curtain?.reveal(from);
    const to = planner.plan(from, state.socKwh, levels);
    if (typeof to !== 'number' || !(to > from) || (to < n && !Number.isInteger(to)))
      throw emptyBlock(strategy, from, to);
    const end = Math.min(to, n);
    const planned = stranger?.levels(curtain) ?? levels;
    // That our own strategies leave none a law says (tests/laws/dispatch): looking takes almost half as long as a plain plant's loop.
    if (!trusted) checkLevels(strategy, planned, from, end);
    if (ahead === undefined) executeLevels(onAxis, planned, from, end, state, flows);
    else {
      keepAhead(ahead, planned, from, end);
      executeKeeping(onAxis, ahead, planned, from, end, state, flows);
    }
    stranger?.show(flows, from, end);
    from = end;
  }
  return { strategy, flows, shortfallIntervals: state.shortfallIntervals, shortfallKwh: state.shortfallKwh };
}

/** A copy of a home down to its arrays. What a bill's lines are made from is left out: nobody decides by it. */
function copyOf({ axis, loadKwh, solarKwh, tariff, plant, service }: Home): Home {
  const copies = new Map<object, unknown>();
  const copy = (value: unknown): unknown => {
    if (typeof value !== 'object' || value === null) return value;
    const known = copies.get(value);
    if (known !== undefined) return known;
    if (ArrayBuffer.isView(value)) {
      const array = (value as Float64Array).slice();
      copies.set(value, array);
      return array;
    }
    const made: Record<string, unknown> | unknown[] = Array.isArray(value) ? [] : {};
    copies.set(value, made);
    for (const [field, inner] of Object.entries(value)) (made as Record<string, unknown>)[field] = copy(inner);
    return made;
  };
  return copy({ axis, loadKwh, solarKwh, plant, service, tariff: { ...tariff, plan: undefined } }) as Home;
}

function emptyBlock(strategy: Strategy, from: number, to: number): InputError {
  return new InputError([
    {
      code: 'empty-block',
      where: { path: ['strategy', 'plan'], name: strategy.name },
      received: `a block from interval ${from} to ${showValue(to)}`,
      expected: `a whole number above ${from}: where the block ends`,
      hint: 'plan(from, …) returns the interval from which it wants to be asked again',
    },
  ]);
}

function checkLevels(strategy: Strategy, levels: Levels, from: number, to: number): void {
  const at = firstBadLevel(levels, from, to);
  if (at < 0) return;
  throw new InputError([
    {
      code: 'not-finite',
      where: { path: ['strategy', 'levels', at], name: strategy.name },
      received: 'a level that is not a number, or a cap below 0',
      expected: 'levels of stored energy and a cap of at least 0',
      hint: 'a causal strategy reads NaN where it may not look: ask only for what has passed, or is published',
    },
  ]);
}
