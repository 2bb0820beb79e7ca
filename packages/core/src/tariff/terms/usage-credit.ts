import { record } from '../../input/door.ts';
import { eachPeriod, periodGroups } from '../layout.ts';
import type { LineIdentity } from '../weights.ts';
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

export interface UsageCreditPlan {
  readonly line: LineIdentity;
  readonly version: number;
  readonly credit: number;
  readonly leastKwh: number;
  readonly belowKwh: number;
  /** 1 for the billing periods that the version bills. */
  readonly bills: Uint8Array;
}

export const usageCreditKind: TermKind<UsageCreditTerm, Value> = {
  value(term, { sums }) {
    const { credit, leastKwh, belowKwh } = term;
    const amount = sums.ofGroups(term, 'importKwh').map((kwh, g) => {
      const rounded = kwh + ROUNDING_KWH;
      return rounded >= leastKwh[g]! && rounded < belowKwh[g]! ? -credit[g]! : 0;
    });
    return { amount };
  },

  /** No schedule gets more than the credits of all periods that can come into their range. */
  bound({ group, groups, credit, leastKwh, belowKwh }, { rangeKwh }) {
    const range = rangeKwh('import', group, groups);
    let most = 0;
    let exact = true;
    for (let g = 0; g < groups; g++) {
      const low = range.leastKwh[g]! - ROUNDING_KWH;
      const high = range.mostKwh[g]! + ROUNDING_KWH;
      if (credit[g] === 0 || high < leastKwh[g]! - ROUNDING_KWH || low >= belowKwh[g]!) continue;
      // A charge for using so much is below 0: it may be avoided where the range can be left.
      const always = low >= leastKwh[g]! && high < belowKwh[g]!;
      most += always ? credit[g]! : Math.max(0, credit[g]!);
      exact &&= always;
    }
    return { constant: -most, exact, steep: false };
  },

  rule: ({ each }) =>
    record<FieldsOf<UsageCreditTerm>>({
      credit: each(),
      leastKwh: each({ least: 0 }),
      belowKwh: each({ least: 0, infinite: true }),
    }),
};

export const usageCreditCharge: TermFromCharges<UsageCreditTerm, Value, UsageCreditPlan> = {
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
