import type { Flows } from '../../plant/index.ts';
import type { CompiledTariff, ServiceFlows } from '../../tariff/index.ts';
import { valuesOf } from '../../tariff/inside.ts';
import { meteredApart } from '../billed.ts';

/** What something comes to in all weeks, in odd ones, in even ones. */
export type ByWeeks = [all: number, odd: number, even: number];

/** Energy at its prices over `[from, to)`. */
export function energyByWeeks(
  { importPricePerKwh, exportPricePerKwh }: CompiledTariff,
  { importKwh, exportKwh }: Pick<Flows, 'importKwh' | 'exportKwh'>,
  parity: Uint8Array,
  from: number,
  to: number,
): ByWeeks {
  const costs: ByWeeks = [0, 0, 0];
  // Week by week, so that the inner loop only adds.
  for (let start = from; start < to; ) {
    const week = parity[start]!;
    let bought = 0;
    let sold = 0;
    let i = start;
    for (; i < to && parity[i] === week; i++) {
      bought += importKwh[i]! * importPricePerKwh[i]!;
      sold += exportKwh[i]! * exportPricePerKwh[i]!;
    }
    costs[week === 1 ? 1 : 2] += bought - sold;
    start = i;
  }
  costs[0] = costs[1] + costs[2];
  return costs;
}

/**
 * What a run costs, by weeks: energy at its prices, and what a bill has beside it (demand charges, blocks, netting, a minimum).
 * That part knows no weeks. For the odd ones it is half of what a year would have whose even weeks are like the odd ones next
 * to them, and the other way round.
 */
export class Judge {
  /** Whether the tariff has more than prices and fixed charges. */
  readonly isBent: boolean;
  /** For odd and even weeks: the interval that stands in for each. */
  private readonly likes: readonly Int32Array[];
  private readonly alike: { readonly importKwh: Float64Array; readonly exportKwh: Float64Array };
  private readonly tariff: CompiledTariff;
  private readonly parity: Uint8Array;
  private readonly solarKwh: Float64Array;
  /** Where load and solar have meters of their own: what passes them. */
  private readonly gross: { readonly importKwh: Float64Array; readonly exportKwh: Float64Array } | undefined;

  constructor(tariff: CompiledTariff, parity: Uint8Array, solarKwh: Float64Array) {
    this.tariff = tariff;
    this.parity = parity;
    this.solarKwh = solarKwh;
    const { length } = parity;
    this.gross =
      tariff.metering === 'gross'
        ? { importKwh: new Float64Array(length), exportKwh: new Float64Array(length) }
        : undefined;
    this.isBent = tariff.terms.some((term) => term.kind !== 'fixed');
    const n = this.isBent ? parity.length : 0;
    this.alike = { importKwh: new Float64Array(n), exportKwh: new Float64Array(n) };
    const week = Math.round(168 / tariff.axis.stepHours);
    this.likes = [1, 0].map((wanted) =>
      Int32Array.from({ length: n }, (_, i) => {
        if (parity[i] === wanted) return i;
        if (parity[i + week] === wanted) return i + week;
        return parity[i - week] === wanted ? i - week : i;
      }),
    );
  }

  /** What the tariff bills of a run that held in the spans alone; good until the next call. */
  billed(flows: Flows, spans: readonly (readonly [from: number, to: number])[]): ServiceFlows {
    const { gross } = this;
    if (gross === undefined) return flows;
    gross.importKwh.fill(0);
    gross.exportKwh.fill(0);
    for (const [from, to] of spans) meteredApart(this.solarKwh, flows, from, to, gross);
    return gross;
  }

  /** Energy at its prices over the spans. */
  energy(flows: ServiceFlows, spans: readonly (readonly [from: number, to: number])[]): ByWeeks {
    const costs: ByWeeks = [0, 0, 0];
    for (const [from, to] of spans) {
      const part = energyByWeeks(this.tariff, flows, this.parity, from, to);
      for (let k = 0; k < 3; k++) costs[k]! += part[k]!;
    }
    return costs;
  }

  /** The bill of all weeks, of flows that are 0 outside of the spans; of odd and even weeks energy alone, see {@link addTerms}. */
  costs(flows: ServiceFlows, spans: readonly (readonly [from: number, to: number])[]): ByWeeks {
    const costs = this.energy(flows, spans);
    if (this.isBent) costs[0] += this.termsOf(flows);
    return costs;
  }

  /** Adds what the bill has beside energy in odd and even weeks: {@link costs} gives it for all weeks alone. */
  addTerms(costs: ByWeeks, flows: ServiceFlows): void {
    if (!this.isBent) return;
    for (const [w, like] of this.likes.entries()) {
      for (const name of ['importKwh', 'exportKwh'] as const) {
        const from = flows[name];
        const to = this.alike[name];
        for (let i = 0; i < to.length; i++) to[i] = from[like[i]!]!;
      }
      costs[w + 1]! += this.termsOf(this.alike) / 2;
    }
  }

  private termsOf(flows: ServiceFlows): number {
    let total = 0;
    for (const { amount } of valuesOf(this.tariff.axis, this.tariff.terms, flows))
      for (let g = 0; g < amount.length; g++) total += amount[g]!;
    return total;
  }
}
