import { makeAxis } from '@duskbank/core/axis';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy } from '@duskbank/core/study';
import { billTariff, parseTariff } from '@duskbank/core/tariff';
import { withPlant, withTariff } from '@duskbank/core/trial';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { billedFlows } from '../../../packages/core/src/dispatch/billed.ts';
import { seeded } from '../../support/homes.ts';
import { expectPhysics } from '../../support/physics.ts';

/** A whole site from documents, as a user's files would give it: random tariff, plant, service, data with solar. */
const anyStudy = fc
  .record({
    seed: fc.nat(),
    days: fc.integer({ min: 2, max: 40 }),
    zone: fc.constantFrom('America/Denver', 'Australia/Sydney', 'Europe/London', 'America/Phoenix'),
    start: fc.constantFrom('2025-12-18', '2026-02-25', '2026-10-02', '2026-06-28'),
    stepMinutes: fc.constantFrom(15, 30, 60),
    peak: fc.double({ min: 0.1, max: 0.9, noNaN: true }),
    night: fc.double({ min: 0.02, max: 0.3, noNaN: true }),
    sale: fc.double({ min: 0, max: 0.3, noNaN: true }),
    tax: fc.constantFrom(0, 3.5, 19),
    peakFrom: fc.constantFrom('07:00', '16:00', '17:30'),
    units: fc.integer({ min: 1, max: 3 }),
    floorShare: fc.constantFrom(0, 0.2, 0.8),
    startShare: fc.constantFrom(undefined, 1),
    standbyW: fc.constantFrom(0, 70),
    gridCharging: fc.boolean(),
    batteryExport: fc.boolean(),
    reach: fc.constantFrom('whole-home' as const, { share: 0.4 }),
    coupling: fc.constantFrom('ac' as const, 'dc' as const),
    exportLimitKw: fc.constantFrom(undefined, 0, 2),
    importLimitKw: fc.constantFrom(undefined, 3),
    solarKw: fc.constantFrom(0, 5),
  })
  .map((c) => {
    const site = parseSite({
      format: 'duskbank.site/1',
      name: 'Anywhere',
      zone: c.zone,
      meter: { files: ['none.csv'] },
      tariff: 'none.json',
      plant: {
        battery: {
          units: c.units,
          usableKwh: 4,
          chargeKw: 2,
          dischargeKw: 3,
          roundTripEfficiency: 0.88,
          decayPerMonth: 0.03,
          standbyW: c.standbyW,
        },
        inverter: { continuousKw: 3, efficiency: 0.96 },
        coupling: c.coupling,
        floor: { share: c.floorShare },
        ...(c.startShare === undefined ? {} : { startShare: c.startShare }),
        gridCharging: c.gridCharging,
        batteryExport: c.batteryExport && c.reach === 'whole-home',
        reach: c.reach,
      },
      service: {
        ...(c.exportLimitKw === undefined ? {} : { exportLimitKw: c.exportLimitKw }),
        ...(c.importLimitKw === undefined ? {} : { importLimitKw: c.importLimitKw }),
      },
    });
    const axis = makeAxis({
      startEpochMs: Date.parse(`${c.start}T00:00:00Z`),
      stepMinutes: c.stepMinutes,
      intervals: (c.days * 1440) / c.stepMinutes,
      zone: c.zone,
    });
    const random = seeded(c.seed);
    const n = axis.intervals;
    const { minuteOfDay } = axis.calendar;
    const loadKwh = Float64Array.from({ length: n }, () => (0.2 + 2.5 * random() ** 4) * axis.stepHours);
    const solarKwh = Float64Array.from({ length: n }, (_, i) => {
      const height = Math.max(0, Math.sin(((minuteOfDay[i]! / 60 - 6) / 12) * Math.PI));
      return height * c.solarKw * random() * axis.stepHours;
    });
    const tariff = parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Random',
      currency: 'USD',
      unusualPrices: true,
      holidays: ['us-six'],
      windows: [
        { name: 'on-peak', days: 'weekday', from: c.peakFrom, to: '21:00', pricePerKwh: c.peak },
        { name: 'night', from: '22:00', to: '06:00', pricePerKwh: c.night },
        { name: 'day', otherwise: true, pricePerKwh: (c.peak + c.night) / 2 },
      ],
      fixed: [
        { name: 'Service', amount: 12.34, per: 'month' },
        { name: 'Meter', amount: 0.11, per: 'day' },
      ],
      export: { kind: 'net-billing', pricePerKwh: c.sale },
      taxes: [{ name: 'Tax', percent: c.tax, on: ['energy', 'fixed'] }],
    });
    return makeStudy({ site, series: { axis, loadKwh, solarKwh }, tariff });
  });

