import { makeAxis } from '@duskbank/core/axis';
import type { Fact } from '@duskbank/core/input';
import type { IntervalSeries } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { billPast, compare, makeStudy, type StudyInput, tariffSwitch } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { unmade } from '../../support/facts.ts';

// Four weeks of hours from Monday 5 January 2026 on, in a zone without clock changes.
const HOURS = 672;
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: HOURS, zone: 'Etc/UTC' });
const every = (value: number) => new Float64Array(HOURS).fill(value);
const byHour = (kwh: (hour: number) => number) => Float64Array.from({ length: HOURS }, (_, i) => kwh(i % 24));
/** Sun from 9 to 15 h. */
const sun = (kwh: number) => byHour((hour) => (hour >= 9 && hour < 15 ? kwh : 0));

/** 1 kWh an hour and 3 kWh of sun in six hours: 2 kW are sold then, 1 kW is bought otherwise. */
const metered = { importKwh: byHour((hour) => (hour >= 9 && hour < 15 ? 0 : 1)), exportKwh: sun(2), solarKwh: sun(3) };

const tariffOf = (over: { name?: string; limitKw?: number; sale?: number } = {}) =>
  parseTariff({
    format: 'duskbank.tariff/1',
    name: over.name ?? 'Two prices',
    currency: 'USD',
    windows: [
      { name: 'peak', from: '16:00', to: '22:00', pricePerKwh: 0.4 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.2 },
    ],
    export: {
      kind: 'net-billing',
      pricePerKwh: over.sale ?? 0.05,
      ...(over.limitKw === undefined ? {} : { limitKw: over.limitKw }),
    },
  });

interface Over {
  readonly series?: Omit<IntervalSeries, 'axis'>;
  readonly service?: object;
  readonly plant?: object;
  readonly plannedSolar?: object;
  readonly tariff?: ReturnType<typeof tariffOf>;
  readonly offered?: boolean;
  readonly economics?: object;
}

function inputOf(over: Over = {}): StudyInput {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    plant: {
      battery: { units: 1, usableKwh: 6, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.9, standbyW: 20 },
      ...over.plant,
    },
    ...(over.service === undefined ? {} : { service: over.service }),
    ...(over.plannedSolar === undefined ? {} : { plannedSolar: over.plannedSolar }),
    ...(over.economics === undefined ? {} : { economics: over.economics }),
  });
  return {
    site,
    series: { axis, ...(over.series ?? metered) },
    tariff: over.tariff ?? tariffOf(),
    ...(over.offered === undefined ? {} : { offered: over.offered }),
  };
}
const reportOf = (over?: Over) => compare(makeStudy(inputOf(over)));
const warningOf = ({ warnings }: { warnings: readonly Fact[] }, code: string) => {
  expect(unmade(warnings)).toEqual([]);
  return warnings.find((warning) => warning.code === code)?.message;
};
/** 28 days × (6 h × 0.40 + 12 h × 0.20 − 6 h × 2 kWh × 0.05): 18 hours a day are bought, six of them on-peak. */
const BILL = 28 * (2.4 + 2.4 - 0.6);

