import { record } from '../../input/door.ts';
import { ALL_SEASONS } from '../hours.ts';
import { eachPeriod, type Layout, periodGroups } from '../layout.ts';
import { decimalOf, moneyOf, multiply, ONE } from '../money.ts';
import { coveredDays, monthShare, type Share } from '../period-days.ts';
import { type LineIdentity, selects } from '../weights.ts';
import type { Multiplied } from './bound.ts';
import { countedMoney } from './counted.ts';
import { boundingPeak, type DemandTerm } from './demand.ts';
import { fixedAmounts } from './fixed.ts';
import type { FieldsOf, TermFromBill, TermKind } from './kind.ts';
import type { NettingTerm } from './netting.ts';
import type { CountedCharges, Term, Value } from './term.ts';
import type { TierTerm } from './tier.ts';

/** The counted charges of a group (a billing period) come to this at least: `share · max(0, amount − counted)`. */
export interface MinimumTerm extends Term {
  readonly kind: 'minimum';
  readonly amount: Float64Array;
  /** What a unit of top-up costs with the taxes on it, a group. */
  readonly share: Float64Array;
  readonly counted: CountedCharges;
}

/** What a minimum bill comes to, group by group. */
export interface MinimumValue extends Value {
  /** What the counted charges come to, money. */
  readonly counted: Float64Array;
}

export const minimumKind: TermKind<MinimumTerm, MinimumValue> = {
  value(term, context) {
    const counted = countedMoney(term, context);
    return { amount: counted.map((sum, g) => term.share[g]! * Math.max(0, term.amount[g]! - sum)), counted };
  },

  /**
   * The multiplier says how much of the top-up counts, 0 … 1, and takes so much off the prices of what is counted, those of a kW
   * of blocks and of netted energy among them. Of classes of power the lowest fee counts, as in their own bound. Where kWh carried on are
   * counted, or blocks over netted energy or by the day, none of it does.
   */
  bound(term, { terms, stepHours }) {
    const peaks = countedPeaks(term, terms, stepHours);
    const fees = countedFees(term, terms);
    const netting = countedNetting(term, terms);
    const blocks = [...countedBlocks(term, terms), ...netting];
    const others = term.counted.terms.filter(
      (own, t) =>
        !isClasses(own) && !isNothing(own) && ![...(peaks ?? []), ...blocks].some((taken) => taken.term === t),
    );
    const fixed = peaks === undefined ? undefined : fixedAmounts(others, term.groups);
    if (peaks === undefined || fixed === undefined || fees === undefined)
      return { constant: 0, exact: false, steep: false };
    const { groups, group, amount, share, counted } = term;
    const multiplier = new Float64Array(groups);
    const perKwh = nettedPrices(term, netting);
    const taken = (price: Float64Array) =>
      price.map((money, i) => (group[i]! < 0 ? 0 : -share[group[i]!]! * (money - (perKwh?.[i] ?? 0))));
    return {
      constant: 0,
      exact: true,
      steep: false,
      multiplied: {
        multiplier,
        low: new Float64Array(groups),
        high: new Float64Array(groups).fill(1),
        group,
        importPerUnit: taken(counted.importPricePerKwh),
        exportPerUnit: taken(counted.exportPricePerKwh),
        base: new Float64Array(groups),
        begun: amount.map((least, g) => share[g]! * (least - fixed[g]! - fees.lowest[g]!)),
        offset: 0,
        ...(fees.counted.length === 0 ? {} : { fees: fees.counted }),
        ...(peaks.length === 0 ? {} : { peaks }),
        ...(blocks.length === 0 ? {} : { blocks }),
        direction(value, g) {
          const lack = amount[g]! - value.counted[g]!;
          if (Math.abs(lack) < 1e-9) return 0;
          return lack > 0 ? (multiplier[g]! < 1 ? 1 : 0) : multiplier[g]! > 0 ? -1 : 0;
        },
      },
    };
  },

  /** While the bill is topped up, what a kWh costs of the charges that are counted is topped up less: what isn't counted is left. */
  addLeastSlopes({ group, share, counted }, { importPerKwh, exportPerKwh }, leastOf) {
    const least = leastOf(counted);
    for (let i = 0; i < group.length; i++) {
      const g = group[i]!;
      if (g < 0) continue;
      importPerKwh[i] = importPerKwh[i]! - Math.max(0, share[g]! * least.importPerKwh[i]!);
      exportPerKwh[i] = exportPerKwh[i]! - Math.max(0, share[g]! * least.exportPerKwh[i]!);
    }
  },

  rule: ({ each, counted }) => record<FieldsOf<MinimumTerm>>({ amount: each(), share: each(), counted }),
};

