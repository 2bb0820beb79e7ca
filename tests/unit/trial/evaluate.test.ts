import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  bestInHindsight,
  hold,
  homeOnAxis,
  none,
  optimum,
  runStrategy,
  searchedSettings,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { backupHours, summarizeReserve } from '@duskbank/core/outage';
import {
  executeLevels,
  executeWithoutPlant,
  type Flows,
  makeFlows,
  makeLevels,
  startState,
} from '@duskbank/core/plant';
import { compare, outage, settings } from '@duskbank/core/study';
import { billTariff, compileTariff } from '@duskbank/core/tariff';
import {
  type Case,
  type EvaluateOptions,
  evaluate,
  makeCase,
  withLoad,
  withPlant,
  withTariff,
} from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { outageStudy } from '../../support/outage-study.ts';

const study = outageStudy({ load: { watts: 400 } });
// A tariff from its file, so that there are lines.
const home = withTariff(study.home, compileTariff(study.tariff, study.home.axis));

/** What a call was refused for. */
function refusal(call: () => unknown): { code: string; path: unknown }[] {
  try {
    call();
  } catch (error) {
    if (error instanceof InputError) return error.issues.map(({ code, where }) => ({ code, path: where.path }));
    throw error;
  }
  return [];
}

describe('arrays that are handed over to be overwritten', () => {
  const n = home.axis.intervals;
  const total = (options: EvaluateOptions) => evaluate(home, windowFill, ['bill'], options).bill.total;
  const shared = (path: unknown) => [{ code: 'shared-array', path }];

  test('may be those of an earlier run, and parts of one buffer that don’t overlap', () => {
    const usual = total({});
    const { flows } = evaluate(home, hold, ['flows']);
    expect(total({ flows, levels: makeLevels(n) })).toBe(usual);
    const buffer = new ArrayBuffer(7 * 8 * n);
    const names = Object.keys(makeFlows(0));
    const parts = Object.fromEntries(names.map((name, k) => [name, new Float64Array(buffer, 8 * n * k, n)]));
    expect(total({ flows: parts as unknown as Flows })).toBe(usual);
  });

  test('share no memory with each other', () => {
    const flows = makeFlows(n);
    const path = ['flows', 'exportKwh'];
    expect(refusal(() => total({ flows: { ...flows, exportKwh: flows.importKwh } }))).toEqual(shared(path));
    const long = new Float64Array(n + 1);
    const overlapping = { ...flows, importKwh: long.subarray(0, n), exportKwh: long.subarray(1) };
    expect(refusal(() => total({ flows: overlapping }))).toEqual(shared(path));
    const levels = makeLevels(n);
    const oneLevel = { ...levels, serveDownToKwh: levels.gridChargeToKwh };
    expect(refusal(() => total({ levels: oneLevel }))).toEqual(shared(['levels', 'serveDownToKwh']));
    expect(refusal(() => total({ flows, levels: { ...levels, importCapKw: flows.socKwh } }))).toEqual(
      shared(['levels', 'importCapKw']),
    );
  });

  test('are none that the run reads, which stay as they were', () => {
    const flows = makeFlows(n);
    const before = home.loadKwh.slice();
    const read = [home.loadKwh, home.solarKwh, home.tariff.importPricePerKwh, home.onAxis.netKwh];
    for (const importKwh of read) {
      const refused = shared(['flows', 'importKwh']);
      expect(refusal(() => total({ flows: { ...flows, importKwh } }))).toEqual(refused);
      if (importKwh !== home.onAxis.netKwh)
        expect(refusal(() => runStrategy(windowFill, home, { flows: { ...flows, importKwh } }))).toEqual(refused);
    }
    const { axis, loadKwh, solarKwh, service } = home;
    const run = () => executeWithoutPlant(axis, loadKwh, solarKwh, service, { ...flows, socKwh: loadKwh });
    expect(refusal(run)).toEqual(shared(['flows', 'socKwh']));
    const state = startState(home.plant);
    const step = () => executeLevels(home.onAxis, makeLevels(n), 0, n, state, { ...flows, socKwh: solarKwh });
    expect(refusal(step)).toEqual(shared(['flows', 'socKwh']));
    expect(home.loadKwh).toEqual(before);
  });
});