test('over random sites: physics holds in every strategy, and every bill is the sum of its lines', () => {
  let runs = 0;
  fc.assert(
    fc.property(anyStudy, (study) => {
      compare(study, {
        onRun: (run) => {
          runs++;
          expectPhysics(study.home, run);
          const bill = billTariff(study.home.tariff, billedFlows(study.home, run.flows));
          let cents = 0;
          for (const period of bill.periods) {
            let periodCents = 0;
            for (const line of period.lines) {
              const amountCents = Math.round(line.amount * 100);
              expect(Math.abs(line.amount * 100 - amountCents)).toBeLessThan(1e-6);
              // Rounded once, where the tariff says: each line, to the cent.
              expect(Math.abs(line.quantity * line.rate - line.amount)).toBeLessThan(0.00501);
              periodCents += amountCents;
            }
            expect(Math.round(period.total * 100)).toBe(periodCents);
            cents += periodCents;
          }
          expect(Math.round(bill.total * 100)).toBe(cents);
        },
      });
    }),
    { seed: 20260201, numRuns: 60 },
  );
  expect(runs).toBeGreaterThanOrEqual(300);
});

test('over random sites: none is the baseline, and each row’s figures belong together', () => {
  fc.assert(
    fc.property(anyStudy, (study) => {
      const report = compare(study);
      const { axis, plant } = study.home;
      const hoursOnAxis = axis.intervals * axis.stepHours;
      for (const row of report.strategies) {
        expect(row.savings).toBe(report.baseline.bill.total - row.bill.total);
        expect(row.lossKwh).toBeCloseTo(row.chargedKwh - row.dischargedKwh - (row.endKwh - row.startKwh), 9);
        expect(row.lossKwh).toBeGreaterThan(-1e-6);
        if (row.strategy === 'none') {
          expect(row.savings).toBe(0);
          expect([row.importKwh, row.exportKwh]).toEqual([report.baseline.importKwh, report.baseline.exportKwh]);
          expect([row.chargedKwh, row.standbyKwh, row.reserve, row.backupHours]).toEqual([0, 0, null, null]);
          continue;
        }
        expect(row.startKwh).toBe(plant.startKwh);
        expect(row.standbyKwh).toBeCloseTo((plant.standbyW / 1000) * hoursOnAxis, 6);
        expect(row.equivalentFullCycles * plant.capacityKwh * plant.dischargeEfficiency).toBeCloseTo(
          row.dischargedKwh,
          6,
        );
        const { minKwh, p10Kwh, medianKwh } = row.reserve!;
        expect(minKwh).toBeLessThanOrEqual(p10Kwh);
        expect(p10Kwh).toBeLessThanOrEqual(medianKwh);
        expect(medianKwh).toBeLessThanOrEqual(plant.capacityKwh * plant.dischargeEfficiency + 1e-9);
        const backup = row.backupHours!;
        // Lengths within a billionth of an hour are the same: the first of them is the worst.
        expect(backup.worst).toBeLessThanOrEqual(backup.p10 + 1e-9);
        expect(backup.p10).toBeLessThanOrEqual(backup.median);
        const floorKwh = plant.floorKwh as number;
        const bought = row.bill.startEnergy > 0;
        expect(bought).toBe(plant.startKwh > floorKwh);
      }
    }),
    { seed: 20260202, numRuns: 40 },
  );
});

test('window never buys from the grid where the spread does not cover the losses', () => {
  fc.assert(
    fc.property(anyStudy, fc.double({ min: 0.89, max: 1, noNaN: true }), (study, ratio) => {
      // One price scaled into three that lie closer together than a round trip of 0.88 pays for.
      const { tariff } = study.home;
      const { plan: _, ...unplanned } = tariff;
      const importPricePerKwh = tariff.importPricePerKwh.map((_, i) =>
        tariff.windows[tariff.window[i]!]!.kind === 'peak' ? 0.3 : 0.3 * ratio,
      );
      const home = withTariff(withPlant(study.home, { ...study.home.plant, standbyW: 0 }, study.island), {
        ...unplanned,
        importPricePerKwh,
      });
      let checked = 0;
      compare(
        { ...study, home },
        {
          onRun: (run) => {
            if (run.strategy !== 'window') return;
            for (let i = 0; i < home.axis.intervals; i++) {
              const surplus = Math.max(0, home.solarKwh[i]! - home.loadKwh[i]!);
              if (home.plant.coupling === 'ac') expect(run.flows.chargeKwh[i]!).toBeLessThanOrEqual(surplus + 1e-9);
              checked++;
            }
          },
        },
      );
      expect(checked).toBe(home.axis.intervals);
    }),
    { seed: 20260203, numRuns: 30 },
  );
});