describe('the baseline is the meter’s', () => {
  test.each<[string, Omit<IntervalSeries, 'axis'>]>([
    ['import, export and solar', metered],
    ['a load column that fits', { ...metered, loadKwh: every(1) }],
    ['solar counted in the load column', { ...metered, loadKwh: sun(3).map((kwh) => kwh + 1) }],
    ['half of the load', { ...metered, loadKwh: every(0.5) }],
    ['an empty load column', { ...metered, loadKwh: every(0) }],
    ['load and no solar', { importKwh: metered.importKwh, exportKwh: metered.exportKwh, loadKwh: every(1) }],
    ['load, solar and no export', { importKwh: metered.importKwh, solarKwh: metered.solarKwh, loadKwh: every(1) }],
    ['load, solar and no import', { exportKwh: metered.exportKwh, solarKwh: metered.solarKwh, loadKwh: every(1) }],
    ['load and solar', { solarKwh: metered.solarKwh, loadKwh: every(1) }],
  ])('%s: `bill` and `compare` have one figure, the metered one', (_, series) => {
    const { bill, baseline } = billPast(inputOf({ series }));
    const report = reportOf({ series });
    expect(bill.total).toBeCloseTo(BILL, 9);
    expect(baseline.total).toBe(bill.total);
    expect(report.baseline.bill.total).toBe(bill.total);
    expect(report.strategies.find(({ strategy }) => strategy === 'none')!.bill.total).toBe(bill.total);
    expect(report.baseline.importKwh).toBeCloseTo(28 * 18, 9);
    expect(report.baseline.exportKwh).toBeCloseTo(28 * 12, 9);
  });

  test('a contradiction above 5 % withholds every saving and says why', () => {
    const report = reportOf({ series: { ...metered, loadKwh: every(0.5) } });
    expect(warningOf(report, 'balance')).toMatch(
      /^savings are withheld: .*336 kWh, 50 % of the load .*2 times it would fit$/,
    );
    expect(report.headline).toBeNull();
    for (const row of report.strategies) expect(row.savings).toBeNull();
  });

  test('a contradiction of 3 % is told, and savings are those of the metered home', () => {
    const report = reportOf({ series: { ...metered, loadKwh: every(1.03) } });
    expect(warningOf(report, 'balance')).toMatch(/contradict each other by 20.2 kWh, 3 % of the load/);
    expect(report.strategies).toEqual(reportOf().strategies);
  });

  test('both ways within one interval: the bill has both readings, and both screens the baseline and the difference', () => {
    // 0.5 kWh more each way in every hour: 28 × (6 h × 0.40 + 18 h × 0.20) × 0.5 bought, 28 × 24 h × 0.05 × 0.5 sold.
    const series = {
      ...metered,
      importKwh: metered.importKwh.map((kwh) => kwh + 0.5),
      exportKwh: metered.exportKwh.map((kwh) => kwh + 0.5),
    };
    const more = 28 * (6 * 0.4 + 18 * 0.2) * 0.5 - 28 * 24 * 0.05 * 0.5;
    const past = billPast(inputOf({ series }));
    const report = reportOf({ series });
    expect(past.bill.total).toBeCloseTo(BILL + more, 9);
    expect(past.baseline.total).toBeCloseTo(BILL, 9);
    expect(report.baseline.bill.total).toBe(past.baseline.total);
    // 117.60, and 67.20 more.
    const words =
      '336 kWh went both ways within one interval, and are netted: nobody knows what a battery would have done within one. That makes the baseline USD 117.60; billed on both readings, the same past costs USD 184.80, USD 67.20 more';
    expect(warningOf(report, 'netted-within-interval')).toBe(words);
    expect(warningOf(past, 'netted-within-interval')).toBe(words);
  });
});

/** What the assumed box's sheet brings, whatever the limits. */
const OF_THE_SHEET = ['controller-assumed', 'settings-months-unseen'];

