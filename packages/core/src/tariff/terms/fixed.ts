import { sum } from '../../axis/sum.ts';
import { record } from '../../input/door.ts';
import { quoteName } from '../../words/quote.ts';
import { accountField } from '../account.ts';
import { eachPeriod, type Layout } from '../layout.ts';
import { coveredDays, monthShare, type Share } from '../period-days.ts';
import type { FixedCharge } from '../tariff.ts';
import type { LineIdentity } from '../weights.ts';
import type { FieldsOf, TermFromCharges, TermKind } from './kind.ts';
import type { Term, Value } from './term.ts';

/** An amount that a group costs whatever the flows. `group` is −1 everywhere: only `period` matters. */
export interface FixedTerm extends Term {
  readonly kind: 'fixed';
  /** Money a group. */
  readonly amount: Float64Array;
}

export interface FixedPlan {
  readonly line: LineIdentity;
  readonly version: number;
  readonly rate: number;
  readonly unit: string;
  /** Quantity in each period; undefined where the charge doesn't fall. */
  readonly shares: readonly (Share | undefined)[];
}

export const fixedKind: TermKind<FixedTerm, Value> = {
  value: ({ amount }) => ({ amount }),

  bound: ({ amount }) => ({ constant: sum(amount), exact: true, steep: false }),

  rule: ({ each }) => record<FieldsOf<FixedTerm>>({ amount: each() }),
};

export const fixedCharge: TermFromCharges<FixedTerm, Value, FixedPlan> = {
  plan(layout) {
    const { tariff, account } = layout;
    const programmes = account.programmes ?? [];
    return tariff.versions.flatMap((rates, version) =>
      rates.fixed
        .filter(({ programme }) => programme === undefined || programmes.includes(programme))
        .map((charge) => planOf(layout, charge, version)),
    );
  },

  term({ line, version, rate, shares }, { layout, weigh }) {
    const weight = weigh(line, version);
    return {
      kind: 'fixed',
      name: line.name,
      group: new Int32Array(layout.axis.intervals).fill(-1),
      groups: shares.length,
      period: eachPeriod(layout),
      amount: Float64Array.from(shares, (share) =>
        share === undefined ? 0 : (weight * rate * share.times) / share.per,
      ),
      convex: true,
    };
  },

  lines({ line, version, rate, unit, shares }, _, { maker, periods }) {
    for (const [p, share] of shares.entries())
      if (share !== undefined) periods[p]!.push(maker.shared(line, '', version, p, share, unit, rate));
  },

  addSlopes() {},
  isSteady: () => true,
  slopeSteps: () => [],
};

function planOf(layout: Layout, charge: FixedCharge, version: number): FixedPlan {
  const { account, days, spans } = layout;
  let rate = charge.amount ?? 0;
  if (charge.bySize !== undefined) {
    const amps = accountField(account, 'serviceAmps', quoteName(charge.name));
    rate = charge.bySize.find((size) => amps <= size.upToAmps)!.amount;
  }
  const kva = charge.per === 'kva-month' ? accountField(account, 'serviceKva', quoteName(charge.name)) : 1;
  const shares = spans.map((_, p): Share | undefined => {
    const count = coveredDays(days, p, version, charge.seasonMask);
    if (count === 0) return undefined;
    switch (charge.per) {
      case 'day':
        return { times: count, per: 1 };
      case 'year':
        return { times: count, per: 365 };
      case 'bill': {
        const last = days.last[p]!;
        return last.version === version && (charge.seasonMask >> last.season) & 1 ? { times: 1, per: 1 } : undefined;
      }
      default: {
        const share = monthShare(days, p, count);
        return { times: share.times * kva, per: share.per };
      }
    }
  });
  const line: LineIdentity = { name: charge.name, kind: 'fixed', supplier: charge.supplier };
  return { line, version, rate, unit: charge.per === 'kva-month' ? 'kVA' : charge.per, shares };
}

/** Fixed charges of each billing period; undefined where a term depends on the flows. */
export function fixedAmounts(terms: readonly Term[], periods: number): Float64Array | undefined {
  const sums = new Float64Array(periods);
  for (const term of terms) {
    if (!isFixed(term)) return undefined;
    for (let g = 0; g < term.amount.length; g++) {
      const p = term.period[g]!;
      if (p >= 0 && p < periods) sums[p] = sums[p]! + term.amount[g]!;
    }
  }
  return sums;
}

/** All fixed charges of a tariff over its data, money. */
export function fixedTotal({ terms }: { readonly terms: readonly Term[] }): number {
  return terms.reduce((total, term) => total + (isFixed(term) ? sum(term.amount) : 0), 0);
}

function isFixed(term: Term): term is FixedTerm {
  return term.kind === ('fixed' satisfies FixedTerm['kind']);
}
