import { makeAxis } from '@duskbank/core/axis';
import type { IntervalSeries } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { billPast, type CompareReport, compare, makeStudy } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { seeded } from '../../support/homes.ts';

/** Homes as their documents and meters have them, without a limit; limits are stated by the laws. */
const anyHome = fc
  .record({
    seed: fc.nat(),
    days: fc.integer({ min: 2, max: 15 }),
    stepMinutes: fc.constantFrom(5, 20, 30, 60),
    peak: fc.double({ min: 0.1, max: 0.9, noNaN: true }),
    night: fc.double({ min: 0.02, max: 0.3, noNaN: true }),
    sale: fc.double({ min: 0, max: 0.3, noNaN: true }),
    demandPerKw: fc.constantFrom(0, 0, 9),
    floorShare: fc.constantFrom(0, 0.4),
    startShare: fc.constantFrom(undefined, 1),
    standbyW: fc.constantFrom(0, 70),
    gridCharging: fc.boolean(),
    batteryExport: fc.boolean(),
    reach: fc.constantFrom('whole-home' as const, { share: 0.4 }),
    coupling: fc.constantFrom('ac' as const, 'dc' as const),
    solarKw: fc.constantFrom(0, 5, 9),
    bothWays: fc.constantFrom(0, 0.1),
  })
  .map((c) => {
    const axis = makeAxis({
      startEpochMs: Date.UTC(2026, 5, 28),
      stepMinutes: c.stepMinutes,
      intervals: (c.days * 1440) / c.stepMinutes,
      zone: 'America/Denver',
    });
    const random = seeded(c.seed);
    const n = axis.intervals;
    const load = Float64Array.from({ length: n }, () => (0.2 + 2.5 * random() ** 4) * axis.stepHours);
    const solarKwh = Float64Array.from({ length: n }, (_, i) => {
      const height = Math.max(0, Math.sin(((axis.calendar.minuteOfDay[i]! / 60 - 6) / 12) * Math.PI));
      return height * c.solarKw * random() * axis.stepHours;
    });
    const both = solarKwh.map((kwh) => (kwh > 0 ? c.bothWays * random() * axis.stepHours : 0));
    const importKwh = load.map((kwh, i) => Math.max(0, kwh - solarKwh[i]!) + both[i]!);
    const exportKwh = load.map((kwh, i) => Math.max(0, solarKwh[i]! - kwh) + both[i]!);
    const tariff = parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Random',
      currency: 'USD',
      unusualPrices: true,
      windows: [
        { name: 'on-peak', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: c.peak },
        { name: 'night', from: '22:00', to: '06:00', pricePerKwh: c.night },
        { name: 'day', otherwise: true, pricePerKwh: (c.peak + c.night) / 2 },
      ],
      ...(c.demandPerKw === 0 ? {} : { demand: [{ name: 'Demand', pricePerKw: c.demandPerKw }] }),
      export: { kind: 'net-billing', pricePerKwh: c.sale },
    });
    const input = (service: object | undefined, more: { series?: Partial<IntervalSeries>; site?: object } = {}) => ({
      site: parseSite({
        format: 'duskbank.site/1',
        name: 'Anywhere',
        zone: 'America/Denver',
        meter: { files: ['none.csv'] },
        tariff: 'none.json',
        plant: {
          battery: {
            units: 2,
            usableKwh: 4,
            chargeKw: 2,
            dischargeKw: 3,
            roundTripEfficiency: 0.88,
            decayPerMonth: 0.03,
            standbyW: c.standbyW,
          },
          inverter: { continuousKw: 2, efficiency: 0.96 },
          coupling: c.coupling,
          floor: { share: c.floorShare },
          ...(c.startShare === undefined ? {} : { startShare: c.startShare }),
          gridCharging: c.gridCharging,
          batteryExport: c.batteryExport && c.reach === 'whole-home',
          reach: c.reach,
        },
        ...(service === undefined ? {} : { service }),
        ...more.site,
      }),
      series: { axis, importKwh, exportKwh, solarKwh, ...more.series },
      tariff,
    });
    const net = importKwh.map((kwh, i) => kwh - exportKwh[i]!);
    const highestKw = {
      import: net.reduce((most, kwh) => Math.max(most, kwh), 0) / axis.stepHours,
      export: net.reduce((most, kwh) => Math.max(most, -kwh), 0) / axis.stepHours,
    };
    return {
      load,
      input,
      highestKw,
      proven: c.demandPerKw === 0,
      [fc.toStringMethod]: () => JSON.stringify(c),
    };
  });

const rowOf = (report: CompareReport, name: string) => report.strategies.find((row) => row.strategy === name)!;