/** Prices of a kW that a minimum counts; undefined where it takes more off one than there is, so that a kW more would pay. */
function countedPeaks(
  { share, counted }: MinimumTerm,
  terms: readonly Term[],
  stepHours: number,
): NonNullable<Multiplied['peaks']> | undefined {
  const peaks: NonNullable<Multiplied['peaks']>[number][] = [];
  for (const [term, own] of counted.terms.entries()) {
    const peak = boundingPeak(own, stepHours);
    const whole = terms[term] === undefined ? undefined : boundingPeak(terms[term], stepHours);
    if (peak === undefined || whole === undefined) continue;
    const perKwh = peak.pricePerKwh.map((price, g) => (share[own.period[g]!] ?? 0) * price);
    // A share of the price in binary, as products of percentages are.
    if (perKwh.some((taken, g) => taken < 0 || taken > whole.pricePerKwh[g]! * (1 + 1e-12))) return undefined;
    peaks.push({ term, perKwh, group: own.period });
  }
  return peaks;
}

/** Groups of blocks that a mixture has room for. */
const MOST_BLOCKS = 60;

/** Blocks that a minimum counts by a share of their cost, the same in each block, and no more of it than there is. */
function countedBlocks({ share, counted }: MinimumTerm, terms: readonly Term[]): NonNullable<Multiplied['blocks']> {
  return counted.terms.flatMap((own, term) => {
    const whole = terms[term];
    if (!isBlocks(own) || isNothing(own) || whole === undefined || !isBlocks(whole)) return [];
    if (own.groups > MOST_BLOCKS || whole.groups !== own.groups || own.netting !== undefined) return [];
    const part = new Float64Array(own.groups);
    for (const [g, adders] of own.adderPerKwh.entries()) {
      const all = whole.adderPerKwh[g]!;
      const k = all.findIndex((adder) => adder !== 0);
      const ratio = k < 0 ? 0 : adders[k]! / all[k]!;
      if (all.length !== adders.length || adders.some((adder, j) => Math.abs(adder - ratio * all[j]!) > 1e-12))
        return [];
      part[g] = (share[own.period[g]!] ?? 0) * ratio;
    }
    return part.every((each) => each >= 0 && each <= 1 + 1e-12) ? [{ term, share: part, group: own.period }] : [];
  });
}

/** Netted energy that a minimum counts by one share of what is due and of what settles; nothing of it is carried on. */
function countedNetting({ share, counted }: MinimumTerm, terms: readonly Term[]): NonNullable<Multiplied['blocks']> {
  return counted.terms.flatMap((own, term) => {
    const whole = terms[term];
    if (whole === undefined || !isNetting(own) || !isNetting(whole)) return [];
    if (own.groups > MOST_BLOCKS || whole.next.some((into) => into >= 0)) return [];
    const part = own.pricePerKwh.map((price, g) => {
      const all = whole.pricePerKwh[g]!;
      const ratio = all > 0 ? price / all : 0;
      const isEven = Math.abs(own.surplusPerKwh[g]! - ratio * whole.surplusPerKwh[g]!) <= 1e-12 && all >= 0;
      return isEven ? (share[own.period[g]!] ?? 0) * ratio : Number.NaN;
    });
    return part.every((each) => each >= 0 && each <= 1 + 1e-12) ? [{ term, share: part, group: own.period }] : [];
  });
}

/** What of the counted prices is of netted energy: it is counted by what is due. */
function nettedPrices(
  { group, counted }: MinimumTerm,
  netting: NonNullable<Multiplied['blocks']>,
): Float64Array | undefined {
  if (netting.length === 0) return undefined;
  const perKwh = new Float64Array(group.length);
  for (const { term } of netting) {
    const own = counted.terms[term] as NettingTerm;
    for (let i = 0; i < perKwh.length; i++) if (own.group[i]! >= 0) perKwh[i] = own.pricePerKwh[own.group[i]!]!;
  }
  return perKwh;
}

function isNetting(term: Term): term is NettingTerm {
  return term.kind === ('netting' satisfies NettingTerm['kind']);
}

function isBlocks(term: Term): term is TierTerm {
  return term.kind === ('tier' satisfies TierTerm['kind']);
}

function isClasses(term: Term): term is DemandTerm {
  return term.kind === ('demand' satisfies DemandTerm['kind']) && (term as DemandTerm).steps !== undefined;
}

