import { makeAxis } from '@duskbank/core/axis';
import { type Home, type Planner, runStrategy, type Strategy, type StrategyView } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { openService, plainPlant } from '../../support/homes.ts';

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 72, zone: 'Etc/UTC' });
const home: Home = {
  axis,
  loadKwh: new Float64Array(72).fill(1),
  solarKwh: new Float64Array(72),
  tariff: compileTariff(
    parseTariff({
      format: 'duskbank.tariff/1',
      name: 'One price',
      currency: 'USD',
      windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }],
    }),
    axis,
  ),
  plant: plainPlant({ capacityKwh: 8, floorKwh: new Float64Array(72).fill(1), floorFromPast: true }),
  service: openService,
};

/** A strategy of somebody else's that does one thing, and plans a day at a time. */
function stranger(does: { begin?: (view: StrategyView) => void; plan?: (levels: Record<string, unknown>) => void }) {
  const begin = (view: StrategyView): Planner => {
    does.begin?.(view);
    return {
      plan(from, _, levels) {
        does.plan?.(levels as unknown as Record<string, unknown>);
        return from + 24;
      },
    };
  };
  const causal: Strategy = { name: 'mine', knowledge: 'causal', begin };
  return [causal, { ...causal, knowledge: 'foresight' as const }];
}

function faultsOf(strategy: Strategy): string[] {
  try {
    runStrategy(strategy, home);
  } catch (error) {
    if (error instanceof InputError)
      return error.issues.map(({ code, where }) => `${code} ${where.path?.join('.')} ${where.name}`);
    throw error;
  }
  return [];
}

const gone = (array: unknown) => structuredClone(array, { transfer: [(array as Float64Array<ArrayBuffer>).buffer] });

describe('what a stranger does to its levels', () => {
  test.each([
    ['shortens one', (levels) => Object.assign(levels, { serveDownToKwh: new Float64Array(1) }), 'length-mismatch'],
    ['gives one away', (levels) => gone(levels.serveDownToKwh), 'length-mismatch'],
    ['deletes one', (levels) => delete levels.serveDownToKwh, 'missing'],
    ['lists one', (levels) => Object.assign(levels, { serveDownToKwh: new Array(72).fill(0) }), 'wrong-type'],
  ] as [string, (levels: Record<string, unknown>) => void, string][])('%s: refused', (_, plan, code) => {
    for (const strategy of stranger({ plan }))
      expect(faultsOf(strategy)).toEqual([`${code} strategy.levels.serveDownToKwh mine`]);
  });

  test('an array of its own, as long as the run, is followed', () => {
    const kept = (levels: Record<string, unknown>) =>
      Object.assign(levels, { serveDownToKwh: new Float64Array(72).fill(Number.POSITIVE_INFINITY) });
    const full = { ...home, plant: { ...home.plant, startKwh: 8 } };
    for (const strategy of stranger({ plan: kept }))
      expect(Math.max(...runStrategy(strategy, full).flows.dischargeKwh)).toBe(0);
    for (const strategy of stranger({}))
      expect(Math.max(...runStrategy(strategy, full).flows.dischargeKwh)).toBeGreaterThan(0);
  });
});

test('an array of its view that a stranger gave away is missed', () => {
  for (const [causal, foresighted] of [
    stranger({ begin: (view) => gone(view.flows.socKwh) }),
    stranger({ begin: (view) => gone(view.flows.importKwh) }),
  ])
    for (const strategy of [causal!, foresighted!])
      expect(faultsOf(strategy)).toEqual(['array-gone strategy.view mine']);
  for (const begin of [(view: StrategyView) => gone(view.loadKwh), (view: StrategyView) => gone(view.plant.floorKwh)])
    expect(faultsOf(stranger({ begin })[0]!)).toEqual(['array-gone strategy.view mine']);
  // What was emptied or overwritten is the stranger's own loss.
  for (const strategy of stranger({
    begin(view) {
      for (const field of Object.keys(view.flows)) delete (view.flows as unknown as Record<string, unknown>)[field];
      for (const field of ['day', 'days', 'minuteOfDay']) Object.assign(view.axis.calendar, { [field]: [] });
    },
  }))
    expect(faultsOf(strategy)).toEqual([]);
});

test('where a block ends is a number', () => {
  for (const to of [72n, '72', Symbol('72'), [72], { valueOf: () => 72 }])
    expect(faultsOf({ name: 'mine', knowledge: 'causal', begin: () => ({ plan: () => to as number }) })).toEqual([
      'empty-block strategy.plan mine',
    ]);
});

test('a stranger that shifts the days of its axis learns no price before it is published', () => {
  const prices = { ...home.tariff, plan: undefined, priceKnowledge: 'day-ahead' as const };
  const known: number[] = [];
  const strategy: Strategy = {
    name: 'mine',
    knowledge: 'causal',
    begin(view) {
      const { tariff } = view;
      view.axis.calendar.day.fill(2);
      return {
        plan(from) {
          known.push(tariff.importPricePerKwh.findIndex((price) => Number.isNaN(price)));
          return from + 24;
        },
      };
    },
  };
  runStrategy(strategy, { ...home, tariff: prices });
  // Days are published at 13:00 of the day before: at midnight only the day itself is known.
  expect(known).toEqual([24, 48, -1]);
});

describe('the name of a stranger', () => {
  const named = (name: string) => ({ ...stranger({})[0]!, name });

  // The last: full-width letters, which NFKC makes plain ones.
  test.each(['window', 'window ', '\u00a0window', 'Window', 'opti\u200bmum', 'optimum\u2069', 'ｗｉｎｄｏｗ'])(
    '%j would be taken for one of ours',
    (name) => expect(faultsOf(named(name))).toEqual(['reserved-name strategy.name undefined']),
  );

  test.each(['', '   ', '\u200b', '\u3000', 'a\u202eb', 'my\u200bplan', 'my\nplan', 'x'.repeat(61)])(
    '%j is none',
    (name) => expect(faultsOf(named(name))).toEqual(['wrong-form strategy.name undefined']),
  );

  test.each(['mine', 'window 2', 'Küche', '台所', '🔋 first', '☀\ufe0f first'])('%j may be', (name) =>
    expect(faultsOf(named(name))).toEqual([]),
  );
});