describe('a limit of the service below what was metered', () => {
  const plain = reportOf();

  test.each([
    ['export', 0, '0 kW be fed to the grid, but up to 2 kW were metered (168 intervals above the limit, by 336 kWh)'],
    [
      'export',
      1.5,
      '1.5 kW be fed to the grid, but up to 2 kW were metered (168 intervals above the limit, by 84 kWh)',
    ],
    ['import', 0.4, '0.4 kW be drawn, but up to 1 kW were metered (504 intervals above the limit, by 302 kWh)'],
  ])('%s limit of %d kW: told with its figures, and no saving rises', (way, kw, words) => {
    const report = reportOf({ service: { [`${way}LimitKw`]: kw } });
    expect(warningOf(report, 'limit-below-metered')).toBe(
      `the limit that the site states for the service lets at most ${words}: one of the two is wrong. The limit counts as ${way === 'export' ? 2 : 1} kW, so that nothing is saved by it`,
    );
    expect(report.baseline).toEqual(plain.baseline);
    const atMetered = reportOf({ service: { [`${way}LimitKw`]: way === 'export' ? 2 : 1 } });
    expect(report.strategies).toEqual(atMetered.strategies);
    expect(report.bound).toEqual(atMetered.bound);
    for (const [k, row] of report.strategies.entries()) {
      // "hold" and "window" buy less where an import limit keeps them from it, which is their doing.
      if (way === 'export' || ['self-consumption', 'optimum'].includes(row.strategy))
        expect(row.savings!).toBeLessThanOrEqual(plain.strategies[k]!.savings! + 1e-9);
      expect(row.unservedKwh).toBe(0);
      expect(row.curtailedKwh).toBe(0);
      if (row.capturedShare !== null) expect(row.capturedShare).toBeLessThanOrEqual(1);
    }
    expect(report.bound!.billTotal).toBeGreaterThanOrEqual(plain.bound!.billTotal - 1e-9);
    expect(billPast(inputOf({ service: { [`${way}LimitKw`]: kw } })).bill.total).toBe(plain.baseline.bill.total);
  });

  test('however far below, it is the same', () => {
    const at = (exportLimitKw: number) => reportOf({ service: { exportLimitKw } });
    expect(at(0).strategies).toEqual(at(1.9).strategies);
    expect(at(0).bound).toEqual(at(1.9).bound);
  });

  test('a limit that was kept is not told, and holds the battery', () => {
    const battery = { units: 1, usableKwh: 6, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.9 };
    const plant = { gridCharging: true, battery };
    const report = reportOf({ plant, service: { importLimitKw: 2.5, exportLimitKw: 2 } });
    expect(report.warnings.map(({ code }) => code)).toEqual(['short-span', ...OF_THE_SHEET]);
    for (const row of report.strategies) expect(row.peakImportKw).toBeLessThanOrEqual(2.5 + 1e-9);
    expect(Math.max(...reportOf({ plant }).strategies.map((row) => row.peakImportKw))).toBeGreaterThan(2.5);
  });

  test('a reading that rounding puts above the limit is no contradiction', () => {
    const { warnings } = reportOf({ service: { exportLimitKw: 1.9995 } });
    expect(warnings.map(({ code }) => code)).toEqual(['short-span', ...OF_THE_SHEET]);
  });

  test('the battery’s own draw on top of what was metered goes served, and is paid', () => {
    const { strategies } = reportOf({ service: { importLimitKw: 1 } });
    const hold = strategies.find((row) => row.strategy === 'hold')!;
    expect(hold.unservedKwh).toBe(0);
    expect(hold.peakImportKw).toBeCloseTo(1.02, 9);
  });

  test('a shared inverter that lets less sun into the house: the load is served, and that is told', () => {
    // Load 5 kW at noon on 4.5 kW of sun: 0.5 kW were bought. Behind an inverter of 1 kW it would be 4 kW.
    const series = {
      importKwh: byHour((hour) => (hour === 12 ? 0.5 : 0.3)),
      exportKwh: every(0),
      solarKwh: byHour((hour) => (hour === 12 ? 4.5 : 0)),
    };
    const plant = { coupling: 'dc', inverter: { continuousKw: 1, efficiency: 0.96 }, gridCharging: false };
    const report = reportOf({ series, plant, service: { importLimitKw: 2 } });
    expect(warningOf(report, 'limit-below-need')).toMatch(/at most 2 kW .* up to 4.02 kW \(28 intervals\)/);
    for (const row of report.strategies) expect(row.unservedKwh).toBe(0);
    expect(report.baseline.peakImportKw).toBe(0.5);
  });

  test('planned solar is new: the limit holds for what it adds, and the baseline stays', () => {
    const planned = (service?: object) =>
      reportOf({ plannedSolar: { scaleOfExisting: 1 }, ...(service ? { service } : {}) });
    const free = planned();
    const limited = planned({ exportLimitKw: 3 });
    // 5 kW would be sold at noon; 3 kW may.
    expect(free.plannedSolar!.exportKwh).toBeCloseTo(28 * 6 * 5, 6);
    expect(limited.plannedSolar!.exportKwh).toBeCloseTo(28 * 6 * 3, 6);
    expect(limited.baseline).toEqual(plain.baseline);
    expect(warningOf(limited, 'limit-below-metered')).toBeUndefined();
    const contradicted = planned({ exportLimitKw: 1 });
    expect(contradicted.baseline).toEqual(plain.baseline);
    expect(contradicted.plannedSolar!.exportKwh).toBeCloseTo(28 * 6 * 2, 6);
    expect(contradicted.plannedSolar!.savings!).toBeLessThan(limited.plannedSolar!.savings!);
    expect(limited.plannedSolar!.savings!).toBeLessThan(free.plannedSolar!.savings!);
  });
});

