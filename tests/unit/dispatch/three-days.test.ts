import { makeAxis } from '@duskbank/core/axis';
import {
  hold,
  none,
  peakShave,
  runStrategy,
  type Strategy,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { backupHours } from '@duskbank/core/outage';
import { billTariff, billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant } from '../../support/homes.ts';
import { expectPhysics } from '../../support/physics.ts';

// The worked example of docs/concepts/worked-example.md, every number on paper there.
// Monday 5 to Wednesday 7 January 2026, one-hour steps. Load 1 kW, always. Sun on Wednesday only: 3 kW from 10 to 14 h.
// Battery 8 kWh usable, floor 2 kWh, start at the floor, 4 kW both ways, stores 80 % of what it takes, gives all back.
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 72, zone: 'Etc/UTC' });
const tariff = compileTariff(
  parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Three prices',
    currency: 'USD',
    windows: [
      { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.1 },
      { name: 'on-peak', from: '16:00', to: '20:00', pricePerKwh: 0.4 },
      { name: 'day', otherwise: true, pricePerKwh: 0.2 },
    ],
    export: { kind: 'net-billing', pricePerKwh: 0.05 },
  }),
  axis,
);
const loadKwh = new Float64Array(72).fill(1);
const solarKwh = Float64Array.from({ length: 72 }, (_, i) => (i >= 58 && i < 62 ? 3 : 0));
const plant = plainPlant({
  capacityKwh: 8,
  floorKwh: 2,
  startKwh: 2,
  chargeLimitKw: 4,
  dischargeLimitKw: 4,
  chargeEfficiency: 0.8,
  dischargeEfficiency: 1,
});
const home = { axis, loadKwh, solarKwh, tariff, plant, service: openService };

const CENT_FRACTION = 1e-9; // sums of 72 products

function runOf(strategy: Strategy) {
  const run = runStrategy(strategy, home);
  expectPhysics(home, run);
  return { flows: run.flows, total: billTotal(tariff, run.flows) };
}

test('without a battery the three days cost 5.00 + 5.00 + 3.80 = 13.80', () => {
  // Monday, Tuesday: 6 × 0.10 + 4 × 0.40 + 14 × 0.20. Wednesday: 6 × 0.10 + 4 × 0.40 + 10 × 0.20 − 8 × 0.05.
  const { flows, total } = runOf(none);
  expect(total).toBeCloseTo(13.8, 9);
  const bill = billTariff(tariff, flows);
  expect(bill.total).toBe(13.8);
  const [period] = bill.periods;
  const lines = Object.fromEntries(period!.lines.map((line) => [line.name, line]));
  expect(Object.values(lines).reduce((sum, line) => sum + line.amount, 0)).toBeCloseTo(bill.total, 9);
  const kwh = (part: string) => period!.lines.filter((line) => line.name.includes(part)).map((line) => line.quantity);
  expect(kwh('night')).toEqual([18]);
  expect(kwh('on-peak')).toEqual([12]);
  expect(kwh('day')).toEqual([38]);
});

test('self-consumption waits for Wednesday: 7.5 kWh of sun carry six hours, 12.175', () => {
  // 8 kWh of surplus, 6 kWh of room ÷ 0.8 = 7.5 kWh taken, 0.5 kWh sold; then 6 kWh carry 14 to 20 h.
  // Wednesday: 6 × 0.10 + 4 × 0.20 − 0.5 × 0.05 + 4 × 0.20 = 2.175.
  const { flows, total } = runOf(selfConsumption);
  expect(total).toBeCloseTo(12.175, 9);
  expect([...flows.chargeKwh.slice(57, 63)]).toEqual([0, 2, 2, 2, expect.closeTo(1.5, 12), 0]);
  expect([...flows.socKwh.slice(57, 68)]).toEqual(
    [2, 3.6, 5.2, 6.8, 8, 7, 6, 5, 4, 3, 2].map((kwh) => expect.closeTo(kwh, 12)),
  );
});