describe('an outcome', () => {
  test('is what the run, the bill, the bound and the hours of backup give by themselves', () => {
    const outcome = evaluate(home, windowFill, ['flows', 'bill', 'lines', 'energy', 'reserve', 'backupHours', 'bound']);
    const { flows } = runStrategy(windowFill, home);
    expect(outcome.flows).toEqual(flows);
    expect(outcome.bill.total).toBeCloseTo(billTariff(home.tariff, flows).total + outcome.bill.startEnergy, 9);
    expect(outcome.lines.total).toBeCloseTo(outcome.bill.total - outcome.bill.startEnergy, 9);
    expect(outcome.energy.dischargedKwh).toBeGreaterThan(1);
    expect(outcome.reserve).toEqual(summarizeReserve(home.plant, flows.socKwh));
    expect(outcome.backupHours).toEqual(
      backupHours({ axis: home.axis, plant: home.plant, socKwh: flows.socKwh, ...study.island }),
    );
    const best = bestInHindsight(home);
    expect(outcome.bound.billTotal).toBeCloseTo(best.boundTotal + outcome.bill.startEnergy, 9);
    expect(outcome.bound.billTotal).toBeLessThanOrEqual(outcome.bill.unrounded + 1e-9);
  });

  test('holds what was asked for, and nothing else', () => {
    expect(Object.keys(evaluate(home, hold)).sort()).toEqual(
      ['shortfallIntervals', 'shortfallKwh', 'strategy', 'withoutPlant'].sort(),
    );
    expect(evaluate(home, hold, ['bill'])).not.toHaveProperty('flows');
  });

  test('without a battery has no reserve, no hours and nothing stored', () => {
    const { reserve, backupHours, energy, bill } = evaluate(home, none, ['reserve', 'backupHours', 'energy', 'bill']);
    expect({ reserve, backupHours }).toEqual({ reserve: null, backupHours: null });
    expect(energy).toMatchObject({ startKwh: 0, endKwh: 0, standbyKwh: 0, equivalentFullCycles: 0 });
    expect(bill.startEnergy).toBe(0);
  });

  test('counts to standby what converting draws: all that passed the meter is accounted for', () => {
    const drawing = withPlant(home, { ...home.plant, conversionW: 100 });
    const { energy, flows } = evaluate(drawing, windowFill, ['energy', 'flows']);
    const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);
    const { importKwh, exportKwh, chargedKwh, dischargedKwh, curtailedKwh, unservedKwh, standbyKwh } = energy;
    const used = sum(home.loadKwh) - unservedKwh - sum(home.solarKwh) + curtailedKwh;
    expect(standbyKwh).toBeCloseTo(importKwh - exportKwh - used - chargedKwh + dischargedKwh, 6);
    const { standbyKwh: before } = evaluate(home, windowFill, ['energy']).energy;
    const converting = flows.chargeKwh.filter((kwh, i) => kwh > 0 || flows.dischargeKwh[i]! > 0).length;
    expect(converting).toBeGreaterThan(10);
    expect(standbyKwh).toBeCloseTo(before + 0.1 * home.axis.stepHours * converting, 9);
  });

  test('of the optimum pays the bound where that is exact; of a search it tells what was found', () => {
    const best = evaluate(home, optimum(), ['bill', 'bound']);
    expect(best.bound).toMatchObject({ proof: 'exact', gap: 0 });
    expect(best.bill.unrounded).toBeCloseTo(best.bound.billTotal, 6);
    const controller = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };
    expect(evaluate(home, searchedSettings(controller), ['sheets']).sheets!.all.schedules.length).toBeGreaterThan(0);
    expect(evaluate(home, windowFill, ['sheets']).sheets).toBeNull();
  });

  test('is written into the arrays of an earlier one where it is told to', () => {
    const first = evaluate(home, windowFill, ['flows']);
    const again = evaluate(home, selfConsumption, ['flows', 'bill'], { flows: first.flows });
    expect(again.flows).toBe(first.flows);
    expect(again.bill).toEqual(evaluate(home, selfConsumption, ['bill']).bill);
  });
});

