// Small problems with parts of a bill beside prices, and what those come to by sums of their own: written from docs/concepts/tariff.md.
import type { DispatchProblem } from '@duskbank/core/dispatch';
import type { BillTerm } from '@duskbank/core/tariff';
import { seeded } from './problems.ts';

/** What passes the meter, kWh, import above 0. */
export type Meter = readonly number[];

export interface TermProblem {
  readonly name: string;
  readonly problem: DispatchProblem & { readonly terms: readonly BillTerm[] };
  /** The bill of some flows, money. */
  readonly bill: (meter: Meter) => number;
}

const N = 4;
/** The last block has no end. */
const ENDLESS = Number.POSITIVE_INFINITY;

/** Two steps a group, or all four in one. */
const GROUPS = [
  [0, 0, 1, 1],
  [0, 0, 0, 0],
  [0, 1, -1, 1],
];

interface Part {
  readonly term: BillTerm;
  /** What each of its groups comes to. */
  readonly amounts: (meter: Meter) => readonly number[];
}

export function termProblem(seed: number): TermProblem {
  const r = seeded(seed * 7_877 + 11);
  const pick = <T>(...values: readonly T[]): T => values[Math.floor(r() * values.length)]!;
  const series = (...values: readonly number[]) => Float64Array.from({ length: N }, () => pick(...values));
  const groupOf = GROUPS[Math.floor(r() * GROUPS.length)]!;
  const groups = Math.max(...groupOf) + 1;
  const group = Int32Array.from(groupOf);
  const common = { name: 'part', group, groups, period: Int32Array.from({ length: groups }, (_, g) => g) };
  const each = (value: number) => new Float64Array(groups).fill(value);
  const netLoadKwh = series(-1, -0.5, 0, 0.5, 1, 1);
  let importPricePerKwh = series(0.1, 0.2, 0.2, 0.5);
  let exportPricePerKwh = importPricePerKwh.map((price) => pick(0, 0.1, price));
  const prices = () => ({ importPricePerKwh, exportPricePerKwh, terms: [] });
  /** Σ of a group of what a step adds. */
  const sums = (meter: Meter, of: (kwh: number, i: number) => number) => {
    const all = new Array<number>(groups).fill(0);
    meter.forEach((kwh, i) => {
      if (groupOf[i]! >= 0) all[groupOf[i]!]! += of(kwh, i);
    });
    return all;
  };
  const bought = (kwh: number) => Math.max(0, kwh);
  const sold = (kwh: number) => Math.max(0, -kwh);
  const money = (kwh: number, i: number) => bought(kwh) * importPricePerKwh[i]! - sold(kwh) * exportPricePerKwh[i]!;
  const total = (all: readonly number[]) => all.reduce((sum, one) => sum + one, 0);

  /** A part of the bill, and what it comes to. */
  const makes: Record<string, (before: readonly Part[]) => Part> = {
    blocks: () => {
      const flow = pick('import' as const, 'import' as const, 'export' as const);
      const ends = [pick(0.5, 1), pick(1.5, 2), ENDLESS];
      const adders = pick([0, 0.1, 0.3], [0, -0.1, -0.05], [0, 0.2, 0.1], [0, -0.2, -0.3]);
      const steps = adders.map((adder, k) => adder - (adders[k - 1] ?? 0));
      const sign = flow === 'export' ? -1 : 1;
      return {
        term: {
          ...common,
          kind: 'tier',
          convex: steps.every((step) => sign * step >= 0),
          flow,
          upToKwh: each(0).reduce<Float64Array[]>((all) => [...all, Float64Array.from(ends)], []),
          adderPerKwh: each(0).reduce<Float64Array[]>((all) => [...all, Float64Array.from(adders)], []),
        },
        amounts: (meter) =>
          sums(meter, flow === 'export' ? sold : bought).map(
            (kwh) =>
              sign * total(adders.map((adder, k) => adder * Math.max(0, Math.min(kwh, ends[k]!) - (ends[k - 1] ?? 0)))),
          ),
      };
    },
    power: () => {
      const [pricePerKw, minimumKw, scale] = [pick(0.1, 0.5, 1), pick(0, 0.5), pick(1, 2)];
      const ratchet = pick(undefined, undefined, { share: 0.5, historyKw: pick(0, 3) });
      return {
        term: {
          ...common,
          kind: 'demand',
          convex: true,
          pricePerKw: each(pricePerKw),
          averagingSteps: 1,
          phaseSteps: 0,
          highestDays: 1,
          scale,
          minimumKw: each(minimumKw),
          ...(ratchet === undefined
            ? {}
            : {
                ratchet: {
                  share: ratchet.share,
                  historyKw: each(ratchet.historyKw),
                  groups: Array.from({ length: groups }, (_, g) => Int32Array.from({ length: g }, (__, e) => e)),
                },
              }),
        },
        amounts: (meter) => {
          const kw = Array.from(
            { length: groups },
            (_, g) => scale * Math.max(0, ...meter.map((kwh, i) => (groupOf[i] === g ? kwh : 0))),
          );
          return kw.map((own, g) => {
            const least = ratchet === undefined ? 0 : ratchet.share * Math.max(ratchet.historyKw, ...kw.slice(0, g));
            return pricePerKw * Math.max(own, minimumKw, least);
          });
        },
      };
    },
    classes: () => {
      const upToKw = [0.5, 1, ENDLESS];
      const fees = pick([0.1, 0.3, 0.6], [0.2, 0.1, 0.4], [0, 0.5, 0.5]);
      return {
        term: {
          ...common,
          kind: 'demand',
          convex: false,
          pricePerKw: each(0),
          averagingSteps: 1,
          phaseSteps: 0,
          highestDays: 1,
          scale: 1,
          minimumKw: each(0),
          steps: { upToKw: Float64Array.from(upToKw), amount: Float64Array.from(fees), share: each(1) },
        },
        amounts: (meter) =>
          Array.from({ length: groups }, (_, g) => {
            const kw = Math.max(0, ...meter.map((kwh, i) => (groupOf[i] === g ? kwh : 0)));
            return fees[upToKw.findIndex((end) => kw <= end + 1e-9)]!;
          }),
      };
    },
    minimum: (before) => {
      const counts = r() < 0.6 ? before.slice() : [];
      const [amount, share] = [pick(0.2, 0.5, 1), pick(1, 1, 1.2)];
      return {
        term: {
          ...common,
          kind: 'minimum',
          convex: true,
          amount: each(amount),
          share: each(share),
          counted: { ...prices(), terms: counts.map(({ term }) => term) },
        },
        amounts: (meter) => {
          const parts = counts.map((part) => part.amounts(meter));
          return sums(meter, money).map(
            (counted, g) => share * Math.max(0, amount - counted - total(parts.map((part) => part[g] ?? 0))),
          );
        },
      };
    },
    'credit for use': () => {
      const [credit, leastKwh, belowKwh] = [pick(0.1, 0.4), pick(0.5, 1), pick(ENDLESS, ENDLESS, 1.5)];
      return {
        term: {
          ...common,
          kind: 'usage-credit',
          convex: false,
          credit: each(credit),
          leastKwh: each(leastKwh),
          belowKwh: each(belowKwh),
        },
        // A meter's sum is whole to a thousandth of a Wh.
        amounts: (meter) =>
          sums(meter, bought).map((kwh) => (kwh + 1e-6 >= leastKwh && kwh + 1e-6 < belowKwh ? -credit : 0)),
      };
    },
    rebate: () => {
      const pricePerKwh = pick(0.2, 0.6);
      const baselineKwh = pick(0, 0.5, 1);
      // Of one event in the last step, whose usual import is that of the steps before.
      const event = Int32Array.of(-1, -1, -1, 0);
      const days = pick([], [0, 1], [0, 1, 1, 2]);
      return {
        term: {
          ...common,
          kind: 'rebate',
          group: event,
          groups: 1,
          period: Int32Array.of(0),
          convex: false,
          pricePerKwh: Float64Array.of(pricePerKwh),
          baselineKwh: Float64Array.of(baselineKwh),
          references: [Int32Array.from(days)],
        },
        amounts: (meter) => {
          const usual = days.length === 0 ? 0 : total(days.filter((_, k) => k % 2 === 0).map((i) => bought(meter[i]!)));
          const saved = baselineKwh + usual / Math.max(1, days.length / 2) - bought(meter[3]!);
          return [-pricePerKwh * Math.max(0, saved)];
        },
      };
    },
    'credit carried': () => {
      const carries = groups === 2 && r() < 0.6;
      const [settleShare, carriedIn] = [pick(0, 0.5, 1), pick(0, 0.2)];
      return {
        term: {
          ...common,
          kind: 'carry',
          convex: false,
          counted: prices(),
          next: Int32Array.from({ length: groups }, (_, g) => (carries && g === 0 ? 1 : -1)),
          settleShare: each(settleShare),
          carriedIn: Float64Array.from({ length: groups }, (_, g) => (g === 0 ? carriedIn : 0)),
        },
        amounts: (meter) => {
          let carried = carriedIn;
          return sums(meter, money).map((counted, g) => {
            const due = Math.max(0, counted - carried);
            const left = Math.max(0, carried - counted);
            const goesOn = carries && g === 0;
            carried = goesOn ? left : 0;
            return due - counted - (goesOn ? 0 : settleShare * left);
          });
        },
      };
    },
    netting: () => {
      const pricePerKwh = pick(0.2, 0.4);
      const surplusPerKwh = pick(0, 0.1, pricePerKwh);
      const carries = groups === 2 && r() < 0.6;
      const carriedIn = pick(0, 0.5);
      // What is netted has one price both ways.
      importPricePerKwh = Float64Array.from(importPricePerKwh, (price, i) => (groupOf[i]! >= 0 ? pricePerKwh : price));
      exportPricePerKwh = Float64Array.from(exportPricePerKwh, (price, i) => (groupOf[i]! >= 0 ? pricePerKwh : price));
      return {
        term: {
          ...common,
          kind: 'netting',
          convex: true,
          pricePerKwh: each(pricePerKwh),
          next: Int32Array.from({ length: groups }, (_, g) => (carries && g === 0 ? 1 : -1)),
          surplusPerKwh: each(surplusPerKwh),
          carriedInKwh: Float64Array.from({ length: groups }, (_, g) => (g === 0 ? carriedIn : 0)),
        },
        amounts: (meter) => {
          let carried = carriedIn;
          return sums(meter, (kwh) => kwh).map((net, g) => {
            const due = Math.max(0, net - carried);
            const left = Math.max(0, carried - net);
            const goesOn = carries && g === 0;
            carried = goesOn ? left : 0;
            return pricePerKwh * (due - net) - (goesOn ? 0 : surplusPerKwh * left);
          });
        },
      };
    },
  };
  const names = Object.keys(makes);
  const chosen = [
    names[seed % names.length]!,
    ...(r() < 0.4 ? [pick('blocks', 'power', 'minimum', 'credit for use')] : []),
  ];
  // Netting sets prices, and a minimum counts what stands before it.
  const order = (name: string) => (name === 'netting' ? 0 : name === 'minimum' ? 2 : 1);
  const parts: Part[] = [];
  for (const name of [...new Set(chosen)].sort((a, b) => order(a) - order(b))) parts.push(makes[name]!(parts));
  const wearPerKwh = pick(0, 0, 0.05);
  return {
    name: [...new Set(chosen)].join(' and '),
    problem: {
      stepHours: 1,
      netLoadKwh,
      importPricePerKwh,
      exportPricePerKwh,
      capacityKwh: pick(1, 2),
      floorKwh: 0,
      initialKwh: pick(0, 0.5, 1),
      chargeLimitKw: pick(0.5, 1),
      dischargeLimitKw: pick(0.5, 1),
      chargeEfficiency: 1,
      dischargeEfficiency: 1,
      gridCharging: r() < 0.8,
      batteryExport: r() < 0.7,
      wearPerKwh,
      terms: parts.map(({ term }) => term),
    },
    bill: (meter) => total(meter.map(money)) + total(parts.map(({ amounts }) => total(amounts(meter)))),
  };
}

/** The least that any schedule of half kWh a step comes to, all of them tried. */
export function leastOfHalves({ problem, bill }: TermProblem): number {
  const { netLoadKwh, capacityKwh, chargeLimitKw, dischargeLimitKw, gridCharging, batteryExport } = problem;
  let least = ENDLESS;
  const walk = (i: number, stored: number, meter: readonly number[], wear: number) => {
    if (i === N) {
      least = Math.min(least, bill(meter) + wear);
      return;
    }
    const net = netLoadKwh[i]!;
    for (const move of [-1, -0.5, 0, 0.5, 1]) {
      const next = stored + move;
      if (next < 0 || next > (capacityKwh as number)) continue;
      if (move > (chargeLimitKw as number) || -move > (dischargeLimitKw as number)) continue;
      if (gridCharging === false && move > Math.max(0, -net)) continue;
      if (batteryExport === false && -move > Math.max(0, net)) continue;
      walk(i + 1, next, [...meter, net + move], wear + (problem.wearPerKwh ?? 0) * Math.max(0, -move));
    }
  };
  walk(0, problem.initialKwh, [], 0);
  return least;
}
