import type { Flows } from '../../plant/index.ts';
import type { CompiledTariff, ServiceFlows } from '../../tariff/index.ts';
import { valuesOf } from '../../tariff/inside.ts';
import { meteredApart } from '../billed.ts';
import { type Apart, halvesOf } from './halves.ts';
import type { SheetSchedule } from './sheet.ts';

/** What something comes to in all of the data, in their odd half, in their even half. */
export type ByHalves = [all: number, odd: number, even: number];

/** A window is entered where it saves at least this share of the cost without one: less is chance. */
const WORTH_ENTERING = 0.0005;

/** What entering a schedule's windows must earn, as a share of the cost without them. */
export function entering({ charge, discharge }: SheetSchedule): number {
  return WORTH_ENTERING * ((charge === null ? 0 : 1) + (discharge === null ? 0 : 1));
}

/** Stretches of the axis, `[from, to)`. */
export type Spans = readonly (readonly [from: number, to: number])[];

/** Energy at its prices over `[from, to)`. */
export function energyByHalves(
  { importPricePerKwh, exportPricePerKwh }: CompiledTariff,
  { importKwh, exportKwh }: ServiceFlows,
  parity: Uint8Array,
  from: number,
  to: number,
): ByHalves {
  const costs: ByHalves = [0, 0, 0];
  // Stretch by stretch of one half, so that the inner loop only adds.
  for (let start = from; start < to; ) {
    const half = parity[start]!;
    let bought = 0;
    let sold = 0;
    let i = start;
    for (; i < to && parity[i] === half; i++) {
      bought += importKwh[i]! * importPricePerKwh[i]!;
      sold += exportKwh[i]! * exportPricePerKwh[i]!;
    }
    costs[half === 1 ? 1 : 2] += bought - sold;
    start = i;
  }
  costs[0] = costs[1] + costs[2];
  return costs;
}

/**
 * What a run costs, by halves of the data: energy at its prices, and what a bill has beside it (demand charges, blocks, netting, a
 * minimum). Of whole billing periods each has its own. Weeks have none: for the odd ones it is half of what a year would have
 * whose even weeks are like the odd ones next to them, and the other way round.
 */
export class Judge {
  /** Whether the tariff has more than prices and fixed charges. */
  readonly isBent: boolean;
  /** Whether the halves' part of what a bill has beside energy is left to {@link addTerms}, which takes long. */
  readonly isSlow: boolean;
  /** 1 in the odd half, 0 in the even one. */
  readonly parity: Uint8Array;
  /** For odd and even weeks: the interval that stands in for each. */
  private readonly likes: readonly Int32Array[];
  private readonly alike: { readonly importKwh: Float64Array; readonly exportKwh: Float64Array };
  private readonly tariff: CompiledTariff;
  private readonly solarKwh: Float64Array;
  /** Where load and solar have meters of their own: what passes them. */
  private readonly gross: { readonly importKwh: Float64Array; readonly exportKwh: Float64Array } | undefined;

  constructor(tariff: CompiledTariff, solarKwh: Float64Array, apart: Apart) {
    this.tariff = tariff;
    this.solarKwh = solarKwh;
    this.parity = halvesOf(tariff, apart);
    this.isBent = tariff.terms.some((term) => term.kind !== 'fixed');
    this.isSlow = this.isBent && apart === 'weeks';
    const { parity } = this;
    const empty = (n: number) => ({ importKwh: new Float64Array(n), exportKwh: new Float64Array(n) });
    this.gross = tariff.metering === 'gross' ? empty(parity.length) : undefined;
    const n = this.isSlow ? parity.length : 0;
    this.alike = empty(n);
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
  billed(flows: Flows, spans: Spans): ServiceFlows {
    const { gross } = this;
    if (gross === undefined) return flows;
    gross.importKwh.fill(0);
    gross.exportKwh.fill(0);
    for (const [from, to] of spans) meteredApart(this.solarKwh, flows, from, to, gross);
    return gross;
  }

  /** Energy at its prices over the spans. */
  energy(billed: ServiceFlows, spans: Spans): ByHalves {
    const costs: ByHalves = [0, 0, 0];
    for (const [from, to] of spans) {
      const part = energyByHalves(this.tariff, billed, this.parity, from, to);
      for (let k = 0; k < 3; k++) costs[k]! += part[k]!;
    }
    return costs;
  }

  /** The bill, without its fixed charges, of flows that are 0 outside of the spans; where the judge is slow, of the halves energy alone. */
  costs(billed: ServiceFlows, spans: Spans): ByHalves {
    const costs = this.energy(billed, spans);
    if (!this.isBent) return costs;
    const terms = this.termsOf(billed);
    costs[0] += terms[0];
    if (!this.isSlow) for (const k of [1, 2]) costs[k]! += terms[k]!;
    return costs;
  }

  /** Adds what the bill has beside energy in odd and even weeks: {@link costs} gives it for all of them alone. */
  addTerms(costs: ByHalves, billed: ServiceFlows): void {
    if (!this.isSlow) return;
    for (const [w, like] of this.likes.entries()) {
      for (const name of ['importKwh', 'exportKwh'] as const) {
        const from = billed[name];
        const to = this.alike[name];
        for (let i = 0; i < to.length; i++) to[i] = from[like[i]!]!;
      }
      costs[w + 1]! += this.termsOf(this.alike)[0] / 2;
    }
  }

  /** How much of the data lies in a half. */
  shareOf(half: 0 | 1 | 2): number {
    if (half === 0) return 1;
    const odd = this.parity.reduce((count, one) => count + one, 0) / this.parity.length;
    return half === 1 ? odd : 1 - odd;
  }

  /** What the bill has beside energy and fixed charges, which change no choice; by halves as its billing periods fall. */
  termsOf(billed: ServiceFlows): ByHalves {
    const { axis, terms } = this.tariff;
    const costs: ByHalves = [0, 0, 0];
    for (const [t, { amount }] of valuesOf(axis, terms, billed).entries()) {
      const { kind, period } = terms[t]!;
      if (kind === 'fixed') continue;
      for (let g = 0; g < amount.length; g++) costs[period[g]! % 2 === 1 ? 1 : 2] += amount[g]!;
    }
    costs[0] = costs[1] + costs[2];
    return costs;
  }
}
