import { sum } from '../../axis/sum.ts';
import { both, integers, number, optional, record, report, series } from '../../input/door.ts';
import { type Fact, fact } from '../../words/fact.ts';
import { quoteName } from '../../words/quote.ts';
import { TARIFF_WORDS } from '../../words/tariff.ts';
import { accountField } from '../account.ts';
import type { FlowSums } from '../flow-sums.ts';
import { eachPeriod, type Layout, spread } from '../layout.ts';
import { roundQuantity } from '../money.ts';
import { coveredDays, monthShare, type Share } from '../period-days.ts';
import { findRuns, type Runs } from '../runs.ts';
import type { DemandCharge } from '../tariff.ts';
import { whereIn } from '../warnings.ts';
import type { LineIdentity } from '../weights.ts';
import { blockBounds } from './block-rule.ts';
import type { PeakPrice } from './bound.ts';
import { measuredKw, peakBlocks } from './demand-peaks.ts';
import type { FieldsOf, TermFromCharges, TermKind, Weigh } from './kind.ts';
import type { Term, Value } from './term.ts';

/**
 * A price on a group's highest mean import power.
 *
 * Intervals are averaged in blocks of `averagingSteps`: block b holds the intervals `i` with
 * `floor((i − phaseSteps) / averagingSteps) = b`, aligned to the local clock. A block counts for a group with the
 * energy of those of its intervals that are in the group, over the block's full time. The group's measured kW is the
 * highest block, or the mean of the highest block of its `highestDays` highest local days; its billed kW is
 * `max(scale · measured, minimumKw, ratchet)`, and costs `pricePerKw` each, or the fee of the step that it falls in.
 */
export interface DemandTerm extends Term {
  readonly kind: 'demand';
  /** Money a billed kW, a group. */
  readonly pricePerKw: Float64Array;
  /** Steps of the axis that are averaged. */
  readonly averagingSteps: number;
  /** First interval of the first whole block, 0 … averagingSteps − 1. */
  readonly phaseSteps: number;
  /** 1: the maximum. n: the mean of the n highest daily maxima (of all days where there are fewer). */
  readonly highestDays: number;
  /** Billed kW a measured kW: 1, or 1 ÷ power factor where kVA are billed. */
  readonly scale: number;
  /** kW billed at least, a group. */
  readonly minimumKw: Float64Array;
  /** Billed kW is at least `share` of the highest measured kW (scaled) of `groups[g]`, and of `historyKw[g]` from before the axis. */
  readonly ratchet?: {
    readonly share: number;
    readonly groups: readonly Int32Array[];
    readonly historyKw: Float64Array;
  };
  /** Capacity steps in place of `pricePerKw`: the fee of the first step with kW ≤ `upToKw`, times the group's `share`. */
  readonly steps?: {
    readonly upToKw: Float64Array;
    readonly amount: Float64Array;
    readonly share: Float64Array;
  };
}

/** What a demand charge comes to, group by group. */
export interface DemandValue extends Value {
  /** kW (or kVA) that the group is billed for. */
  readonly billedKw: Float64Array;
  /** kW (or kVA) that the group's own energy comes to. */
  readonly measuredKw: Float64Array;
}

export interface DemandPlan {
  readonly line: LineIdentity;
  readonly steps: DemandCharge['steps'];
  readonly highestDays: number;
  readonly group: Int32Array;
  readonly runs: Runs;
  /** For each period the versions that bill it, with their price and the share of it. */
  readonly parts: readonly (readonly {
    readonly version: number;
    readonly price: number;
    readonly share: Share;
    readonly unit: string;
  }[])[];
  readonly minimumKw: Float64Array;
  readonly ratchet: DemandTerm['ratchet'];
  readonly averagingSteps: number;
  readonly phaseSteps: number;
  readonly scale: number;
}

