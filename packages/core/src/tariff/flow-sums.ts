import { checkFlows, MOST_KWH, type ServiceFlows } from './flows.ts';
import { findRuns, sumOfProducts } from './runs.ts';
import type { Cells, CountedCharges, Term } from './terms/term.ts';

/** What terms need to know of time. An axis has it; a dispatch problem without an axis makes it up. */
export interface TermClock {
  readonly stepHours: number;
  /** Number of each interval's local day, rising: read where a term counts its highest days. */
  readonly calendar: { readonly day: Int32Array };
}

/**
 * Sums of one home's flows that the parts of its bill ask for. Each is made once, however many lines, terms and counted
 * charges read it, so that a bill costs a pass over each flow and little more.
 */
export class FlowSums {
  private readonly byCell = new Map<Cells, { importKwh?: Float64Array; exportKwh?: Float64Array }>();
  private readonly bySeries = new Map<Float64Array, { importMoney?: Float64Array; exportMoney?: Float64Array }>();
  private readonly byGroup = new Map<Int32Array, Map<string, Float64Array>>();

  constructor(
    readonly clock: TermClock,
    readonly flows: ServiceFlows,
  ) {}

  /** kWh of each cell. */
  ofCells(cells: Cells, flow: 'importKwh' | 'exportKwh'): Float64Array {
    let known = this.byCell.get(cells);
    if (known === undefined) {
      known = {};
      this.byCell.set(cells, known);
    }
    known[flow] ??= this.sum(cells.runStart, cells.runCell, cells.period.length, flow);
    return known[flow];
  }

  /** kWh of each of a term's groups. */
  ofGroups(term: Term, flow: 'importKwh' | 'exportKwh'): Float64Array {
    if (term.byCell === undefined) {
      const { starts, groups } = term.runs ?? findRuns(term.group);
      return this.sum(starts, groups, term.groups, flow);
    }
    const { cells, group } = term.byCell;
    const kwh = this.ofCells(cells, flow);
    const sums = new Float64Array(term.groups);
    for (let cell = 0; cell < group.length; cell++) {
      const g = group[cell]!;
      if (g >= 0) sums[g] = sums[g]! + kwh[cell]!;
    }
    return sums;
  }

  private sum(starts: Int32Array, groups: Int32Array, count: number, flow: 'importKwh' | 'exportKwh'): Float64Array {
    const sums = sumByRuns(starts, groups, count, this.flows[flow]);
    // NaN stands for a fault; a sum beyond any home's is one, wherever it came from.
    for (const sum of sums) if (!(sum < MOST_KWH)) checkFlows(this.flows);
    return sums;
  }

  /** Another quantity of the groups of an array, computed once; `way` tells quantities of one array apart. */
  once(group: Int32Array, way: string, make: () => Float64Array): Float64Array {
    let ways = this.byGroup.get(group);
    if (ways === undefined) {
      ways = new Map();
      this.byGroup.set(group, ways);
    }
    let values = ways.get(way);
    if (values === undefined) {
      values = make();
      ways.set(way, values);
    }
    return values;
  }

  /** Σ kWh · price of each billing period. */
  ofPrices(charges: CountedCharges, period: Int32Array, periods: number): Float64Array {
    const sums = new Float64Array(periods);
    const { byCell } = charges;
    if (byCell === undefined) {
      const { starts, groups } = findRuns(period);
      for (let r = 0; r < groups.length; r++)
        if (groups[r]! >= 0)
          sums[groups[r]!] =
            sums[groups[r]!]! +
            sumOfProducts(this.flows.importKwh, charges.importPricePerKwh, starts[r]!, starts[r + 1]!) -
            sumOfProducts(this.flows.exportKwh, charges.exportPricePerKwh, starts[r]!, starts[r + 1]!);
      return sums;
    }
    const { cells, importPricePerKwh, exportPricePerKwh, series } = byCell;
    const importKwh = this.ofCells(cells, 'importKwh');
    const exportKwh = this.ofCells(cells, 'exportKwh');
    for (let cell = 0; cell < importKwh.length; cell++) {
      const p = cells.period[cell]!;
      sums[p] = sums[p]! + importKwh[cell]! * importPricePerKwh[cell]! - exportKwh[cell]! * exportPricePerKwh[cell]!;
    }
    for (const { prices, importWeight, exportWeight } of series) {
      if (importWeight !== 0) addScaled(sums, this.ofSeries(prices, cells, 'importMoney'), importWeight);
      if (exportWeight !== 0) addScaled(sums, this.ofSeries(prices, cells, 'exportMoney'), -exportWeight);
    }
    return sums;
  }

  /** Σ kWh · a series' price of each billing period. */
  ofSeries(prices: Float64Array, cells: Cells, of: 'importMoney' | 'exportMoney'): Float64Array {
    let known = this.bySeries.get(prices);
    if (known === undefined) {
      known = {};
      this.bySeries.set(prices, known);
    }
    let sums = known[of];
    if (sums === undefined) {
      const { periodStart } = cells;
      const kwh = of === 'importMoney' ? this.flows.importKwh : this.flows.exportKwh;
      sums = new Float64Array(periodStart.length - 1);
      for (let p = 0; p < sums.length; p++) sums[p] = sumOfProducts(kwh, prices, periodStart[p]!, periodStart[p + 1]!);
      known[of] = sums;
    }
    return sums;
  }
}

/**
 * Sums by group; NaN in all of them where an energy is negative or NaN. Four running sums a run are faster than one; their
 * order is fixed, so that results are the same to the last bit.
 */
function sumByRuns(starts: Int32Array, groups: Int32Array, count: number, values: Float64Array): Float64Array {
  const sums = new Float64Array(count);
  for (let r = 0; r < groups.length; r++) {
    const g = groups[r]!;
    if (g < 0) continue;
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    let i = starts[r]!;
    const to = starts[r + 1]!;
    for (; i + 3 < to; i += 4) {
      const first = values[i]!;
      const second = values[i + 1]!;
      const third = values[i + 2]!;
      const fourth = values[i + 3]!;
      if (!(first >= 0 && second >= 0 && third >= 0 && fourth >= 0)) return sums.fill(Number.NaN);
      a += first;
      b += second;
      c += third;
      d += fourth;
    }
    for (; i < to; i++) {
      const last = values[i]!;
      if (!(last >= 0)) return sums.fill(Number.NaN);
      a += last;
    }
    sums[g] = sums[g]! + (a + b + (c + d));
  }
  return sums;
}

/** Adds `values · weight` to sums of the same length. */
export function addScaled(sums: Float64Array, values: Float64Array, weight: number): void {
  if (weight === 0) return;
  for (let i = 0; i < sums.length; i++) sums[i] = sums[i]! + weight * values[i]!;
}