describe('a case', () => {
  test('is plain data: its copy, as a worker gets it, gives the same outcome', () => {
    const copy = structuredClone(home);
    expect(copy).not.toBe(home);
    const wanted = ['flows', 'bill', 'lines', 'bound', 'backupHours'] as const;
    expect(evaluate(copy, windowFill, wanted)).toEqual(evaluate(home, windowFill, wanted));
  });

  test('of another plant, tariff or load is what would be made from nothing', () => {
    const plant = { ...home.plant, capacityKwh: 2 * home.plant.capacityKwh };
    const { plan: _, ...priced } = home.tariff;
    const tariff = { ...priced, importPricePerKwh: priced.importPricePerKwh.map((price) => 2 * price) };
    const loadKwh = home.loadKwh.map((kwh) => 1.5 * kwh);
    const service = { ...home.service, exportLimitKw: 0.5 };
    const pairs: [Case, Case][] = [
      [withPlant(home, plant), makeCase({ ...home, plant }, home.island)],
      [withTariff(home, tariff), makeCase({ ...home, tariff }, home.island)],
      [withTariff(home, tariff, service), makeCase({ ...home, tariff, service }, home.island)],
      [withLoad(home, loadKwh), makeCase({ ...home, loadKwh })],
    ];
    const wanted = ['flows', 'bill', 'bound'] as const;
    const usual = evaluate(home, windowFill, wanted);
    for (const [changed, made] of pairs) {
      expect(evaluate(changed, windowFill, wanted)).toEqual(evaluate(made, windowFill, wanted));
      expect(evaluate(changed, windowFill, wanted).bill).not.toEqual(usual.bill);
    }
    // Only what depends on load and sun is shared.
    expect(withPlant(home, plant).onAxis.netKwh).toBe(home.onAxis.netKwh);
    expect(homeOnAxis({ ...home, plant }).netKwh).not.toBe(home.onAxis.netKwh);
  });

  test('on a copied tariff whose prices were changed beside its plan is refused: bill and total would differ', () => {
    const doubled = { ...home.tariff, importPricePerKwh: home.tariff.importPricePerKwh.map((price) => 2 * price) };
    expect(refusal(() => withTariff(home, doubled))).toEqual([{ code: 'not-compiled', path: ['tariff', 'plan'] }]);
    const copy = structuredClone(home);
    copy.tariff.importPricePerKwh.fill(0);
    expect(refusal(() => evaluate(copy, windowFill, ['bill']))).toEqual([
      { code: 'not-compiled', path: ['case', 'tariff', 'plan'] },
    ]);
  });

  type Loose = { -readonly [Field in keyof Case['tariff']]: Case['tariff'][Field] };
  test.each<[string, (tariff: Loose) => void]>([
    [
      'windows of intervals',
      (tariff) => Object.assign(tariff, { windows: [...tariff.windows, tariff.windows[0]!] }).window.fill(1),
    ],
    ['the kind of a window', (tariff) => Object.assign(tariff.windows[0]!, { kind: 'peak' })],
    ['periods of intervals', (tariff) => tariff.period.fill(0)],
    ['days of a period', (tariff) => Object.assign(tariff.periods[0]!, { days: 3 })],
    ['the limit of export', (tariff) => Object.assign(tariff, { exportLimitKw: 0.1 })],
    ['decimals of money', (tariff) => Object.assign(tariff, { currencyDecimals: 0 })],
    ['how prices are known', (tariff) => Object.assign(tariff, { priceKnowledge: 'day-ahead' })],
    ['how it is metered', (tariff) => Object.assign(tariff, { metering: 'gross' })],
  ])('on a cloned tariff in which %s were changed is refused', (_, change) => {
    const copy = structuredClone(home);
    expect(refusal(() => evaluate(copy, windowFill, ['bill']))).toEqual([]);
    const changed = structuredClone(home);
    change(changed.tariff);
    expect(changed.tariff).not.toEqual(home.tariff);
    expect(refusal(() => evaluate(changed, windowFill, ['bill']))).toEqual([
      { code: 'not-compiled', path: ['case', 'tariff', 'plan'] },
    ]);
  });

  test('on a tariff that lets less be exported exports no more than that', () => {
    const sunny = withLoad(
      home,
      home.loadKwh,
      home.loadKwh.map(() => 4),
      home.island,
    );
    const limited = { ...sunny.tariff, plan: undefined, exportLimitKw: 1 };
    const { flows } = evaluate(withTariff(sunny, limited), none, ['flows']);
    expect(Math.max(...flows.exportKwh)).toBeCloseTo(home.axis.stepHours, 9);
    // The home's own limit was there when it was metered.
    expect(withTariff(sunny, { ...sunny.tariff }).service).toBe(sunny.service);
  });

  test('with another plant keeps what an outage asks only where that can’t depend on the change', () => {
    const { plant, island } = home;
    expect(withPlant(home, { ...plant, floorKwh: 1, startKwh: 1 }).island).toBe(island);
    const larger = withPlant(home, { ...plant, capacityKwh: 2 * plant.capacityKwh });
    expect(larger.island).toBeUndefined();
    expect(refusal(() => evaluate(larger, windowFill, ['backupHours']))).toMatchObject([{ code: 'missing' }]);
    expect(withPlant(home, larger.plant, island).island).toBe(island);
  });

  test('that keeps hours of its load takes no other load without another floor', () => {
    const kept = withPlant(home, { ...home.plant, floorFromPast: true });
    const loadKwh = home.loadKwh.map((kwh) => 2 * kwh);
    expect(refusal(() => withLoad(kept, loadKwh))).toMatchObject([{ code: 'stale-floor' }]);
    expect(withLoad(kept, kept.loadKwh.slice(), kept.solarKwh).plant).toBe(kept.plant);
  });

  test('with another island than its study’s is refused there', () => {
    const island = { ...home.island!, gaugeErrorKwh: 0.5 };
    const other = { ...study, home: withPlant(home, home.plant, island) };
    expect(refusal(() => compare(other))).toEqual([{ code: 'contradiction', path: ['study', 'island'] }]);
    expect(refusal(() => compare({ ...other, island }))).toEqual([]);
  });

  test('that was copied with another plant is refused: its runs would be the former plant’s', () => {
    const plant = { ...home.plant, capacityKwh: 2 * home.plant.capacityKwh };
    expect(refusal(() => evaluate({ ...home, plant }, windowFill, ['bill']))).toEqual([
      { code: 'stale-case', path: ['case', 'plant'] },
    ]);
    expect(refusal(() => compare({ ...study, home: { ...home, loadKwh: home.loadKwh.slice() } }))).toEqual([
      { code: 'stale-case', path: ['study', 'home', 'loadKwh'] },
    ]);
  });

  test('whose plant on the axis is another’s is refused, in a copy too', () => {
    const other = withPlant(home, { ...home.plant, capacityKwh: 2 * home.plant.capacityKwh });
    expect(refusal(() => evaluate({ ...home, onAxis: other.onAxis }, windowFill, ['bill']))).toEqual([
      { code: 'contradiction', path: ['case', 'onAxis'] },
    ]);
    const copy = structuredClone(home);
    copy.onAxis.netKwh[0]! += 1;
    expect(refusal(() => evaluate(copy, windowFill, ['bill']))).toEqual([
      { code: 'contradiction', path: ['case', 'onAxis'] },
    ]);
    expect(evaluate(structuredClone(other), windowFill, ['bill'])).toEqual(evaluate(other, windowFill, ['bill']));
  });

  test('without an island has no hours of backup', () => {
    expect(refusal(() => evaluate(makeCase(home), windowFill, ['backupHours']))).toEqual([
      { code: 'missing', path: ['island'] },
    ]);
  });
});