export const demandKind: TermKind<DemandTerm, DemandValue> = {
  value(term, { sums }) {
    const measured = scaledKw(term, sums);
    const billed = new Float64Array(term.groups);
    const amount = new Float64Array(term.groups);
    for (let g = 0; g < term.groups; g++) {
      let kw = Math.max(measured[g]!, term.minimumKw[g]!);
      if (term.ratchet !== undefined) {
        let highest = term.ratchet.historyKw[g]!;
        for (const earlier of term.ratchet.groups[g]!) highest = Math.max(highest, measured[earlier]!);
        kw = Math.max(kw, term.ratchet.share * highest);
      }
      billed[g] = kw;
      if (term.steps === undefined) amount[g] = term.pricePerKw[g]! * kw;
      else amount[g] = term.steps.share[g]! * term.steps.amount[stepOf(term.steps.upToKw, kw)]!;
    }
    return { amount, billedKw: billed, measuredKw: measured };
  },

  bound(term, { stepHours }) {
    // Classes of power: the lowest fee at least.
    if (term.steps !== undefined)
      return { constant: sum(term.steps.share) * Math.min(...term.steps.amount), exact: false, steep: false };
    const full = peakPrice(stepHours, term, 1);
    const loose = term.highestDays > 1 || term.ratchet !== undefined;
    return {
      constant: 0,
      peak: { full, bound: term.highestDays > 1 ? peakPrice(stepHours, term, term.highestDays) : full },
      exact: !loose,
      steep: loose,
    };
  },

  rule: ({ groups, each, perGroup }) =>
    both(
      record<FieldsOf<DemandTerm>>({
        pricePerKw: each(),
        averagingSteps: number({ whole: true, least: 1, most: 1440 }),
        phaseSteps: number({ whole: true, least: 0, most: 1439 }),
        highestDays: number({ whole: true, least: 1, most: 366 }),
        scale: number({ above: 0 }),
        minimumKw: each({ least: 0 }),
        ratchet: optional(
          record({
            share: number({ least: 0 }),
            groups: perGroup(integers({ least: 0, most: groups - 1, length: null })),
            historyKw: each({ least: 0 }),
          }),
        ),
        steps: optional(record({ upToKw: blockBounds, amount: series({ length: null }), share: each({ least: 0 }) })),
      }),
      (value, path, looking) => {
        const { phaseSteps, averagingSteps, steps } = value as DemandTerm;
        if (phaseSteps >= averagingSteps)
          report(looking, [...path, 'phaseSteps'], 'out-of-range', phaseSteps, `less than ${averagingSteps}`);
        if (steps !== undefined && steps.upToKw.length !== steps.amount.length)
          report(looking, [...path, 'steps'], 'length-mismatch', steps.amount.length, 'an amount for each step');
      },
    ),
};

export const demandCharge: TermFromCharges<DemandTerm, DemandValue, DemandPlan> = {
  plan: (layout, warnings) => sameCharges(layout).map((same) => planOf(layout, same, warnings)),

  term(plan, { layout, weigh }) {
    const { steps, averagingSteps, phaseSteps, highestDays, scale, minimumKw, ratchet } = plan;
    const { pricePerKw, share } = weighted(plan, weigh);
    return {
      kind: 'demand',
      name: plan.line.name,
      group: plan.group,
      runs: plan.runs,
      groups: plan.parts.length,
      period: eachPeriod(layout),
      pricePerKw: steps === undefined ? pricePerKw : new Float64Array(pricePerKw.length),
      averagingSteps,
      phaseSteps,
      highestDays,
      scale,
      minimumKw,
      ...(ratchet === undefined ? {} : { ratchet }),
      ...(steps === undefined
        ? {}
        : {
            steps: {
              upToKw: Float64Array.from(steps, (s) => s.upToKw),
              amount: Float64Array.from(steps, (s) => s.amount),
              share,
            },
          }),
      convex: steps === undefined && pricePerKw.every((price) => price >= 0),
    };
  },

  lines({ line, steps, parts }, { billedKw }, { maker, periods }) {
    for (const [p, list] of parts.entries())
      for (const { version, price, share, unit } of list) {
        if (steps === undefined) {
          periods[p]!.push(maker.metered(line, '', version, p, billedKw[p]!, unit, price, share));
          continue;
        }
        const kw = roundQuantity(billedKw[p]!, 9);
        const step = steps.find((s) => kw <= s.upToKw)!;
        const label = step.upToKw === Number.POSITIVE_INFINITY ? 'highest class' : `up to ${step.upToKw} kW`;
        periods[p]!.push(maker.shared(line, label, version, p, share, 'month', step.amount));
      }
  },

  /** A capacity step's jump has no slope. */
  addSlopes(term, { measuredKw: measured, billedKw: billed }, { axis, flows, importPerKwh, weight }) {
    if (term.steps !== undefined) return;
    // Money a measured kW, a group: its own bill, and later ones that a ratchet ties to it.
    const slope = new Float64Array(term.groups);
    for (let g = 0; g < term.groups; g++) {
      const price = weight(g) * term.pricePerKw[g]!;
      if (measured[g]! >= billed[g]! - 1e-12) {
        slope[g] = slope[g]! + price;
        continue;
      }
      if (term.ratchet === undefined) continue;
      const source = term.ratchet.groups[g]!.find((q) => term.ratchet!.share * measured[q]! >= billed[g]! - 1e-12);
      if (source !== undefined) slope[source] = slope[source]! + price * term.ratchet.share;
    }
    const hours = term.averagingSteps * axis.stepHours;
    for (const { group, members, share } of peakBlocks(axis, term, flows.importKwh))
      for (const i of members) importPerKwh[i] = importPerKwh[i]! + (slope[group]! * term.scale * share) / hours;
  },

  isSteady: ({ pricePerKw, steps }) =>
    pricePerKw.every((price) => price === 0) && (steps?.share.every((s) => s === 0) ?? true),

  slopeSteps: ({ pricePerKw }) => Array.from(pricePerKw, (slope, group) => ({ slope, group })),
};