test('window buys 7.5 kWh each night and carries the peak and two hours after it: 10.05', () => {
  // Monday and Tuesday: (6 + 7.5) × 0.10 + 10 × 0.20 + 2 × 0.20 = 3.75.
  // Wednesday: the battery is full, so all 8 kWh of surplus are sold: 1.35 + 4 × 0.20 − 0.40 + 2 × 0.20 + 2 × 0.20 = 2.55.
  const { flows, total } = runOf(windowFill);
  expect(total).toBeCloseTo(10.05, 9);
  // The latest of the cheap hours that suffice: 03 to 06 h (a quarter more than 7.5 kWh need), full after the second.
  expect([...flows.chargeKwh.slice(0, 7)]).toEqual([0, 0, 0, 4, expect.closeTo(3.5, 12), 0, 0]);
  expect([...flows.dischargeKwh.slice(14, 24)]).toEqual([0, 0, 1, 1, 1, 1, 1, 1, 0, 0]);
});

test('hold buys 7.5 kWh at once and never gives any: 13.80 + 0.75', () => {
  expect(runOf(hold).total).toBeCloseTo(14.55, 9);
});

test('peak-shave at 0.5 kW finds nothing to give until the sun has filled it', () => {
  // From the floor it can hold nothing, and under the cap there is no room to buy. Wednesday's surplus stores 6 kWh;
  // from 14 h on half a kilowatt-hour each hour: 10 hours × 0.5 = 5 kWh, 3 kWh left.
  const { flows } = runOf(peakShave({ targetKw: 0.5 }));
  expect([...flows.importKwh.slice(0, 58)]).toEqual(new Array(58).fill(1));
  expect([...flows.importKwh.slice(62)]).toEqual(new Array(10).fill(0.5));
  expect(flows.socKwh[71]).toBeCloseTo(3, 12);
});

test('an outage at 16 h on Monday lasts 8 hours under window, at 20 h 4 hours, under self-consumption 2', () => {
  // Load 1 kW, everything backed up, no sun on the island, floor released, nothing kept below it.
  const hoursFrom = (strategy: Strategy) => {
    const { socKwh } = runStrategy(strategy, home).flows;
    return backupHours({ axis, plant, socKwh, loadKwh, solarKwh: new Float64Array(72) });
  };
  const window = hoursFrom(windowFill);
  expect([window[16], window[20]]).toEqual([expect.closeTo(8, 9), expect.closeTo(4, 9)]);
  expect(hoursFrom(selfConsumption)[16]).toBeCloseTo(2, 9);
});

// Elementary: x kWh bought at p1 return η·x at p2; worth it just where η·p2 > p1.
test.each([
  [1, 0.1, 0.4, 1, 'a lossless battery'],
  [0.8, 0.1, 0.4, 1, 'a lossy battery that pays'],
  [0.8, 0.33, 0.4, 0, 'a spread that does not cover the losses'],
])('one cheap and one dear hour, efficiency %d, prices %d and %d: %s', (efficiency, cheap, dear, pays) => {
  const two = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 2, zone: 'Etc/UTC' });
  const prices = compileTariff(
    parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Two hours',
      currency: 'USD',
      windows: [
        { name: 'dear', from: '01:00', to: '02:00', pricePerKwh: dear },
        { name: 'cheap', otherwise: true, pricePerKwh: cheap },
      ],
      export: { kind: 'none' },
    }),
    two,
  );
  const pair = {
    axis: two,
    loadKwh: Float64Array.of(0, 3),
    solarKwh: new Float64Array(2),
    tariff: prices,
    plant: plainPlant({ capacityKwh: 2, chargeLimitKw: 10, chargeEfficiency: efficiency, dischargeEfficiency: 1 }),
    service: openService,
  };
  const saved =
    billTotal(prices, runStrategy(none, pair).flows) - billTotal(prices, runStrategy(windowFill, pair).flows);
  const closedForm = pays * (2 * dear - (2 / efficiency) * cheap);
  expect(Math.abs(saved - closedForm)).toBeLessThan(CENT_FRACTION);
});
