import { record } from '../../input/door.ts';
import { eachPeriod, periodGroups } from '../layout.ts';
import type { LineIdentity } from '../weights.ts';
import { directionOfCost } from './bound.ts';
import type { BlockCost } from './envelope.ts';
import type { FieldsOf, TermFromCharges, TermKind } from './kind.ts';
import type { Term, Value } from './term.ts';

/** Sums of a bill's energy differ by less than this from what they are in decimals: 1,000 kWh are reached by them too. */
const ROUNDING_KWH = 1e-6;

/** A credit on billing periods that import from so much on: `−credit` where `leastKwh ≤ import < belowKwh`. */
export interface UsageCreditTerm extends Term {
  readonly kind: 'usage-credit';
  /** Money a group. */
  readonly credit: Float64Array;
  readonly leastKwh: Float64Array;
  /** Infinity where no more is too much. */
  readonly belowKwh: Float64Array;
}

export interface UsageCreditValue extends Value {
  /** Import of each group. */
  readonly kwh: Float64Array;
}

export interface UsageCreditPlan {
  readonly line: LineIdentity;
  readonly version: number;
  readonly credit: number;
  readonly leastKwh: number;
  readonly belowKwh: number;
  /** 1 for the billing periods that the version bills. */
  readonly bills: Uint8Array;
}

/** The convex envelope of a cost that steps from 0 to `cost`, below 0, at a quantity. */
function stepOf(lowKwh: number, atKwh: number, cost: number): BlockCost {
  return {
    atKwh: Float64Array.of(lowKwh, atKwh),
    cost: Float64Array.of(0, cost),
    slopePerKwh: Float64Array.of(cost / (atKwh - lowKwh), 0),
  };
}

export const usageCreditKind: TermKind<UsageCreditTerm, UsageCreditValue> = {
  value(term, { sums }) {
    const { credit, leastKwh, belowKwh } = term;
    const kwh = sums.ofGroups(term, 'importKwh');
    const amount = kwh.map((used, g) => {
      const rounded = used + ROUNDING_KWH;
      return rounded >= leastKwh[g]! && rounded < belowKwh[g]! ? -credit[g]! : 0;
    });
    return { amount, kwh };
  },

  /**
   * A credit that may or may not be come by counts by the part of the way to it: the convex envelope of the step, a price a
   * kWh below it. One that is lost again by using too much counts whole wherever it can be come by.
   */
  bound({ group, groups, credit, leastKwh, belowKwh }, { rangeKwh }) {
    const range = rangeKwh('import', group, groups);
    let most = 0;
    let exact = true;
    const nothing = { atKwh: Float64Array.of(0), cost: Float64Array.of(0), slopePerKwh: Float64Array.of(0) };
    const costs: BlockCost[] = [];
    for (let g = 0; g < groups; g++) {
      const low = range.leastKwh[g]! - ROUNDING_KWH;
      const high = range.mostKwh[g]! + ROUNDING_KWH;
      const from = leastKwh[g]! - ROUNDING_KWH;
      costs.push(nothing);
      if (credit[g] === 0 || high < from || low >= belowKwh[g]!) continue;
      // A charge for using so much is below 0: it may be avoided where the range can be left.
      const always = low >= leastKwh[g]! && high < belowKwh[g]!;
      const step = !always && credit[g]! > 0 && low < from && belowKwh[g] === Number.POSITIVE_INFINITY;
      if (step) costs[g] = stepOf(low, from, -credit[g]!);
      else {
        most += always ? credit[g]! : Math.max(0, credit[g]!);
        exact &&= always;
      }
    }
    if (costs.every((cost) => cost === nothing)) return { constant: -most, exact, steep: false };
    const multiplier = new Float64Array(groups);
    return {
      constant: -most,
      exact,
      steep: false,
      multiplied: {
        multiplier,
        low: Float64Array.from(costs, ({ slopePerKwh }) => slopePerKwh[0]!),
        high: new Float64Array(groups),
        group,
        importPerUnit: 1,
        exportPerUnit: 0,
        base: new Float64Array(groups),
        begun: new Float64Array(groups),
        offset: 0,
        costs,
        direction: ({ kwh }, g) => directionOfCost(costs[g]!, multiplier[g]!, kwh[g]!),
      },
    };
  },

  rule: ({ each }) =>
    record<FieldsOf<UsageCreditTerm>>({
      credit: each(),
      leastKwh: each({ least: 0 }),
      belowKwh: each({ least: 0, infinite: true }),
    }),
};

export const usageCreditCharge: TermFromCharges<UsageCreditTerm, UsageCreditValue, UsageCreditPlan> = {
  plan({ tariff, days }) {
    return tariff.versions.flatMap(({ written }, version) =>
      (written.usageCredits ?? []).map((credit) => ({
        line: { name: credit.name, kind: 'rebate', supplier: credit.supplier },
        version,
        credit: credit.amount,
        leastKwh: credit.leastKwh,
        belowKwh: credit.belowKwh ?? Number.POSITIVE_INFINITY,
        bills: Uint8Array.from(days.last, (last) => (last.version === version ? 1 : 0)),
      })),
    );
  },

  term({ line, version, credit, leastKwh, belowKwh, bills }, { layout, weigh }) {
    const weight = weigh(line, version);
    return {
      kind: 'usage-credit',
      name: line.name,
      group: periodGroups(layout),
      groups: bills.length,
      period: eachPeriod(layout),
      credit: Float64Array.from(bills, (flag) => flag * weight * credit),
      leastKwh: new Float64Array(bills.length).fill(leastKwh),
      belowKwh: new Float64Array(bills.length).fill(belowKwh),
      convex: false,
    };
  },

  lines({ line, version, credit }, { amount }, { maker, periods }) {
    for (let p = 0; p < periods.length; p++)
      if (amount[p] !== 0) periods[p]!.push(maker.shared(line, '', version, p, { times: 1, per: 1 }, 'bill', -credit));
  },

  // Within the range and outside of it one kWh more changes nothing.
  addSlopes() {},
  isSteady: ({ credit }) => credit.every((money) => money === 0),
  slopeSteps: () => undefined,
};