/** Measured kW in the unit that is billed. The whole bill and the parts that are counted share one measurement. */
function scaledKw(term: DemandTerm, sums: FlowSums): Float64Array {
  const { group, averagingSteps, phaseSteps, highestDays, scale } = term;
  return sums.once(group, `${averagingSteps} ${phaseSteps} ${highestDays} ${scale}`, () =>
    measuredKw(sums.clock, term, sums.flows.importKwh).map((kw) => kw * scale),
  );
}

/** The first capacity step that holds so many kW. */
export function stepOf(upToKw: Float64Array, kw: number): number {
  let step = 0;
  // 1e-9 kW: a peak that was added up in binary may come out a little above its class.
  while (step < upToKw.length - 1 && kw > upToKw[step]! + 1e-9) step++;
  return step;
}

/** A demand term as the price on the highest power that bounds it; undefined for classes of power, and for another kind of term. */
export function boundingPeak(term: Term, stepHours: number): PeakPrice | undefined {
  if (term.kind !== ('demand' satisfies DemandTerm['kind'])) return undefined;
  const own = term as DemandTerm;
  return own.steps === undefined ? peakPrice(stepHours, own, own.highestDays) : undefined;
}

/** A demand term as a price on the highest power: the mean of so many days is at least the highest day's share. */
function peakPrice(stepHours: number, term: DemandTerm, days: number): PeakPrice {
  const leastKwh = new Float64Array(term.groups);
  const pricePerKwh = new Float64Array(term.groups);
  for (let g = 0; g < term.groups; g++) {
    let least = term.minimumKw[g]!;
    if (term.ratchet !== undefined) least = Math.max(least, term.ratchet.share * term.ratchet.historyKw[g]!);
    pricePerKwh[g] = (term.pricePerKw[g]! * term.scale) / days / stepHours;
    // The price is divided by the days: the minimum is multiplied by them, so that it costs the same.
    leastKwh[g] = days === 1 ? (least / term.scale) * stepHours : (least / term.scale) * stepHours * days;
  }
  return { group: term.group, pricePerKwh, leastKwh, averagingSteps: term.averagingSteps, phaseSteps: term.phaseSteps };
}

/** Prices of each billing period, and its share of a month's fee. */
function weighted({ line, parts }: DemandPlan, weigh: Weigh): { pricePerKw: Float64Array; share: Float64Array } {
  const pricePerKw = new Float64Array(parts.length);
  const share = new Float64Array(parts.length);
  for (const [p, list] of parts.entries())
    for (const part of list) {
      const time = (weigh(line, part.version) * part.share.times) / part.share.per;
      pricePerKw[p] = pricePerKw[p]! + time * part.price;
      share[p] = share[p]! + time;
    }
  return { pricePerKw, share };
}

/** A charge with its form in each version that has it, and where its hours stand in the version's labels. */
interface SameCharge {
  /** As the last version has it. */
  charge: DemandCharge;
  readonly versions: Map<number, { readonly charge: DemandCharge; readonly set: number }>;
}