test('a tighter limit moves no baseline, raises neither the bound’s saving nor what follows the home alone', () => {
  let tightened = 0;
  fc.assert(
    fc.property(
      anyHome,
      fc.constantFrom('import' as const, 'export' as const),
      fc.array(fc.double({ min: 0.05, max: 2.5, noNaN: true }), { minLength: 1, maxLength: 2 }),
      ({ input, highestKw, proven }, way, shares) => {
        const reportAt = (kw: number | undefined) =>
          compare(makeStudy(input(kw === undefined ? undefined : { [`${way}LimitKw`]: Math.max(kw, 0.2) })));
        const limits = [undefined, ...shares.sort((a, b) => b - a).map((share) => share * highestKw[way])];
        let wider: CompareReport | undefined;
        for (const limit of limits) {
          const report = reportAt(limit);
          // Rounding of bills: a cent for each of a few lines of at most two periods.
          const cents = 0.2;
          for (const row of report.strategies) {
            expect(row.unservedKwh).toBe(0);
            expect(row.capturedShare ?? 0).toBeLessThanOrEqual(1);
            // Without the battery there is no standby to pay either.
            if (row.strategy !== 'none') expect(row.bill.total).toBeGreaterThanOrEqual(report.bound!.billTotal - cents);
          }
          if (wider !== undefined) {
            tightened++;
            expect(report.baseline).toEqual(wider.baseline);
            const scale = Math.max(1, Math.abs(wider.bound!.billTotal));
            // Exact to rounding without demand charges; with them the bound is proven to its gap.
            const slack = 1e-9 * scale + (proven ? 0 : wider.bound!.gap + report.bound!.gap + 1e-6 * scale);
            expect(report.bound!.billTotal).toBeGreaterThanOrEqual(wider.bound!.billTotal - slack);
            for (const name of ['none', 'self-consumption', 'peak-shave', ...(proven ? ['optimum'] : [])])
              expect(rowOf(report, name).savings!, name).toBeLessThanOrEqual(
                rowOf(wider, name).savings! + (name === 'optimum' ? cents : 1e-9),
              );
          }
          wider = report;
        }
      },
    ),
    { seed: 20260401, numRuns: 40 },
  );
  expect(tightened).toBeGreaterThan(40);
});

test('below what was metered it is all the same how tight a limit is, for every strategy and the bound', () => {
  let contradictions = 0;
  fc.assert(
    fc.property(
      anyHome,
      fc.constantFrom('import' as const, 'export' as const),
      fc.double({ min: 0.05, max: 0.95, noNaN: true }),
      ({ input, highestKw }, way, share) => {
        const at = (kw: number) => compare(makeStudy(input({ [`${way}LimitKw`]: kw })));
        const below = share * highestKw[way];
        // A limit under the standby draw is refused.
        fc.pre(below > 0.15);
        const report = at(below);
        const held = at(highestKw[way]);
        expect(report.strategies).toEqual(held.strategies);
        expect(report.bound).toEqual(held.bound);
        expect(report.warnings.filter(({ code }) => code === 'limit-below-metered')).toHaveLength(1);
        expect(held.warnings.filter(({ code }) => code === 'limit-below-metered')).toHaveLength(0);
        contradictions++;
      },
    ),
    { seed: 20260402, numRuns: 40 },
  );
  expect(contradictions).toBe(40);
});

test('with planned solar a tighter limit of export raises no saving of the whole plan', () => {
  fc.assert(
    fc.property(anyHome, fc.double({ min: 0.2, max: 3, noNaN: true }), ({ input, highestKw }, share) => {
      fc.pre(highestKw.export > 0);
      const site = { plannedSolar: { scaleOfExisting: 1.5 } };
      const at = (kw: number | undefined) =>
        compare(makeStudy(input(kw === undefined ? undefined : { exportLimitKw: kw }, { site })));
      const free = at(undefined);
      const limited = at(share * highestKw.export);
      const tighter = at(0.7 * share * highestKw.export);
      for (const [wide, narrow] of [
        [free, limited],
        [limited, tighter],
      ] as const) {
        expect(narrow.baseline).toEqual(wide.baseline);
        const scale = Math.max(1, Math.abs(wide.bound!.billTotal));
        const slack = 1e-6 * scale + wide.bound!.gap + narrow.bound!.gap;
        expect(narrow.bound!.billTotal).toBeGreaterThanOrEqual(wide.bound!.billTotal - slack);
        expect(narrow.plannedSolar!.savings!).toBeLessThanOrEqual(wide.plannedSolar!.savings!);
        expect(rowOf(narrow, 'self-consumption').savings!).toBeLessThanOrEqual(
          rowOf(wide, 'self-consumption').savings! + 1e-9,
        );
      }
    }),
    { seed: 20260403, numRuns: 25 },
  );
});

test('whatever a load column says, `bill` and `compare` have the figure of import and export', () => {
  let withheld = 0;
  fc.assert(
    fc.property(anyHome, fc.double({ min: 0, max: 3, noNaN: true }), fc.boolean(), ({ load, input }, factor, solar) => {
      const series: Partial<IntervalSeries> = {
        loadKwh: load.map((kwh) => kwh * factor),
        ...(solar ? {} : { solarKwh: undefined }),
      };
      const alone = billPast(input(undefined));
      const beside = billPast(input(undefined, { series }));
      const study = makeStudy(input(undefined, { series }));
      const report = compare(study);
      expect(beside.bill).toEqual(alone.bill);
      expect(report.baseline.bill.total).toBe(beside.baseline.total);
      // Load made of net and solar, and net of load and solar again: the last bits may differ, and a half of a cent with them.
      expect(Math.abs(beside.baseline.total - alone.baseline.total)).toBeLessThan(0.015);
      if (solar && Math.abs(factor - 1) > 0.06) expect(study.savingsWithheld).toBeDefined();
      if (Math.abs(factor - 1) < 0.005) expect(study.savingsWithheld).toBeUndefined();
      if (study.savingsWithheld !== undefined) withheld++;
    }),
    { seed: 20260404, numRuns: 50 },
  );
  expect(withheld).toBeGreaterThan(20);
});
