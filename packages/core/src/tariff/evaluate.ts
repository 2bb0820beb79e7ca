import type { CompiledTariff } from './compiled.ts';
import { FlowSums, type TermClock } from './flow-sums.ts';
import type { ServiceFlows } from './flows.ts';
import { checkLengths } from './flows.ts';
import { sumOfProducts } from './runs.ts';
import { type BillTerm, kindOf, type TermValue } from './terms/registry.ts';
import type { Term, Value } from './terms/term.ts';

/**
 * The unrounded bill of an axis: `Σ import · price − Σ export · price + Σ terms`. For comparisons and bounds;
 * {@link billTariff} rounds where the tariff says.
 *
 * @param flows arrays as long as the tariff's axis, kWh; their values are not checked: this runs in searches
 * @throws InputError `length-mismatch`
 */
export function billTotal(compiled: CompiledTariff, flows: ServiceFlows): number {
  const { importKwh, exportKwh } = flows;
  const { importPricePerKwh, exportPricePerKwh } = compiled;
  checkLengths(flows, importPricePerKwh.length);
  let total =
    sumOfProducts(importKwh, importPricePerKwh, 0, importKwh.length) -
    sumOfProducts(exportKwh, exportPricePerKwh, 0, exportKwh.length);
  for (const value of evaluateTerms(compiled.axis, compiled.terms, flows))
    for (let g = 0; g < value.amount.length; g++) total += value.amount[g]!;
  return total;
}

/** Values of a list of terms, in its order: a term may rest on those before it. */
export function evaluateTerms<T extends BillTerm>(
  clock: TermClock,
  terms: readonly T[],
  flows: ServiceFlows,
): TermValue<T>[] {
  return termValues(terms, new FlowSums(clock, flows)) as TermValue<T>[];
}

/** {@link evaluateTerms} where sums of the flows are at hand. */
export function termValues(terms: readonly Term[], sums: FlowSums): Value[] {
  const values: Value[] = [];
  const context = { sums, earlier: values, valuesOf: (others: readonly Term[]) => termValues(others, sums) };
  for (const term of terms) values.push(kindOf(term).value(term, context));
  return values;
}
