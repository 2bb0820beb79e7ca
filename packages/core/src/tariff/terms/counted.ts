import type { ValueContext } from './kind.ts';
import type { CountedCharges, Term } from './term.ts';

/** What counted charges come to in each of a term's groups, which are billing periods. */
export function countedMoney(
  term: Term & { readonly counted: CountedCharges },
  { sums, valuesOf }: ValueContext,
): Float64Array {
  const { counted } = term;
  const money = sums.ofPrices(counted, term.group, term.groups);
  for (const [t, { amount }] of valuesOf(counted.terms).entries()) {
    const { period } = counted.terms[t]!;
    for (let g = 0; g < amount.length; g++) money[period[g]!] = money[period[g]!]! + amount[g]!;
  }
  return money;
}
