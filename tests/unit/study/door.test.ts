import { readFileSync } from 'node:fs';
import { billingPeriods, makeAxis, offsetSpans } from '@duskbank/core/axis';
import {
  followSheet,
  none,
  optimalDispatch,
  optimum,
  peakShave,
  rolling,
  runStrategy,
  type Strategy,
  type StrategyView,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { type IntervalSeries, parseIntervalData, repairGaps } from '@duskbank/core/meter';
import { backupHours, simulateOutage } from '@duskbank/core/outage';
import { parseSite } from '@duskbank/core/site';
import {
  bill,
  circuits,
  compare,
  explain,
  makeStudy,
  outage,
  type Study,
  settings,
  strategyNamed,
  tariffReport,
  tariffSwitch,
} from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

const folder = 'fixtures/demo';
const site = parseSite(JSON.parse(readFileSync(`${folder}/site.json`, 'utf8')));
const tariff = parseTariff(JSON.parse(readFileSync(`${folder}/${site.tariff}`, 'utf8')));
const { series } = repairGaps(parseIntervalData(readFileSync(`${folder}/home.csv`), { zone: site.zone }).series!);
const study = makeStudy({ site, series, tariff });
const { home } = study;
const n = home.axis.intervals;
/** What the documents print for the demo home. */
const BASELINE = 1259.87;

/** The faults of a call as `code path`. */
function faults(call: () => unknown): string[] {
  try {
    call();
  } catch (error) {
    expect(error).toBeInstanceOf(InputError);
    return (error as InputError).issues.map(({ code, where }) => `${code} ${where.path?.join('.')}`);
  }
  return [];
}

/** Three weeks of the demo home: enough for every report. */
function weekOf() {
  const intervals = (21 * 24 * 60) / series.axis.stepMinutes;
  const cut = (kwh: Float64Array | undefined) => kwh?.subarray(0, intervals);
  const { importKwh, exportKwh, loadKwh, solarKwh } = series;
  const axis = makeAxis({ ...series.axis, intervals });
  const parts = {
    importKwh: cut(importKwh),
    exportKwh: cut(exportKwh),
    loadKwh: cut(loadKwh),
    solarKwh: cut(solarKwh),
  };
  return { site, series: { axis, ...parts } as IntervalSeries };
}

const studyOf = (change: Partial<IntervalSeries>) => () =>
  makeStudy({ site, series: { ...series, ...change }, tariff });
const withValue = (values: Float64Array, value: number) => values.map((kwh, i) => (i === 5 ? value : kwh));
const baselineOf = (of: Study) => compare(of, { strategies: [none] }).baseline.bill.total;

describe('a study is made of sound data only', () => {
  // Before there was a door: baselines of -48.41, 780.68, 767.91 and 1,259.74, and one of Infinity.
  test('series are as long as the axis', () => {
    expect(faults(studyOf({ solarKwh: new Float64Array(0) }))).toEqual(['length-mismatch series.solarKwh']);
    expect(faults(studyOf({ importKwh: new Float64Array(2 * n) }))).toEqual(['length-mismatch series.importKwh']);
    expect(faults(studyOf({ estimated: new Uint8Array(3) }))).toEqual(['length-mismatch series.estimated']);
  });

  test('in the zone of the site', () => {
    const { startEpochMs, stepMinutes, intervals } = series.axis;
    const axis = makeAxis({ startEpochMs, stepMinutes, intervals, zone: 'Europe/London' });
    expect(faults(studyOf({ axis }))).toEqual(['zone-differs series.axis.zone']);
  });

  test('never negative and never infinite, told with the interval', () => {
    expect(faults(studyOf({ importKwh: withValue(series.importKwh!, -100) }))).toEqual([
      'out-of-range series.importKwh.5',
    ]);
    expect(faults(studyOf({ exportKwh: withValue(series.exportKwh!, Number.POSITIVE_INFINITY) }))).toEqual([
      'not-finite series.exportKwh.5',
    ]);
  });

  test('all faults at once', () => {
    expect(faults(studyOf({ solarKwh: new Float64Array(0), importKwh: withValue(series.importKwh!, -1) }))).toEqual([
      'out-of-range series.importKwh.5',
      'length-mismatch series.solarKwh',
    ]);
  });

  test('a metered reach that the site names is handed over', () => {
    const reached = { ...site, plant: { ...site.plant!, reach: { file: 'panel.csv' } } };
    expect(faults(() => makeStudy({ site: reached, series, tariff }))).toEqual(['missing reachKwh']);
  });

  test('a fault is found behind any number of others, and what has one isn’t remembered as sound', () => {
    const forged = { ...study, estimatedShare: 7 };
    const many = [...Array.from({ length: 60 }, () => Number.NaN), forged] as Study[];
    expect(faults(() => tariffSwitch(many))).toHaveLength(50);
    expect(faults(() => baselineOf(forged))).toEqual(['out-of-range study.estimatedShare']);
  });

  test('copies of a site, a tariff and a study are as good as the originals; changed ones are not', () => {
    const copy = makeStudy({ site: structuredClone(site), series, tariff: structuredClone(tariff) });
    expect(baselineOf(copy)).toBeCloseTo(BASELINE, 2);
    expect(baselineOf({ ...study, loadKnown: false })).toBeCloseTo(BASELINE, 2);
    expect(faults(() => makeStudy({ site, series, tariff: { ...tariff, versions: [] } }))).toEqual([
      'not-parsed tariff',
    ]);
    expect(faults(() => compare({ ...study, meteredSolarKwh: new Float64Array(1) }))).toEqual([
      'length-mismatch study.meteredSolarKwh',
    ]);
  });

  test('what was parsed is frozen within: it can’t be changed beside what was made of it', () => {
    const change = (of: object, field: string, value: unknown) => () => Object.assign(of, { [field]: value });
    expect(change(site.plant!.battery, 'usableKwh', 99)).toThrow(TypeError);
    expect(change(site.meter.files, 'length', 0)).toThrow(TypeError);
    expect(change(tariff, 'currencyDecimals', 0)).toThrow(TypeError);
    expect(change(tariff.versions[0]!, 'fromDay', 0)).toThrow(TypeError);
    const document = JSON.parse(readFileSync(`${folder}/site.json`, 'utf8'));
    parseSite(document);
    document.plant.battery.usableKwh = 99;
    expect(document.plant.battery.usableKwh).toBe(99);
  });

  test('a report is its reader’s: what is written into it changes no later one', () => {
    const wreck = (value: unknown) => {
      if (typeof value !== 'object' || value === null) return;
      for (const [field, inner] of Object.entries(value)) {
        wreck(inner);
        Object.assign(value, { [field]: typeof inner === 'object' ? inner : 'X' });
      }
      if (Array.isArray(value)) value.length = 0;
    };
    const quick = { strategies: [none, windowFill] };
    const cut = makeStudy({
      ...weekOf(),
      tariff,
      origin: { inputs: [], assumptions: [{ file: 'site', field: 'a', value: 1 }] },
    });
    const reports: (() => object)[] = [
      () => compare(cut, quick),
      () => outage(cut, { ...quick, headline: 'window', floors: [0.5] }),
      () => explain(cut, windowFill, 30),
      () => circuits(cut),
      () => settings(cut),
      () => bill({ ...weekOf(), tariff }),
      () => tariffReport(tariff, '2025-06-01'),
    ];
    for (const make of reports) {
      const before = JSON.stringify([make(), cut.warnings, cut.origin]);
      wreck(make());
      expect(JSON.stringify([make(), cut.warnings, cut.origin])).toBe(before);
    }
  });
});

describe('plants, problems and outages are in their ranges', () => {
  const problem = {
    stepHours: 1,
    netLoadKwh: Float64Array.of(0, 1),
    importPricePerKwh: Float64Array.of(0.1, 0.5),
    exportPricePerKwh: Float64Array.of(0, 0),
    capacityKwh: 2,
    floorKwh: 0,
    initialKwh: 0,
    chargeLimitKw: 2,
    dischargeLimitKw: 2,
    chargeEfficiency: 0.9,
    dischargeEfficiency: 0.9,
  };

  test('a problem says everything that it needs to', () => {
    // Before: "exact" in either case.
    for (const field of ['chargeEfficiency', 'stepHours'] as const)
      expect(faults(() => optimalDispatch({ ...problem, [field]: undefined } as never))).toEqual([`missing ${field}`]);
  });

  test('no battery starts with more than it holds', () => {
    // Before: 999.8 kWh stored in 9.6 kWh.
    const overfull = { ...home, plant: { ...home.plant, startKwh: 1000 } };
    expect(faults(() => runStrategy(selfConsumption, overfull))).toEqual(['above-capacity home.plant.startKwh']);
  });

  test('hours of backup are not the best possible where the energy or the load is unknown', () => {
    const gap = new Float64Array(n).fill(Number.NaN);
    const zero = new Float64Array(n);
    const { axis, plant } = home;
    // Before: 336 h at every start.
    expect(faults(() => backupHours({ axis, plant, socKwh: gap, loadKwh: zero, solarKwh: zero }))).toEqual([
      'not-finite socKwh.0',
    ]);
    expect(faults(() => backupHours({ axis, plant, socKwh: zero, loadKwh: gap, solarKwh: zero }))).toEqual([
      'not-finite loadKwh.0',
    ]);
    const played = { axis, plant, loadKwh: zero, solarKwh: zero, startSocKwh: 1 };
    expect(faults(() => simulateOutage({ ...played, start: n, hours: 4 }))).toEqual(['out-of-range start']);
    expect(faults(() => simulateOutage({ ...played, start: 0, hours: Number.NaN }))).toEqual(['not-finite hours']);
  });

  test('calendars and options that had no end are refused', () => {
    expect(faults(() => billingPeriods(home.axis, { by: 'cycle-day', day: 0 }))).toEqual(['out-of-range rule.day']);
    expect(faults(() => billingPeriods(home.axis, { by: 'read-dates', civilDays: [20_100, 20_070] }))).toEqual([
      'out-of-range rule.civilDays.1',
    ]);
    expect(faults(() => offsetSpans('Nowhere/Atall', 0, 86_400_000))).toEqual(['unknown-zone zone']);
    expect(faults(() => rolling({ scenarios: Number.NaN }))).toEqual(['not-finite scenarios']);
    expect(faults(() => peakShave({ targetKw: -1 }))).toEqual(['out-of-range targetKw']);
  });
});

/** Runs a day at a time, after having done something to what it was shown. */
function meddler(meddle: (view: StrategyView, from: number) => void, change: Partial<Strategy> = {}): Strategy {
  return {
    name: 'meddler',
    knowledge: 'causal',
    begin: (view) => ({
      plan(from) {
        meddle(view, from);
        return Math.min(from + 96, n);
      },
    }),
    ...change,
  };
}

describe('a strategy can’t change what it is shown', () => {
  const meddling: [string, (view: StrategyView, from: number) => void][] = [
    // Before: a window's bill of 871.23 beside it, and a baseline of 1,121.71 ever after.
    ['prices sorted', (view, from) => view.tariff.importPricePerKwh.subarray(from, from + 96).sort()],
    // Before: savings of 7,339.80 on a bill of 1,259.83.
    ['flows written', (view, from) => view.flows.importKwh.fill(-1, 0, from)],
    ['calendar written', (view) => view.axis.calendar.minuteOfDay.fill(0)],
    ['windows written', (view) => view.tariff.window.fill(0)],
    ['load written', (view) => view.loadKwh.fill(0)],
    ['solar written', (view) => view.solarKwh.fill(9)],
    ['plant changed', (view) => Object.assign(view.plant, { capacityKwh: 1000, chargeLimitKw: 99 })],
    ['service changed', (view) => Object.assign(view.service, { importLimitKw: 0 })],
  ];
  const plain = compare(study, { strategies: [none, selfConsumption, windowFill] });

  test.each(meddling)('%s', (_, meddle) => {
    for (const knowledge of ['causal', 'foresight'] as const) {
      const report = compare(study, {
        strategies: [none, meddler(meddle, { knowledge }), selfConsumption, windowFill],
      });
      const total = (name: string) => report.strategies.find((row) => row.strategy === name)!.bill.total;
      // It leaves its levels as they come: self-consumption, whatever it does to its view.
      expect(total('meddler')).toBe(total('self-consumption'));
      for (const row of plain.strategies) expect(total(row.strategy)).toBe(row.bill.total);
    }
    expect(baselineOf(study)).toBeCloseTo(BASELINE, 2);
  });

  test('it sees its own run all the same', () => {
    let seenKwh = Number.NaN;
    let storedKwh = Number.NaN;
    const watcher: Strategy = {
      name: 'watcher',
      knowledge: 'causal',
      begin: (view) => ({
        plan(from, socKwh) {
          if (from === 9600) {
            seenKwh = view.flows.importKwh.reduce((sum, kwh) => sum + kwh, 0);
            storedKwh = view.flows.socKwh[from - 1]! - socKwh;
          }
          return Math.min(from + 96, n);
        },
      }),
    };
    const { flows } = runStrategy(watcher, home);
    expect(seenKwh).toBe(flows.importKwh.subarray(0, 9600).reduce((sum, kwh) => sum + kwh, 0));
    expect(storedKwh).toBe(0);
  });

  test('a block that ends nowhere and levels that are no numbers are refused by the strategy’s name', () => {
    for (const to of [Number.NaN, 0, 0.5, undefined]) {
      const stuck = meddler(() => {}, { begin: () => ({ plan: () => to as number }) });
      expect(faults(() => runStrategy(stuck, home))).toEqual(['empty-block strategy.plan']);
    }
    const blind = meddler(() => {}, {
      begin: (view) => ({
        plan(from, _soc, levels) {
          levels.serveDownToKwh[from] = view.loadKwh[from]!;
          return n;
        },
      }),
    });
    expect(faults(() => runStrategy(blind, home))).toEqual(['not-finite strategy.levels.0']);
    expect(
      faults(() =>
        runStrategy(
          meddler(() => {}, { begin: () => ({}) as never }),
          home,
        ),
      ),
    ).toEqual(['missing planner.plan']);
  });
});

describe('strategies are told apart by the object, not by the name', () => {
  const idle = (name: string, change: Partial<Strategy> = {}) => meddler(() => {}, { name, ...change });

  test('the library’s names are reserved, in every place that takes a strategy', () => {
    for (const name of ['none', 'optimum', 'settings', 'window', 'rolling', 'optimum-wear']) {
      expect(faults(() => compare(study, { strategies: [none, idle(name)] }))).toEqual([
        'reserved-name options.strategies.1.name',
      ]);
      expect(faults(() => runStrategy(idle(name), home))).toEqual(['reserved-name strategy.name']);
    }
    expect(faults(() => outage(study, { strategies: [idle('hold')] }))).toEqual([
      'reserved-name options.strategies.0.name',
    ]);
  });

  test('a name comes once', () => {
    expect(faults(() => compare(study, { strategies: [idle('mine'), none, idle('mine')] }))).toEqual([
      'duplicate-name options.strategies.2.name',
    ]);
    expect(faults(() => strategyNamed('window', [windowFill, windowFill]))).toEqual([
      'duplicate-name strategies.1.name',
    ]);
  });

  test('roles are the library’s, but for rule and yardstick; a copy of one of ours is a stranger', () => {
    expect(faults(() => compare(study, { strategies: [idle('mine', { role: 'settings' })] }))).toEqual([
      'not-allowed options.strategies.0.role',
    ]);
    expect(faults(() => runStrategy({ ...none, name: 'nothing' }, home))).toEqual(['not-allowed strategy.role']);
    const { strategies } = compare(study, {
      strategies: [
        none,
        idle('mine'),
        idle('marvel', { role: 'yardstick' }),
        idle('oracle', { knowledge: 'foresight' }),
      ],
    });
    expect(strategies.map((row) => [row.strategy, row.role, row.yardstick])).toEqual([
      ['none', 'baseline', false],
      ['mine', 'rule', false],
      ['marvel', 'yardstick', true],
      ['oracle', 'yardstick', true],
    ]);
  });

  test('a renamed copy of a rule of ours does as the rule does', () => {
    const shave = { ...peakShave({ targetKw: 3 }), name: 'three' };
    const report = compare(study, { strategies: [peakShave({ targetKw: 3 }), shave] });
    expect(report.strategies[1]!.bill.total).toBe(report.strategies[0]!.bill.total);
  });

  test('the settings role takes the headline, whoever comes beside it', () => {
    const sheet = followSheet({ reservePercent: 20, dated: [], gridChargeKw: 0, schedules: [] });
    expect(compare(study, { strategies: [none, windowFill, sheet] }).headline?.strategy).toBe('settings');
  });
});

test('a row that beats an exact bound is our fault and never a share above one', () => {
  expect(compare(study, { strategies: [optimum(), selfConsumption] }).bound?.proof).toBe('exact');
  // Prices of nothing, from the bound on, stand for a wrong run of ours.
  const { importPricePerKwh } = study.home.tariff;
  const prices = importPricePerKwh.slice();
  const onStrategy = (name: string) => {
    if (name === 'self-consumption') importPricePerKwh.fill(0);
  };
  const cheat = () => compare(study, { strategies: [selfConsumption], onStrategy });
  expect(cheat).toThrow(/^internal: "self-consumption" costs \d/);
  importPricePerKwh.set(prices);
});