/** Charges that several versions have alike, price and hours apart: they are one charge, with one peak a billing period. */
function sameCharges({ tariff, setPlans }: Layout): SameCharge[] {
  const merged = new Map<string, SameCharge>();
  for (const [v, rates] of tariff.versions.entries())
    for (const [d, charge] of rates.demand.entries()) {
      const { name, supplier, averagingMinutes, highestDays, steps, unit } = charge;
      const key = JSON.stringify([name, supplier, averagingMinutes, highestDays, steps, unit]);
      const entry = merged.get(key) ?? { charge, versions: new Map() };
      entry.charge = charge;
      entry.versions.set(v, { charge, set: setPlans[v]!.demand[d]! });
      merged.set(key, entry);
    }
  return [...merged.values()];
}

function planOf(layout: Layout, { charge, versions }: SameCharge, warnings: Fact[]): DemandPlan {
  const { schedule, cells, axis, account } = layout;
  const { name, supplier, unit, averagingMinutes } = charge;
  const memberOf = schedule.slots.map((slot) => {
    const own = versions.get(slot.version);
    if (own === undefined || slot.labels[own.set] !== 1) return false;
    return own.charge.inWindows === undefined || own.charge.inWindows[slot.labels[0]!]!;
  });
  const groupOfCell = Int32Array.from(cells.period, (p, cell) => (memberOf[cells.slot[cell]!] ? p : -1));
  const parts = partsOf(layout, versions);
  const averagingSteps = Math.max(1, Math.round(averagingMinutes / axis.stepMinutes));
  const group = spread(layout, groupOfCell);
  const plan: DemandPlan = {
    line: { name, kind: 'demand', supplier },
    steps: charge.steps,
    highestDays: charge.highestDays,
    group,
    runs: findRuns(group, charge.highestDays === 1 ? undefined : axis.calendar.day),
    parts,
    minimumKw: Float64Array.from(parts, (list) => {
      const own = versions.get(list.at(-1)?.version ?? -1)?.charge;
      if (own === undefined) return 0;
      const contract =
        own.contractShare === 0 ? 0 : own.contractShare * accountField(account, 'contractKw', quoteName(own.name));
      return Math.max(own.minimumKw, contract);
    }),
    ratchet: planRatchet(layout, charge),
    averagingSteps,
    phaseSteps: phaseOf(layout, averagingSteps),
    scale: unit === 'kVA' ? 1 / (account.powerFactor ?? 1) : 1,
  };
  if (averagingSteps * axis.stepMinutes !== averagingMinutes)
    warnings.push(
      fact(
        TARIFF_WORDS,
        'demand-averaging',
        'warning',
        {
          charge: name,
          averagingMinutes,
          stepMinutes: axis.stepMinutes,
          averagedMinutes: averagingSteps * axis.stepMinutes,
        },
        whereIn(layout.tariff),
      ),
    );
  return plan;
}

/** What each version bills of each period, with the version's price and the days that it holds. */
function partsOf({ spans, days }: Layout, versions: SameCharge['versions']): DemandPlan['parts'] {
  return spans.map((_, p) =>
    days.versions[p]!.flatMap((version) => {
      const own = versions.get(version)?.charge;
      if (own === undefined) return [];
      const count = coveredDays(days, p, version, own.hours.seasonMask, own.hours.monthMask);
      if (count === 0) return [];
      const share = own.per === 'day' ? { times: count, per: 1 } : monthShare(days, p, count);
      return [{ version, price: own.pricePerKw, share, unit: own.per === 'day' ? `${own.unit}-day` : own.unit }];
    }),
  );
}

/** First interval of the first whole block of so many steps, blocks being aligned to the local clock. */
function phaseOf({ axis }: Layout, averagingSteps: number): number {
  const { minuteOfDay } = axis.calendar;
  const length = averagingSteps * axis.stepMinutes;
  for (let i = 0; i < Math.min(averagingSteps, axis.intervals); i++)
    if (minuteOfDay[i]! % length < axis.stepMinutes) return i;
  return 0;
}

function planRatchet({ spans, days, account }: Layout, { ratchet }: DemandCharge): DemandTerm['ratchet'] {
  if (ratchet === undefined) return undefined;
  const earlier = account.earlierPeaksKw ?? [];
  return {
    share: ratchet.share,
    groups: spans.map((_, p) => {
      const list: number[] = [];
      for (let q = Math.max(0, p - ratchet.months); q < p; q++)
        if ((ratchet.seasonMask >> days.last[q]!.season) & 1) list.push(q);
      return Int32Array.from(list);
    }),
    historyKw: Float64Array.from(spans, (_, p) => Math.max(0, ...earlier.slice(0, Math.max(0, ratchet.months - p)))),
  };
}