describe('a tariff’s limit of export', () => {
  const own = tariffOf();

  test('below what was metered on it: a contradiction, told and taken as metered', () => {
    const limited = tariffOf({ limitKw: 1 });
    const report = reportOf({ tariff: limited });
    expect(warningOf(report, 'limit-below-metered')).toMatch(
      /^"Two prices" lets at most 1 kW be fed to the grid, but up to 2 kW were metered \(168 intervals above the limit, by 168 kWh\)/,
    );
    expect(report.strategies).toEqual(reportOf({ service: { exportLimitKw: 2 } }).strategies);
    expect(billPast(inputOf({ tariff: limited })).bill.total).toBe(report.baseline.bill.total);
  });

  test('on a tariff that the home could switch to it is new: what is above it is lost there, in `bill` as in `compare`', () => {
    const other = tariffOf({ name: 'Capped', limitKw: 1, sale: 0.06 });
    const today = makeStudy(inputOf({ tariff: own }));
    const offered = makeStudy(inputOf({ tariff: other, offered: true }));
    const report = tariffSwitch([today, offered]);
    const row = report.tariffSwitch.tariffs.find(({ tariff }) => tariff === 'Capped')!;
    // Of 2 kWh sold in 168 hours, 1 is left.
    expect(row.withoutBattery).toBeCloseTo(28 * (2.4 + 2.4) - 168 * 0.06, 9);
    expect(billPast(inputOf({ tariff: other, offered: true })).bill.total).toBeCloseTo(row.withoutBattery, 9);
    expect(report.baseline.bill.total).toBeCloseTo(BILL, 9);
    expect(warningOf(offered, 'export-limited')).toMatch(
      /"Capped" lets at most 1 kW .* 168 kWh would be lost, in 168 intervals$/,
    );
    expect(warningOf(offered, 'limit-below-metered')).toBeUndefined();
  });

  test('payback on the home’s own tariff rests on the same limits as the comparison; a new limit counts', () => {
    const later = (limitKw: number) => {
      const document = tariffOf({ limitKw: 1 }).document as object;
      const version = { from: '2026-03-01', export: { kind: 'net-billing', pricePerKwh: 0.05, limitKw } };
      const tariff = parseTariff({ ...document, versions: [version] });
      return reportOf({ tariff, economics: { price: 10_000, covers: 'a unit' } });
    };
    const same = later(1);
    expect(same.payback!.stretches).toHaveLength(2);
    for (const { savingsPerYear } of same.payback!.stretches)
      expect(savingsPerYear).toBeCloseTo(same.headline!.savingsPerYear, 9);
    // Where less may be sold than before, the battery keeps what would be lost.
    const less = later(0.5).payback!.stretches;
    expect(less[1]!.savingsPerYear).toBeGreaterThan(less[0]!.savingsPerYear);
  });
});
