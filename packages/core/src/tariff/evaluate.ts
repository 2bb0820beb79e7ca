import { check, integers, number, type Rule, record } from '../input/door.ts';
import type { CompiledTariff } from './compiled.ts';
import { FlowSums, type TermClock } from './flow-sums.ts';
import { checkFlows, type ServiceFlows } from './flows.ts';
import { aCompiledTariff, serviceFlows, serviceFlowsUnread } from './rules.ts';
import { moneyOfEnergies, sumOfProducts } from './runs.ts';
import { type BillTerm, kindOf, type TermValue } from './terms/registry.ts';
import { someTerms } from './terms/rules.ts';
import type { Term, Value } from './terms/term.ts';

/**
 * The unrounded bill of an axis: `Σ import · price − Σ export · price + Σ terms`. For comparisons and bounds;
 * {@link billTariff} rounds where the tariff says.
 *
 * @param flows arrays as long as the tariff's axis, kWh, at least 0
 * @throws InputError `length-mismatch` | `not-finite` | `out-of-range`
 */
export function billTotal(compiled: CompiledTariff, flows: ServiceFlows): number {
  check({ compiled, flows }, { compiled: aCompiledTariff, flows: serviceFlowsUnread });
  const money =
    moneyOfEnergies(flows.importKwh, compiled.importPricePerKwh) -
    moneyOfEnergies(flows.exportKwh, compiled.exportPricePerKwh);
  if (Number.isNaN(money)) checkFlows(flows);
  return withTerms(money, compiled, flows);
}

/** {@link billTotal} of flows that a run of ours gave: nothing is checked, for searches. */
export function totalOf(compiled: CompiledTariff, flows: ServiceFlows): number {
  const { importKwh, exportKwh } = flows;
  const money =
    sumOfProducts(importKwh, compiled.importPricePerKwh, 0, importKwh.length) -
    sumOfProducts(exportKwh, compiled.exportPricePerKwh, 0, exportKwh.length);
  return withTerms(money, compiled, flows);
}

function withTerms(money: number, compiled: CompiledTariff, flows: ServiceFlows): number {
  let total = money;
  for (const value of termValues(compiled.terms, new FlowSums(compiled.axis, flows)))
    for (let g = 0; g < value.amount.length; g++) total += value.amount[g]!;
  return total;
}

/** Days that rise, one a step. */
const aClock: Rule = (value, path, looking) => {
  const { calendar } = (value ?? {}) as { readonly calendar?: { readonly day?: Int32Array } };
  looking.intervals = calendar?.day?.length;
  record<TermClock>({ stepHours: number({ above: 0 }), calendar: record({ day: integers({ least: 0 }) }) })(
    value,
    path,
    looking,
  );
};

/**
 * Values of a list of terms, in its order: a term may rest on those before it.
 * @throws InputError on terms that don't fit the clock's steps, and flows of another length, negative or not finite
 */
export function evaluateTerms<T extends BillTerm>(
  clock: TermClock,
  terms: readonly T[],
  flows: ServiceFlows,
): TermValue<T>[] {
  check({ clock, terms, flows }, { clock: aClock, terms: someTerms, flows: serviceFlows });
  return valuesOf(clock, terms, flows);
}

/** {@link evaluateTerms} of flows that a run of ours gave: nothing is checked, for searches. */
export function valuesOf<T extends BillTerm>(
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
