import type { Axis } from '../axis/index.ts';
import { check } from '../input/door.ts';
import type { CompiledTariff } from './compiled.ts';
import { termValues } from './evaluate.ts';
import { FlowSums } from './flow-sums.ts';
import type { ServiceFlows } from './flows.ts';
import { aCompiledTariff, serviceFlows } from './rules.ts';
import type { PeriodWeights } from './terms/kind.ts';
import { tariffKindOf } from './terms/registry.ts';
import type { CountedCharges } from './terms/term.ts';

/** What one more kWh would change, interval by interval, at given flows. */
export interface MarginalPrices {
  /** Cost of one more kWh imported, every term included. */
  readonly importPerKwh: Float64Array;
  /** What one more kWh exported earns. */
  readonly exportPerKwh: Float64Array;
}

/**
 * Marginal prices at an operating point: the slope of {@link billTotal} as import rises. At a kink (a full block, a tie
 * for the peak, a bill at its minimum) it is the slope towards more import. A capacity step's jump has no slope.
 *
 * @throws InputError `length-mismatch` | `not-finite` | `out-of-range`
 */
export function marginalPrices(compiled: CompiledTariff, flows: ServiceFlows): MarginalPrices {
  check({ compiled, flows }, { compiled: aCompiledTariff, flows: serviceFlows });
  const importPerKwh = new Float64Array(compiled.axis.intervals);
  const exportPerKwh = new Float64Array(compiled.axis.intervals);
  addSlopes(compiled.axis, compiled, flows, undefined, { importPerKwh, exportPerKwh });
  return { importPerKwh, exportPerKwh };
}

/** Adds the slopes of some charges, each billing period's times a weight. */
function addSlopes(
  axis: Axis,
  charges: CountedCharges,
  flows: ServiceFlows,
  weights: PeriodWeights | undefined,
  out: MarginalPrices,
): void {
  const { importPerKwh, exportPerKwh } = out;
  for (let i = 0; i < importPerKwh.length; i++) {
    const p = weights === undefined ? 0 : weights.period[i]!;
    const weight = weights === undefined ? 1 : p < 0 ? 0 : weights.ofPeriod[p]!;
    importPerKwh[i] = importPerKwh[i]! + weight * charges.importPricePerKwh[i]!;
    exportPerKwh[i] = exportPerKwh[i]! + weight * charges.exportPricePerKwh[i]!;
  }
  const { terms } = charges;
  const values = termValues(terms, new FlowSums(axis, flows));
  const onTop = terms.map((term) => new Float64Array(term.groups));
  // Backwards: blocks of netted energy stand after netting and add to its slope, which has to be known first.
  for (let index = terms.length - 1; index >= 0; index--) {
    const term = terms[index]!;
    tariffKindOf(term).addSlopes(term, values[index]!, {
      axis,
      flows,
      importPerKwh,
      exportPerKwh,
      weight: (g) => (weights === undefined ? 1 : weights.ofPeriod[term.period[g]!]!),
      slopeOnTop: (t) => onTop[t]!,
      index,
      addCounted: (counted, own) => addSlopes(axis, counted, flows, own, out),
    });
  }
}