/** Blocks that are not counted: dearer by nothing. */
function isNothing(term: Term): boolean {
  return isBlocks(term) && term.adderPerKwh.every((adders) => adders.every((adder) => adder === 0));
}

/** Fees by class that a minimum counts, and the lowest of each period; undefined where it takes more off one than there is. */
function countedFees(
  { share, counted, groups }: MinimumTerm,
  terms: readonly Term[],
): { readonly counted: NonNullable<Multiplied['fees']>; readonly lowest: Float64Array } | undefined {
  const lowest = new Float64Array(groups);
  const fees: NonNullable<Multiplied['fees']>[number][] = [];
  for (const [t, own] of counted.terms.entries()) {
    const whole = terms[t];
    if (!isClasses(own)) continue;
    if (whole === undefined || !isClasses(whole)) return undefined;
    const least = Math.min(...own.steps!.amount);
    const part = own.steps!.share.map((each, g) => (share[own.period[g]!] ?? 0) * each);
    if (part.some((taken, g) => taken > whole.steps!.share[g]! * (1 + 1e-12))) return undefined;
    for (const [g, p] of own.period.entries())
      if (p >= 0 && p < groups) lowest[p] = lowest[p]! + own.steps!.share[g]! * least;
    fees.push({ term: t, share: part, group: own.period });
  }
  return { counted: fees, lowest };
}

export const minimumClosing: TermFromBill<MinimumTerm, MinimumValue> = {
  close({ layout, weighWhole, weighUnderMinimum, count, staysConvex }) {
    const { tariff, spans, days } = layout;
    const first = tariff.versions.find((rates) => rates.minimumBill !== undefined)?.minimumBill;
    if (first === undefined) return undefined;
    const counted = count(weighUnderMinimum);
    const amount = new Float64Array(spans.length);
    const share = new Float64Array(spans.length);
    for (let p = 0; p < spans.length; p++)
      for (const version of days.versions[p]!) {
        const rule = tariff.versions[version]!.minimumBill;
        if (rule === undefined) continue;
        const part = shareOf(layout, p, version);
        amount[p] = amount[p]! + (rule.amount * part.times) / part.per;
        share[p] = weighWhole(lineOf(rule.name), version);
      }
    const deduction = { counted, share };
    return {
      term: {
        kind: 'minimum',
        name: first.name,
        group: periodGroups(layout),
        groups: spans.length,
        period: eachPeriod(layout),
        amount,
        share,
        counted,
        convex: staysConvex([deduction]),
      },
      deduction,
    };
  },

  after: 'adjustments',

  closeLines: (_, { layout, maker }) => {
    const { days, tariff } = layout;
    return (period, lines) => {
      let least = 0;
      let counted = 0;
      let last = -1;
      for (const version of days.versions[period]!) {
        const rule = tariff.versions[version]!.minimumBill;
        if (rule === undefined) continue;
        last = version;
        const { times, per } = shareOf(layout, period, version);
        least += multiply(ONE, decimalOf(rule.amount), times, per, maker.decimals, maker.rounding.mode);
        for (const entry of lines)
          if (entry.version === version && selects(rule.on, entry.line)) counted += entry.units;
      }
      if (last < 0 || counted >= least) return;
      const line = lineOf(tariff.versions[last]!.minimumBill!.name);
      const units = least - counted;
      lines.push({
        line,
        version: last,
        part: 'top-up',
        text: `${line.name}, top-up`,
        quantity: 1,
        unit: 'bill',
        rate: moneyOf(units, maker.decimals),
        units,
      });
    };
  },

  addSlopes(term, { counted }, { weight, addCounted }) {
    const ofPeriod = Float64Array.from(counted, (money, g) =>
      money < term.amount[g]! ? -weight(g) * term.share[g]! : 0,
    );
    addCounted(term.counted, { ofPeriod, period: term.group });
  },

  isSteady: () => false,
  slopeSteps: () => undefined,
};

function lineOf(name: string): LineIdentity {
  return { name, kind: 'minimum', supplier: undefined };
}

/** The share of a version's minimum bill that falls in a period. */
function shareOf({ tariff, days }: Layout, period: number, version: number): Share {
  const rule = tariff.versions[version]!.minimumBill!;
  const count = coveredDays(days, period, version, ALL_SEASONS);
  if (rule.per === 'day') return { times: count, per: 1 };
  if (rule.per === 'bill') return { times: days.last[period]!.version === version ? 1 : 0, per: 1 };
  return monthShare(days, period, count);
}
