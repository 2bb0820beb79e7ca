// Blocks over netted energy name the term that nets it: an earlier one, with as many groups.
import { optimalDispatch } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import type { BillTerm } from '@duskbank/core/tariff';
import { expect, it } from 'vitest';

const common = { name: 'part', group: Int32Array.of(0, 1), groups: 2, period: Int32Array.of(0, 1) };
const each = (value: number) => Float64Array.of(value, value);
const netting: BillTerm = {
  ...common,
  kind: 'netting',
  convex: true,
  pricePerKwh: each(0.2),
  next: Int32Array.of(-1, -1),
  surplusPerKwh: each(0),
  carriedInKwh: each(0),
};
const fixed: BillTerm = { ...common, kind: 'fixed', convex: true, amount: each(1) };
const blocks = (term: number, tierGroup: readonly number[]): BillTerm => ({
  ...common,
  kind: 'tier',
  convex: true,
  flow: 'netted',
  group: Int32Array.of(-1, -1),
  netting: { term, tierGroup: Int32Array.from(tierGroup) },
  upToKwh: [0, 1].map(() => Float64Array.of(1, Number.POSITIVE_INFINITY)),
  adderPerKwh: [0, 1].map(() => Float64Array.of(0, 0.1)),
});

function told(terms: readonly BillTerm[]): string[] {
  const price = each(0.2);
  try {
    optimalDispatch({
      stepHours: 1,
      netLoadKwh: each(1),
      importPricePerKwh: price,
      exportPricePerKwh: price,
      capacityKwh: 1,
      floorKwh: 0,
      initialKwh: 1,
      chargeLimitKw: 1,
      dischargeLimitKw: 1,
      chargeEfficiency: 1,
      dischargeEfficiency: 1,
      terms,
    });
    return ['taken'];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.issues.map(({ code, where }) => `${where.path?.join('.')}: ${code}`);
  }
}

it.each([
  ['an earlier one of as many groups', [netting, blocks(0, [0, 1])], ['taken']],
  ['with another between', [netting, fixed, blocks(0, [1, 0])], ['taken']],
  ['a later one', [blocks(1, [0, 1]), netting], ['terms.0.netting: contradiction']],
  ['itself', [netting, blocks(1, [0, 1])], ['terms.1.netting: contradiction']],
  ['one that nets nothing', [fixed, blocks(0, [0, 1])], ['terms.1.netting: contradiction']],
  ['one of other groups', [netting, blocks(0, [0])], ['terms.1.netting: contradiction']],
])('%s', (_what, terms, issues) => expect(told(terms)).toEqual(issues));
