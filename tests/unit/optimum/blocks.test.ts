import { readFileSync } from 'node:fs';
import { bestInHindsight, type DispatchProblem, optimalDispatch } from '@duskbank/core/dispatch';
import { type BillTerm, compileTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { toSteps } from '../../../packages/core/src/dispatch/optimum/problem.ts';
import { quantityRange } from '../../../packages/core/src/dispatch/optimum/quantity-range.ts';
import { makeReachable } from '../../../packages/core/src/dispatch/optimum/reachable.ts';
import { envelopeOf } from '../../../packages/core/src/tariff/terms/envelope.ts';
import { type PriceKind, randomProblem } from '../../reference/optimum/problems.ts';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

interface Blocks {
  readonly flow: 'import' | 'export';
  readonly group: Int32Array;
  readonly upToKwh: readonly number[];
  readonly adderPerKwh: readonly number[];
}

function tierOf({ flow, group, upToKwh, adderPerKwh }: Blocks): BillTerm {
  return {
    kind: 'tier',
    name: 'blocks',
    groups: 1,
    period: Int32Array.of(0),
    convex: false,
    flow,
    group,
    upToKwh: [Float64Array.of(...upToKwh, Number.POSITIVE_INFINITY)],
    adderPerKwh: [Float64Array.of(...adderPerKwh)],
  };
}

function blocksCost({ upToKwh, adderPerKwh }: Blocks, kwh: number): number {
  let cost = 0;
  let before = 0;
  for (const [k, adder] of adderPerKwh.entries()) {
    const until = Math.min(kwh, upToKwh[k] ?? Number.POSITIVE_INFINITY);
    if (until > before) cost += adder * (until - before);
    before = Math.max(before, until);
  }
  return cost;
}

/** Cost of the best schedule that moves the store by whole steps of `gridKwh`; every one is tried. */
function bestOfAll(problem: DispatchProblem, blocks: Blocks, gridKwh: number): number {
  const n = problem.netLoadKwh.length;
  const capacity = problem.capacityKwh as number;
  const charge = (problem.chargeLimitKw as number) * problem.stepHours;
  const discharge = (problem.dischargeLimitKw as number) * problem.stepHours;
  const levels = Math.round(capacity / gridKwh);
  let best = Number.POSITIVE_INFINITY;
  const walk = (i: number, level: number, cost: number, quantity: number) => {
    if (i === n) {
      best = Math.min(best, cost + (blocks.flow === 'export' ? -1 : 1) * blocksCost(blocks, quantity));
      return;
    }
    for (let to = 0; to <= levels; to++) {
      const moved = (to - level) * gridKwh;
      const ac = moved > 0 ? moved / problem.chargeEfficiency : moved * problem.dischargeEfficiency;
      if (ac > charge + 1e-12 || -ac > discharge + 1e-12) continue;
      const net = problem.netLoadKwh[i]!;
      if (problem.batteryExport === false && moved < 0 && -ac > Math.max(0, net) + 1e-12) continue;
      if (problem.gridCharging === false && moved > 0 && ac > Math.max(0, -net) + 1e-12) continue;
      const flow = net + ac;
      const price = flow > 0 ? problem.importPricePerKwh[i]! : problem.exportPricePerKwh[i]!;
      const counted = blocks.group[i]! < 0 ? 0 : Math.max(0, blocks.flow === 'export' ? -flow : flow);
      walk(i + 1, to, cost + price * flow, quantity + counted);
    }
  };
  walk(0, Math.round(problem.initialKwh / gridKwh), 0, 0);
  return best;
}

const problems = fc.record({
  net: fc.array(fc.double({ min: -3, max: 4, noNaN: true }), { minLength: 4, maxLength: 4 }),
  prices: fc.array(fc.double({ min: 0.02, max: 0.6, noNaN: true }), { minLength: 4, maxLength: 4 }),
  saleShare: fc.constantFrom(0, 0.3, 1),
  efficiency: fc.constantFrom(1, 0.9, 0.7),
  chargeLimitKw: fc.constantFrom(1, 2, 5),
  dischargeLimitKw: fc.constantFrom(1, 2, 5),
  initialLevel: fc.integer({ min: 0, max: 6 }),
  gridCharging: fc.boolean(),
  batteryExport: fc.boolean(),
  flow: fc.constantFrom('import' as const, 'export' as const),
  counted: fc.array(fc.boolean(), { minLength: 4, maxLength: 4 }),
  bounds: fc.tuple(fc.double({ min: 0.2, max: 5, noNaN: true }), fc.double({ min: 0.2, max: 5, noNaN: true })),
  adders: fc.tuple(fc.double({ min: -0.3, max: 0.3, noNaN: true }), fc.double({ min: -0.3, max: 0.3, noNaN: true })),
});

describe('blocks that do not rise', () => {
  it('the envelope of falling, and of mixed, blocks (by hand)', () => {
    // 0.3 up to 10, then 0.1: over [0, 20] a chord of 0.2; over [10, 20] the second block itself.
    const falling = {
      atKwh: Float64Array.of(0, 10),
      cost: Float64Array.of(0, 3),
      slopePerKwh: Float64Array.of(0.3, 0.1),
    };
    const chord = envelopeOf(falling, 0, 20);
    expect([...chord.atKwh]).toEqual([0, 20]);
    expect(chord.slopePerKwh[0]).toBeCloseTo(0.2, 12);
    const second = envelopeOf(falling, 10, 20);
    expect(second.cost[0]).toBeCloseTo(3, 12);
    expect(second.slopePerKwh[0]).toBeCloseTo(0.1, 12);
    // 0.2, 0.1, 0.5 by tens: a chord of 0.15 over the first two, then the third.
    const mixed = envelopeOf(
      {
        atKwh: Float64Array.of(0, 10, 20),
        cost: Float64Array.of(0, 2, 3),
        slopePerKwh: Float64Array.of(0.2, 0.1, 0.5),
      },
      0,
      30,
    );
    expect([...mixed.atKwh]).toEqual([0, 20, 30]);
    expect(mixed.slopePerKwh[0]).toBeCloseTo(0.15, 12);
    expect(mixed.slopePerKwh[1]).toBeCloseTo(0.5, 12);
  });

  it('no schedule of all those on a grid comes under the bound, and the bound lies near the best of them', () => {
    let near = 0;
    let runs = 0;
    fc.assert(
      fc.property(problems, (c) => {
        const group = Int32Array.from(c.counted, (counted) => (counted ? 0 : -1));
        const upToKwh = [...c.bounds].sort((a, b) => a - b);
        const blocks: Blocks = { flow: c.flow, group, upToKwh, adderPerKwh: [0, ...c.adders] };
        const problem: DispatchProblem = {
          stepHours: 1,
          netLoadKwh: Float64Array.from(c.net),
          importPricePerKwh: Float64Array.from(c.prices),
          exportPricePerKwh: Float64Array.from(c.prices, (price) => c.saleShare * price),
          capacityKwh: 3,
          floorKwh: 0,
          chargeLimitKw: c.chargeLimitKw,
          dischargeLimitKw: c.dischargeLimitKw,
          initialKwh: c.initialLevel * 0.5,
          chargeEfficiency: c.efficiency,
          dischargeEfficiency: c.efficiency,
          gridCharging: c.gridCharging,
          batteryExport: c.batteryExport,
        };
        const solution = optimalDispatch({ ...problem, terms: [tierOf(blocks)] });
        const best = bestOfAll(problem, blocks, 0.5);
        const bound = solution.cost - solution.gap;
        expect(bound).toBeLessThanOrEqual(best + 1e-9);
        runs++;
        if (best - bound < 0.25) near++;
      }),
      { seed: 20_260_102, numRuns: 300 },
    );
    expect(near / runs).toBeGreaterThan(0.5);
  });

  it('a home whose import always reaches the last block is solved on its price', () => {
    const netLoadKwh = new Float64Array(48).fill(5);
    const importPricePerKwh = Float64Array.from(netLoadKwh, (_, i) => (i % 24 < 6 ? 0.1 : 0.3));
    const problem: DispatchProblem = {
      stepHours: 1,
      netLoadKwh,
      importPricePerKwh,
      exportPricePerKwh: new Float64Array(48),
      capacityKwh: 10,
      floorKwh: 0,
      chargeLimitKw: 5,
      dischargeLimitKw: 5,
      initialKwh: 0,
      chargeEfficiency: 0.9,
      dischargeEfficiency: 0.9,
      batteryExport: false,
    };
    const blocks: Blocks = { flow: 'import', group: new Int32Array(48), upToKwh: [100], adderPerKwh: [0, -0.05] };
    const solution = optimalDispatch({ ...problem, terms: [tierOf(blocks)] });
    const onLast = optimalDispatch({ ...problem, importPricePerKwh: importPricePerKwh.map((price) => price - 0.05) });
    expect(solution.cost).toBeCloseTo(onLast.cost + 0.05 * 100, 9);
    expect(solution.gap).toBeLessThan(1e-6);
    // Each kWh at the cheapest price there is would be less.
    expect(solution.cost - solution.gap).toBeGreaterThan(240 * 0.05);
  });
});

describe('the tariff with falling blocks', () => {
  const { tariff, options } = tariffFixtures().find(({ name }) => name === 'falling-blocks')!;
  const read = JSON.parse(
    readFileSync(new URL('../../../fixtures/tariffs/falling-blocks.json', import.meta.url), 'utf8'),
  );
  const lowestPrice = Math.min(...read.energy[0].blocks.map((block: { pricePerKwh: number }) => block.pricePerKwh));

  it.each([0, 5])('bounds a year above all import at the lowest price (solar %d kW)', (solarKw) => {
    const shape = {
      days: 365,
      stepMinutes: 60,
      startEpochMs: Date.parse('2026-01-01T07:00:00Z'),
      zone: 'America/Denver',
      solarKw,
    };
    const home = seededHome(3, shape, plainPlant({ batteryExport: false }), openService, (axis) =>
      compileTariff(tariff, axis, options),
    );
    const best = bestInHindsight(home);
    let imported = 0;
    for (const kwh of best.flows.importKwh) imported += kwh;
    expect(imported).toBeGreaterThan(500);
    expect(best.boundTotal).toBeGreaterThan(lowestPrice * imported);
    expect(best.boundTotal).toBeLessThanOrEqual(best.billTotal + 1e-9);
    expect(best.billTotal - best.boundTotal).toBeLessThan(0.1 * best.billTotal);
  });
});

it('no schedule of any home imports or exports outside its range, however prices pull at a group', () => {
  const kinds: PriceKind[] = ['window', 'tiered-window', 'volatile', 'net-metered', 'negative'];
  const n = 48;
  let reached = 0;
  for (let seed = 1; seed <= 200; seed++) {
    const problem = randomProblem(seed, n, kinds[seed % 5]!);
    // Two groups that interleave, with intervals of neither between them.
    const group = Int32Array.from({ length: n }, (_, i) => (Math.floor(i / 7) % 3) - 1);
    const steps = toSteps(problem);
    makeReachable(steps);
    const ranges = {
      import: quantityRange(steps, 'import', group, 2),
      export: quantityRange(steps, 'export', group, 2),
    };
    for (const [onImport, onExport] of [
      [5, 0],
      [-5, 0],
      [0, 5],
      [0, -5],
      [-5, -5],
      [5, 5],
    ] as const)
      for (const pulled of [0, 1]) {
        const pull = (prices: Float64Array, by: number) =>
          prices.map((price, i) => (group[i] === pulled ? price + by : price));
        const found = optimalDispatch({
          ...problem,
          importPricePerKwh: pull(problem.importPricePerKwh, onImport),
          exportPricePerKwh: pull(problem.exportPricePerKwh, onExport),
        });
        const sums = { import: [0, 0], export: [0, 0] };
        for (let i = 0; i < n; i++) {
          const flow =
            problem.netLoadKwh[i]! -
            (problem.clippedKwh?.[i] ?? 0) +
            found.curtailedKwh[i]! -
            found.unservedKwh[i]! +
            found.chargeKwh[i]! -
            found.dischargeKwh[i]!;
          const g = group[i]!;
          if (g >= 0) sums[flow > 0 ? 'import' : 'export'][g]! += Math.abs(flow);
        }
        for (const side of ['import', 'export'] as const)
          for (const g of [0, 1]) {
            const { leastKwh, mostKwh } = ranges[side];
            expect(sums[side][g]!, `seed ${seed}`).toBeLessThanOrEqual(mostKwh[g]! + 1e-8);
            expect(sums[side][g]!, `seed ${seed}`).toBeGreaterThanOrEqual(leastKwh[g]! - 1e-8);
            if (mostKwh[g]! > 1 && sums[side][g]! > 0.98 * mostKwh[g]!) reached++;
          }
      }
  }
  expect(reached).toBeGreaterThan(200);
});

it('what a full store buys at the most is what it loses: a tenth of 10 kWh less the 4 that don’t decay', () => {
  const steps = toSteps({
    stepHours: 1,
    netLoadKwh: Float64Array.of(0),
    importPricePerKwh: Float64Array.of(0.2),
    exportPricePerKwh: Float64Array.of(0.05),
    capacityKwh: 10,
    floorKwh: 4,
    initialKwh: 10,
    chargeLimitKw: 8,
    dischargeLimitKw: 8,
    chargeEfficiency: 0.8,
    dischargeEfficiency: 0.8,
    batteryExport: false,
    selfDischargePerStep: 0.1,
  });
  makeReachable(steps);
  const { leastKwh, mostKwh } = quantityRange(steps, 'import', Int32Array.of(0), 1);
  expect(mostKwh[0]).toBeCloseTo(0.6 / 0.8, 6);
  expect(leastKwh[0]).toBeCloseTo(0, 6);
});