describe('a long loop', () => {
  test('ends before the next run once it is aborted', () => {
    const stop = new AbortController();
    const seen: string[] = [];
    const onStrategy = (name: string) => {
      seen.push(name);
      if (name === 'window') stop.abort(new Error('enough'));
    };
    expect(() => compare(study, { onStrategy, signal: stop.signal })).toThrow('enough');
    expect(seen[seen.length - 1]).toBe('window');
    expect(() => outage(study, { signal: stop.signal })).toThrow('enough');
  });

  test('ends in the middle of a search of settings, before the next schedule is tried', () => {
    const reason = new Error('enough');
    const endingAt = (look: number) => {
      let looks = 0;
      const seen: string[] = [];
      const signal = {
        get aborted() {
          return ++looks > look;
        },
        reason,
      };
      const run = () => settings(study, { signal, onStep: (what) => seen.push(what) });
      return { run, seen, looks: () => looks };
    };
    const ended = endingAt(25);
    expect(ended.run).toThrow(reason);
    expect(ended.seen).toEqual(['searching what to enter']);
    expect(ended.looks()).toBe(26);
    const whole = endingAt(Number.POSITIVE_INFINITY);
    expect(whole.run().sheet.schedules.length).toBeGreaterThan(0);
    expect(whole.seen).toEqual(['searching what to enter', 'running rolling']);
  });
});

test('no other place in study runs a strategy, looks for the best or bills flows', () => {
  const folder = join(import.meta.dirname, '../../../packages/core/src/study');
  const running = /\b(runStrategy|playStrategy|bestInHindsight|lookBack|billTotal|billTariff|executeLevels)\(/;
  const found = readdirSync(folder).filter((file) => running.test(readFileSync(join(folder, file), 'utf8')));
  // bills.ts bills what the meter read: nothing was run for it.
  expect(found).toEqual(['bills.ts']);
});
