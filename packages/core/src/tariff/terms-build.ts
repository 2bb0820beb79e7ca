import { type Axis, dateOfCivilDay, type PeriodSpan } from '../axis/index.ts';
import { InputError } from '../input/index.ts';
import { type Account, accountField } from './account.ts';
import type { BlockSet, RatedCharge, SetPlan } from './charges.ts';
import { type Deduction, staysConvex } from './convexity.ts';
import { addScaled } from './flow-sums.ts';
import type { Schedule } from './schedule.ts';
import { coveredDays, monthShare, type PeriodDays, type Share, sumOverDays } from './shares.ts';
import type { DemandCharge, FixedCharge, Tariff } from './tariff.ts';
import type {
  BillTerm,
  CarryTerm,
  Cells,
  CountedCharges,
  DemandTerm,
  FixedTerm,
  MinimumTerm,
  NettingTerm,
  RebateTerm,
  TierTerm,
} from './terms.ts';
import { type LineIdentity, lineWeights } from './weights.ts';

/** A tariff laid out on an axis, before prices and terms are added up. */
export interface Layout {
  readonly tariff: Tariff;
  readonly axis: Axis;
  readonly account: Account;
  readonly schedule: Schedule;
  readonly setPlans: readonly SetPlan[];
  readonly spans: readonly PeriodSpan[];
  readonly days: PeriodDays;
  readonly charges: readonly RatedCharge[];
  readonly cells: Cells;
}

/** What a bill is made from, beside the layout. */
export interface BillPlan extends Layout {
  readonly netting: NettingPlan | undefined;
  readonly tiers: readonly TierPlan[];
  readonly demands: readonly DemandPlan[];
  readonly rebates: readonly RebatePlan[];
  readonly fixed: readonly FixedPlan[];
  readonly minimum: MinimumTerm | undefined;
  readonly carry: CarryTerm | undefined;
  /** Terms by plan, for the quantities that they bill. */
  readonly terms: readonly BillTerm[];
}

export interface NettingPlan {
  readonly group: Int32Array;
  readonly groupOfCell: Int32Array;
  readonly groups: readonly {
    readonly period: number;
    readonly version: number;
    readonly slot: number;
    readonly label: string;
  }[];
  readonly next: Int32Array;
}

export interface TierPlan {
  /** Index of the charge in the layout's. */
  readonly charge: number;
  readonly flow: TierTerm['flow'];
  readonly group: Int32Array;
  /** Undefined where blocks start anew each day. */
  readonly groupOfCell: Int32Array | undefined;
  readonly groups: readonly { readonly period: number; readonly label: number }[];
  readonly upToKwh: readonly Float64Array[];
  /** Prices of the blocks, unweighted. */
  readonly prices: readonly (readonly number[])[];
  /** Tier group of each netting group. */
  readonly tierGroup: Int32Array | undefined;
}

export interface DemandPlan {
  readonly name: string;
  readonly supplier: string | undefined;
  readonly charge: DemandCharge;
  readonly group: Int32Array;
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

export interface RebatePlan {
  readonly version: number;
  readonly name: string;
  readonly price: number;
  readonly group: Int32Array;
  readonly period: Int32Array;
  readonly baselineKwh: Float64Array;
  readonly references: readonly Int32Array[];
}

export interface FixedPlan {
  readonly version: number;
  readonly charge: FixedCharge;
  readonly rate: number;
  readonly unit: string;
  /** Quantity in each period; undefined where the charge doesn't fall. */
  readonly shares: readonly (Share | undefined)[];
}

type Weigh = (line: LineIdentity, version: number) => number;

/** Prices and terms of a layout. */
export function buildTerms(
  layout: Layout,
  warnings: { code: string; message: string }[],
): CountedCharges & { plan: BillPlan } {
  const { tariff, account, axis, spans } = layout;
  const programmes = account.programmes ?? [];
  const weights = new Map<string, { whole: number; underMinimum: number }>();
  const weightsOf = (line: LineIdentity, version: number) => {
    const key = `${version} ${line.kind} ${line.name} ${line.supplier ?? ''}`;
    let weight = weights.get(key);
    if (weight === undefined) {
      weight = lineWeights(line, tariff.versions[version]!, programmes);
      weights.set(key, weight);
    }
    return weight;
  };
  const netting = planNetting(layout);
  const parts = {
    netting,
    tiers: planTiers(layout, netting),
    demands: planDemand(layout, warnings),
    rebates: planRebates(layout, warnings),
    fixed: planFixed(layout),
  };
  const whole = assemble(layout, parts, (line, version) => weightsOf(line, version).whole);
  const terms = [...whole.terms];

  let minimum: MinimumTerm | undefined;
  if (tariff.versions.some((rates) => rates.minimumBill !== undefined)) {
    const counted = assemble(layout, parts, (line, version) => weightsOf(line, version).underMinimum);
    const amount = new Float64Array(spans.length);
    const share = new Float64Array(spans.length);
    for (let p = 0; p < spans.length; p++)
      for (const version of layout.days.versions[p]!) {
        const rule = tariff.versions[version]!.minimumBill;
        if (rule === undefined) continue;
        const part = minimumShare(layout, p, version);
        amount[p] = amount[p]! + (rule.amount * part.times) / part.per;
        share[p] = weightsOf({ name: rule.name, kind: 'minimum', supplier: undefined }, version).whole;
      }
    const group = periodGroups(layout);
    minimum = {
      kind: 'minimum',
      name: tariff.versions.find((rates) => rates.minimumBill !== undefined)!.minimumBill!.name,
      group,
      groups: spans.length,
      period: identity(spans.length),
      amount,
      share,
      counted,
      convex: staysConvex(whole, [{ counted, share }], group),
    };
    terms.push(minimum);
  }

  let carry: CarryTerm | undefined;
  const carries = tariff.versions.map((rates) =>
    'carry' in rates.export && rates.export.carry === 'money' ? rates.export : undefined,
  );
  if (carries.some((rule) => rule !== undefined)) {
    const rules = spans.map((_, p) => carries[layout.days.last[p]!.version]);
    const all = rules.some((rule) => rule?.offsets === 'all');
    const counted: CountedCharges = all
      ? { ...whole, terms: [...terms] }
      : assemble(layout, parts, (line) => (line.kind === 'energy' || line.kind === 'export' ? 1 : 0));
    const next = new Int32Array(spans.length).fill(-1);
    const group = periodGroups(layout);
    for (let p = 0; p < spans.length; p++) {
      if (rules[p] === undefined) group.fill(-1, spans[p]!.first, spans[p]!.end);
      else if (p + 1 < spans.length && rules[p + 1] !== undefined && !endsYear(spans[p]!, rules[p]!.trueUpMonth))
        next[p] = p + 1;
    }
    const carriedIn = new Float64Array(spans.length);
    if (rules[0] !== undefined) carriedIn[0] = account.carriedMoney ?? 0;
    const settleShare = Float64Array.from(rules, (rule) => rule?.settleShare ?? 1);
    carry = {
      kind: 'carry',
      name: 'Credit carried over',
      group,
      groups: spans.length,
      period: identity(spans.length),
      counted,
      next,
      settleShare,
      carriedIn,
      convex: carryIsConvex(whole, counted, all, minimum, next, settleShare, periodGroups(layout)),
    };
    terms.push(carry);
  }
  return {
    importPricePerKwh: whole.importPricePerKwh,
    exportPricePerKwh: whole.exportPricePerKwh,
    terms,
    plan: { ...layout, ...parts, axis, minimum, carry, terms },
  };
}

/** Whether credit in money leaves the bill convex: see {@link staysConvex}. */
function carryIsConvex(
  whole: CountedCharges,
  counted: CountedCharges,
  all: boolean,
  minimum: MinimumTerm | undefined,
  next: Int32Array,
  settleShare: Float64Array,
  period: Int32Array,
): boolean {
  // Against the whole bill nothing is left but what settles: that has to be convex, and is no more than that.
  if (all) return counted.terms.every((term) => term.convex);
  const lost = settleShare.map((settled) => 1 - settled);
  for (let p = lost.length - 1; p >= 0; p--) if (next[p]! >= 0) lost[p] = lost[next[p]!]!;
  const deductions: Deduction[] = [{ counted, share: lost }];
  if (minimum !== undefined) deductions.push({ counted: minimum.counted, share: minimum.share });
  return staysConvex(whole, deductions, period);
}

type Parts = Pick<BillPlan, 'netting' | 'tiers' | 'demands' | 'rebates' | 'fixed'>;

/** Adds charges up with a weight on each line: the bill as a whole, or the part that something looks at. */
function assemble(layout: Layout, parts: Parts, weigh: Weigh): CountedCharges {
  const { axis, schedule, charges, tariff, cells, spans } = layout;
  const { runStart, runCell } = cells;
  const slotCount = schedule.slots.length;
  const importRate = new Float64Array(slotCount);
  const exportRate = new Float64Array(slotCount);
  const nettedRate = new Float64Array(slotCount);
  const importPricePerKwh = new Float64Array(axis.intervals);
  const exportPricePerKwh = new Float64Array(axis.intervals);
  const slotNets = schedule.slots.map((slot) => tariff.versions[slot.version]!.export.kind === 'net-metering');
  for (const charge of charges) {
    const weight = weigh(charge.line, charge.version);
    if (charge.flow === 'export') addScaled(exportRate, charge.rate, weight);
    else {
      addScaled(importRate, charge.rate, weight);
      if (!charge.nonBypassable) addScaled(nettedRate, charge.rate, weight);
    }
  }
  for (let s = 0; s < slotCount; s++) if (slotNets[s]) exportRate[s] = nettedRate[s]!;
  for (let r = 0; r < runCell.length; r++) {
    // Runs are short: a loop beats `fill`.
    const s = cells.slot[runCell[r]!]!;
    const importPrice = importRate[s]!;
    const exportPrice = exportRate[s]!;
    const end = runStart[r + 1]!;
    for (let i = runStart[r]!; i < end; i++) {
      importPricePerKwh[i] = importPrice;
      exportPricePerKwh[i] = exportPrice;
    }
  }
  const series = charges.flatMap((charge) => {
    const prices = charge.seriesPricePerKwh;
    if (prices === undefined) return [];
    const weight = weigh(charge.line, charge.version);
    const nets = tariff.versions[charge.version]!.export.kind === 'net-metering' && !charge.nonBypassable;
    return [
      {
        prices,
        importWeight: charge.flow === 'export' ? 0 : weight,
        exportWeight: charge.flow === 'export' || nets ? weight : 0,
      },
    ];
  });
  for (const { prices, importWeight, exportWeight } of series) {
    addScaled(importPricePerKwh, prices, importWeight);
    addScaled(exportPricePerKwh, prices, exportWeight);
  }

  // The order is that of the plans: netting, blocks, demand, rebates, fixed charges.
  const terms: BillTerm[] = [];
  const { netting } = parts;
  if (netting !== undefined) terms.push(nettingTerm(layout, netting, nettedRate, weigh));
  for (const tier of parts.tiers) {
    const { line, version } = charges[tier.charge]!;
    terms.push(tierTerm(cells, tier, line.name, weigh(line, version)));
  }
  for (const demand of parts.demands) terms.push(demandTerm(demand, spans.length, weigh));
  for (const rebate of parts.rebates) {
    const weight = weigh({ name: rebate.name, kind: 'rebate', supplier: undefined }, rebate.version);
    const term: RebateTerm = {
      kind: 'rebate',
      name: rebate.name,
      group: rebate.group,
      groups: rebate.period.length,
      period: rebate.period,
      pricePerKwh: new Float64Array(rebate.period.length).fill(rebate.price * weight),
      baselineKwh: rebate.baselineKwh,
      references: rebate.references,
      convex: false,
    };
    terms.push(term);
  }
  const none = new Int32Array(axis.intervals).fill(-1);
  for (const fixed of parts.fixed) {
    const weight = weigh({ name: fixed.charge.name, kind: 'fixed', supplier: fixed.charge.supplier }, fixed.version);
    const term: FixedTerm = {
      kind: 'fixed',
      name: fixed.charge.name,
      group: none,
      groups: spans.length,
      period: identity(spans.length),
      amount: Float64Array.from(fixed.shares, (share) =>
        share === undefined ? 0 : (weight * fixed.rate * share.times) / share.per,
      ),
      convex: true,
    };
    terms.push(term);
  }
  const byCell = {
    cells,
    importPricePerKwh: Float64Array.from(cells.slot, (s) => importRate[s]!),
    exportPricePerKwh: Float64Array.from(cells.slot, (s) => exportRate[s]!),
    series,
  };
  return { importPricePerKwh, exportPricePerKwh, terms, byCell };
}

function identity(length: number): Int32Array {
  return Int32Array.from({ length }, (_, k) => k);
}

function periodGroups(layout: Layout): Int32Array {
  const group = new Int32Array(layout.axis.intervals);
  for (const [p, span] of layout.spans.entries()) group.fill(p, span.first, span.end);
  return group;
}

/** An array over the axis from one over cells. */
function spread(layout: Layout, ofCell: Int32Array): Int32Array {
  const { axis, cells } = layout;
  const { runStart, runCell } = cells;
  const values = new Int32Array(axis.intervals);
  for (let r = 0; r < runCell.length; r++) {
    const value = ofCell[runCell[r]!]!;
    const end = runStart[r + 1]!;
    for (let i = runStart[r]!; i < end; i++) values[i] = value;
  }
  return values;
}

/** Whether a period's bill settles the netting year. */
function endsYear(span: PeriodSpan, trueUpMonth: number | undefined): boolean {
  return trueUpMonth !== undefined && dateOfCivilDay(span.endDay).month === trueUpMonth;
}

// ── netting ──────────────────────────────────────────────────────────────────────────────────────────────────────

function planNetting(layout: Layout): NettingPlan | undefined {
  const { tariff, schedule, charges, cells } = layout;
  const active = tariff.versions.map(
    (rates, v) =>
      rates.export.kind === 'net-metering' &&
      (rates.export.carry !== 'money' ||
        charges.some((c) => c.version === v && c.flow === 'import' && !c.nonBypassable && c.blocks !== undefined)),
  );
  if (!active.includes(true)) return undefined;
  const netted = charges.filter((c) => c.flow === 'import' && !c.nonBypassable);
  const groupOfCell = new Int32Array(cells.period.length).fill(-1);
  const groups: NettingPlan['groups'][number][] = [];
  const ids = new Map<string, number>();
  for (let cell = 0; cell < groupOfCell.length; cell++) {
    const s = cells.slot[cell]!;
    const slot = schedule.slots[s]!;
    if (!active[slot.version]) continue;
    const rates = tariff.versions[slot.version]!;
    const rule = rates.export as Extract<typeof rates.export, { kind: 'net-metering' }>;
    const label = rule.within === 'window' ? rates.windows[slot.labels[0]!]!.name : '';
    // Only kWh of one price offset each other.
    const prices = netted.map((c) => `${c.rate[s]} ${c.label[s]}`).join(' ');
    const key = `${cells.period[cell]} ${slot.version} ${slot.season} ${label} ${prices}`;
    let group = ids.get(key);
    if (group === undefined) {
      group = groups.push({ period: cells.period[cell]!, version: slot.version, slot: s, label }) - 1;
      ids.set(key, group);
    }
    groupOfCell[cell] = group;
  }
  // A window that doesn't occur keeps its kWh until it is back, or until they settle: then in a group without intervals.
  const kwhRule = (version: number) => {
    const rule = tariff.versions[version]!.export;
    return rule.kind === 'net-metering' && rule.carry === 'kwh' ? rule : undefined;
  };
  const next: number[] = groups.map(() => -1);
  const lastOf = new Map<string, number>();
  const metered = groups.length;
  for (let g = 0; g < metered; g++) {
    const before = lastOf.get(groups[g]!.label);
    if (before !== undefined && groups[g]!.period <= settlingPeriod(layout, kwhRule, groups[before]!)) next[before] = g;
    lastOf.set(groups[g]!.label, g);
  }
  for (let g = 0; g < metered; g++) {
    if (next[g]! >= 0) continue;
    const from = groups[g]!;
    const period = settlingPeriod(layout, kwhRule, from);
    if (period === from.period) continue;
    const { version } = layout.days.last[period]!;
    next[g] = groups.push({ ...from, period, version: kwhRule(version) === undefined ? from.version : version }) - 1;
    next.push(-1);
  }
  return { group: spread(layout, groupOfCell), groupOfCell, groups, next: Int32Array.from(next) };
}

/** The billing period on whose bill a group's surplus settles: the true-up, the last one that carries, or its own. */
function settlingPeriod(
  layout: Layout,
  kwhRule: (version: number) => { readonly trueUpMonth: number | undefined } | undefined,
  from: { readonly period: number; readonly version: number },
): number {
  const { spans, days } = layout;
  let rule = kwhRule(from.version);
  let period = from.period;
  while (rule !== undefined && period + 1 < spans.length && !endsYear(spans[period]!, rule.trueUpMonth)) {
    const following = kwhRule(days.versions[period + 1]![0] ?? days.last[period + 1]!.version);
    if (following === undefined) break;
    period++;
    rule = kwhRule(days.last[period]!.version) ?? following;
  }
  return period;
}

function nettingTerm(layout: Layout, plan: NettingPlan, nettedRate: Float64Array, weigh: Weigh): NettingTerm {
  const { tariff, account } = layout;
  const pricePerKwh = Float64Array.from(plan.groups, (g) => nettedRate[g.slot]!);
  const surplusPerKwh = Float64Array.from(plan.groups, (g, k) => {
    const rule = tariff.versions[g.version]!.export as Extract<
      Tariff['versions'][number]['export'],
      { kind: 'net-metering' }
    >;
    if (rule.carry === 'money') return pricePerKwh[k]!;
    return rule.surplusPerKwh * weigh({ name: rule.name, kind: 'export', supplier: undefined }, g.version);
  });
  const carriedInKwh = new Float64Array(plan.groups.length);
  if (carriedInKwh.length > 0) carriedInKwh[0] = account.carriedKwh ?? 0;
  let convex = true;
  for (let g = 0; g < pricePerKwh.length; g++)
    if ((plan.next[g]! >= 0 ? pricePerKwh[plan.next[g]!]! : surplusPerKwh[g]!) > pricePerKwh[g]! + 1e-12)
      convex = false;
  return {
    kind: 'netting',
    name: 'Net metering',
    group: plan.group,
    groups: plan.groups.length,
    byCell: { cells: layout.cells, group: plan.groupOfCell },
    period: Int32Array.from(plan.groups, (g) => g.period),
    pricePerKwh,
    next: plan.next,
    surplusPerKwh,
    carriedInKwh,
    convex,
  };
}

// ── blocks ───────────────────────────────────────────────────────────────────────────────────────────────────────

function planTiers(layout: Layout, netting: NettingPlan | undefined): TierPlan[] {
  const { charges, cells, schedule, tariff } = layout;
  return charges
    .flatMap((charge, c) => (charge.blocks === undefined ? [] : [{ charge, c, sets: charge.blocks }]))
    .map(({ charge, c, sets }): TierPlan => {
      const nets = tariff.versions[charge.version]!.export.kind === 'net-metering';
      const flow = charge.flow === 'export' ? 'export' : nets && !charge.nonBypassable ? 'netted' : 'import';
      const daily = sets.some((set) => set?.resets === 'day');
      const groups: { period: number; label: number }[] = [];
      const upToKwh: Float64Array[] = [];
      const prices: (readonly number[])[] = [];
      const addGroup = (period: number, label: number, season = 0): number => {
        const set = sets[label]!;
        upToKwh.push(
          set.resets === 'day'
            ? dailyBounds(layout, set, charge.version, season)
            : boundsOf(layout, set, charge.version, period),
        );
        prices.push(set.blocks.map((block) => block.pricePerKwh));
        return groups.push({ period, label }) - 1;
      };
      if (daily) {
        const { group } = dailyGroups(layout, charge, addGroup);
        return { charge: c, flow, group, groupOfCell: undefined, groups, upToKwh, prices, tierGroup: undefined };
      }
      const groupOfCell = new Int32Array(cells.period.length).fill(-1);
      const ids = new Map<number, number>();
      for (let cell = 0; cell < groupOfCell.length; cell++) {
        const s = cells.slot[cell]!;
        const label = charge.label[s]!;
        if (label < 0 || sets[label] === undefined || schedule.slots[s]!.version !== charge.version) continue;
        const period = cells.period[cell]!;
        const key = period * sets.length + label;
        let group = ids.get(key);
        if (group === undefined) {
          group = addGroup(period, label);
          ids.set(key, group);
        }
        groupOfCell[cell] = group;
      }
      const tierGroup =
        flow !== 'netted'
          ? undefined
          : Int32Array.from(netting!.groups, (g) => {
              const label = g.version === charge.version ? charge.label[g.slot]! : -1;
              return label < 0 ? -1 : (ids.get(g.period * sets.length + label) ?? -1);
            });
      return { charge: c, flow, group: spread(layout, groupOfCell), groupOfCell, groups, upToKwh, prices, tierGroup };
    });
}

function dailyGroups(
  layout: Layout,
  charge: RatedCharge,
  addGroup: (period: number, label: number, season: number) => number,
): { group: Int32Array } {
  const { axis, schedule, spans } = layout;
  const { day } = axis.calendar;
  const group = new Int32Array(axis.intervals).fill(-1);
  const ids = new Map<number, number>();
  for (const [period, span] of spans.entries())
    for (let i = span.first; i < span.end; i++) {
      const s = schedule.slot[i]!;
      const label = charge.label[s]!;
      if (label < 0 || charge.blocks![label] === undefined || schedule.slots[s]!.version !== charge.version) continue;
      const key = day[i]! * charge.blocks!.length + label;
      let g = ids.get(key);
      if (g === undefined) {
        g = addGroup(period, label, schedule.daySeason[day[i]!]!);
        ids.set(key, g);
      }
      group[i] = g;
    }
  return { group };
}

/** Upper ends of a set's blocks in a billing period, kWh. */
function boundsOf(layout: Layout, set: BlockSet, version: number, period: number): Float64Array {
  const { days, account, tariff } = layout;
  const count = coveredDays(days, period, version, set.seasonMask);
  return Float64Array.from(set.blocks, ({ bound }) => {
    if (bound === undefined) return Number.POSITIVE_INFINITY;
    if (bound.by === 'baseline') {
      const perSeason = baselinePerSeason(tariff, version, account);
      return bound.value * sumOverDays(days, period, version, perSeason, set.seasonMask);
    }
    if (bound.by === 'day') return bound.value * count;
    const share = monthShare(days, period, count);
    return (bound.value * share.times) / share.per;
  });
}

/** Upper ends of a set's blocks that start anew each day, on a day of a season, kWh. */
function dailyBounds(layout: Layout, set: BlockSet, version: number, season: number): Float64Array {
  return Float64Array.from(set.blocks, ({ bound }) => {
    if (bound === undefined) return Number.POSITIVE_INFINITY;
    if (bound.by !== 'baseline') return bound.value;
    return bound.value * baselinePerSeason(layout.tariff, version, layout.account)[season]!;
  });
}

function baselinePerSeason(tariff: Tariff, version: number, account: Account): number[] {
  const rates = tariff.versions[version]!;
  const zones = [...new Set(rates.baselines.flatMap((b) => b.zone ?? []))];
  const zone =
    zones.length > 0 ? accountField(account, 'baselineZone', `baseline ("${tariff.name}")`, zones) : undefined;
  return rates.seasonNames.map((name, season) => {
    const found = rates.baselines.find(
      (b) => (b.seasonMask >> season) & 1 && (b.zone === undefined || b.zone === zone),
    );
    if (found === undefined)
      throw new InputError([
        {
          code: 'missing',
          where: { file: tariff.file, path: ['baseline'] },
          received: `no baseline for season "${name}"${zone === undefined ? '' : ` in zone "${zone}"`}`,
          expected: 'a baseline for every season and the home’s zone',
          hint: 'add it, or mend the account’s "baselineZone"',
        },
      ]);
    return found.kwhPerDay;
  });
}

function tierTerm(cells: Cells, tier: TierPlan, name: string, weight: number): TierTerm {
  const adderPerKwh = tier.prices.map((prices) => Float64Array.from(prices, (price) => weight * (price - prices[0]!)));
  const sign = tier.flow === 'export' ? -1 : 1;
  return {
    kind: 'tier',
    name,
    group: tier.group,
    groups: tier.groups.length,
    ...(tier.groupOfCell === undefined ? {} : { byCell: { cells, group: tier.groupOfCell } }),
    period: Int32Array.from(tier.groups, (g) => g.period),
    flow: tier.flow,
    ...(tier.tierGroup === undefined ? {} : { netting: { term: 0, tierGroup: tier.tierGroup } }),
    upToKwh: tier.upToKwh,
    adderPerKwh,
    convex: adderPerKwh.every((adders) => adders.every((a, k) => k === 0 || sign * (a - adders[k - 1]!) >= 0)),
  };
}

// ── demand ───────────────────────────────────────────────────────────────────────────────────────────────────────

function planDemand(layout: Layout, warnings: { code: string; message: string }[]): DemandPlan[] {
  const { tariff, schedule, setPlans, cells, spans, days, axis, account } = layout;
  const { slots } = schedule;
  // A charge of one name and build goes on through the versions: its peak is that of the whole period.
  const merged = new Map<
    string,
    { charge: DemandCharge; versions: Map<number, { charge: DemandCharge; set: number }> }
  >();
  for (const [v, rates] of tariff.versions.entries())
    for (const [d, charge] of rates.demand.entries()) {
      const { name, supplier, averagingMinutes, highestDays, steps, unit } = charge;
      const key = JSON.stringify([name, supplier, averagingMinutes, highestDays, steps, unit]);
      const entry = merged.get(key) ?? { charge, versions: new Map() };
      entry.charge = charge;
      entry.versions.set(v, { charge, set: setPlans[v]!.demand[d]! });
      merged.set(key, entry);
    }
  return [...merged.values()].map(({ charge, versions }): DemandPlan => {
    const memberOf = slots.map((slot) => {
      const own = versions.get(slot.version);
      if (own === undefined || slot.labels[own.set] !== 1) return false;
      return own.charge.inWindows === undefined || own.charge.inWindows[slot.labels[0]!]!;
    });
    const groupOfCell = Int32Array.from(cells.period, (p, cell) => (memberOf[cells.slot[cell]!] ? p : -1));
    const unit = charge.unit;
    const parts = spans.map((_, p) =>
      days.versions[p]!.flatMap((version) => {
        const own = versions.get(version)?.charge;
        if (own === undefined) return [];
        const count = coveredDays(days, p, version, own.hours.seasonMask, own.hours.monthMask);
        if (count === 0) return [];
        const share = own.per === 'day' ? { times: count, per: 1 } : monthShare(days, p, count);
        return [{ version, price: own.pricePerKw, share, unit: own.per === 'day' ? `${unit}-day` : unit }];
      }),
    );
    const minimumKw = Float64Array.from(spans, (_, p) => {
      const own = versions.get(parts[p]!.at(-1)?.version ?? -1)?.charge;
      if (own === undefined) return 0;
      const contract =
        own.contractShare === 0 ? 0 : own.contractShare * accountField(account, 'contractKw', `"${own.name}"`);
      return Math.max(own.minimumKw, contract);
    });
    const averagingSteps = Math.max(1, Math.round(charge.averagingMinutes / axis.stepMinutes));
    if (averagingSteps * axis.stepMinutes !== charge.averagingMinutes)
      warnings.push({
        code: 'demand-averaging',
        message:
          `"${charge.name}" averages power over ${charge.averagingMinutes} minutes; the data have ${axis.stepMinutes}-minute ` +
          `steps, so that ${averagingSteps * axis.stepMinutes} minutes are averaged${
            axis.stepMinutes > charge.averagingMinutes ? ': the true peak is higher' : ''
          }.`,
      });
    return {
      name: charge.name,
      supplier: charge.supplier,
      charge,
      group: spread(layout, groupOfCell),
      parts,
      minimumKw,
      ratchet: planRatchet(layout, charge),
      averagingSteps,
      phaseSteps: phaseOf(axis, averagingSteps),
      scale: unit === 'kVA' ? 1 / (account.powerFactor ?? 1) : 1,
    };
  });
}

/** First interval of the first whole block of so many steps, blocks being aligned to the local clock. */
function phaseOf(axis: Axis, averagingSteps: number): number {
  const { minuteOfDay } = axis.calendar;
  const length = averagingSteps * axis.stepMinutes;
  for (let i = 0; i < Math.min(averagingSteps, axis.intervals); i++)
    if (minuteOfDay[i]! % length < axis.stepMinutes) return i;
  return 0;
}

function planRatchet(layout: Layout, charge: DemandCharge): DemandTerm['ratchet'] {
  const { ratchet } = charge;
  if (ratchet === undefined) return undefined;
  const { spans, days, account } = layout;
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

function demandTerm(plan: DemandPlan, periods: number, weigh: Weigh): DemandTerm {
  const pricePerKw = new Float64Array(periods);
  const share = new Float64Array(periods);
  for (let p = 0; p < periods; p++)
    for (const part of plan.parts[p]!) {
      const weight = weigh({ name: plan.name, kind: 'demand', supplier: plan.supplier }, part.version);
      const time = (weight * part.share.times) / part.share.per;
      pricePerKw[p] = pricePerKw[p]! + time * part.price;
      share[p] = share[p]! + time;
    }
  const { steps } = plan.charge;
  return {
    kind: 'demand',
    name: plan.name,
    group: plan.group,
    groups: periods,
    period: identity(periods),
    pricePerKw: steps === undefined ? pricePerKw : new Float64Array(periods),
    averagingSteps: plan.averagingSteps,
    phaseSteps: plan.phaseSteps,
    highestDays: plan.charge.highestDays,
    scale: plan.scale,
    minimumKw: plan.minimumKw,
    ...(plan.ratchet === undefined ? {} : { ratchet: plan.ratchet }),
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
}

// ── rebates, fixed charges, minimum ──────────────────────────────────────────────────────────────────────────────

function planRebates(layout: Layout, warnings: { code: string; message: string }[]): RebatePlan[] {
  const { tariff, schedule, axis, spans } = layout;
  const { days, minuteOfDay } = axis.calendar;
  const periodOfDay = new Int32Array(days.length);
  let p = 0;
  for (let d = 0; d < days.length; d++) {
    while (days[d]!.firstInterval >= spans[p]!.end) p++;
    periodOfDay[d] = p;
  }
  /** Intervals of a day that begin in the hours; empty where there are none. */
  const rangeOn = (d: number, from: number, to: number): [number, number] => {
    const { firstInterval, intervals } = days[d]!;
    let [first, end] = [-1, -1];
    for (let i = firstInterval; i < firstInterval + intervals; i++)
      if (minuteOfDay[i]! >= from && minuteOfDay[i]! < to) {
        if (first < 0) first = i;
        end = i + 1;
      }
    return [first, end];
  };
  const plans: RebatePlan[] = [];
  for (const [version, rates] of tariff.versions.entries()) {
    const eventDays = new Set(rates.events.flatMap((event) => event.civilDays));
    for (const event of rates.events) {
      if (event.effect.kind !== 'rebate') continue;
      const { baselineDays, baselineKwh: stated, pricePerKwh } = event.effect;
      const group = new Int32Array(axis.intervals).fill(-1);
      const period: number[] = [];
      const baseline: number[] = [];
      const references: Int32Array[] = [];
      for (let d = 0; d < days.length; d++) {
        if (schedule.dayVersion[d] !== version || !event.civilDays.includes(days[d]!.civilDay)) continue;
        const [first, end] = rangeOn(d, event.from, event.to);
        if (first < 0) continue;
        const stretches: number[] = [];
        for (let back = d - 1; back >= 0 && stretches.length < 2 * (baselineDays ?? 0); back--) {
          if (schedule.dayKind[back]! >= 5 || eventDays.has(days[back]!.civilDay)) continue;
          const [a, b] = rangeOn(back, event.from, event.to);
          if (a >= 0) stretches.push(a, b);
        }
        if (baselineDays !== undefined && stretches.length === 0) {
          warnings.push({
            code: 'rebate-without-baseline',
            message: `"${event.name}" has an event on the first day of the data: its usual use isn’t known, and no rebate is reckoned.`,
          });
          continue;
        }
        group.fill(period.length, first, end);
        period.push(periodOfDay[d]!);
        baseline.push(stated ?? 0);
        references.push(Int32Array.from(stretches));
      }
      plans.push({
        version,
        name: event.name,
        price: pricePerKwh,
        group,
        period: Int32Array.from(period),
        baselineKwh: Float64Array.from(baseline),
        references,
      });
    }
  }
  return plans;
}

function planFixed(layout: Layout): FixedPlan[] {
  const { tariff, account, days, spans } = layout;
  const programmes = account.programmes ?? [];
  const plans: FixedPlan[] = [];
  for (const [version, rates] of tariff.versions.entries())
    for (const charge of rates.fixed) {
      if (charge.programme !== undefined && !programmes.includes(charge.programme)) continue;
      let rate = charge.amount ?? 0;
      if (charge.bySize !== undefined) {
        const amps = accountField(account, 'serviceAmps', `"${charge.name}"`);
        rate = charge.bySize.find((size) => amps <= size.upToAmps)!.amount;
      }
      const kva = charge.per === 'kva-month' ? accountField(account, 'serviceKva', `"${charge.name}"`) : 1;
      const shares = spans.map((_, p): Share | undefined => {
        const count = coveredDays(days, p, version, charge.seasonMask);
        if (count === 0) return undefined;
        switch (charge.per) {
          case 'day':
            return { times: count, per: 1 };
          case 'year':
            return { times: count, per: 365 };
          case 'bill': {
            const last = days.last[p]!;
            return last.version === version && (charge.seasonMask >> last.season) & 1
              ? { times: 1, per: 1 }
              : undefined;
          }
          default: {
            const share = monthShare(days, p, count);
            return { times: share.times * kva, per: share.per };
          }
        }
      });
      const unit = charge.per === 'kva-month' ? 'kVA' : charge.per;
      plans.push({ version, charge, rate, unit, shares });
    }
  return plans;
}

/** The share of a version's minimum bill that falls in a period. */
export function minimumShare(layout: Layout, period: number, version: number): Share {
  const rule = layout.tariff.versions[version]!.minimumBill!;
  const count = coveredDays(layout.days, period, version, 0x7fffffff);
  if (rule.per === 'day') return { times: count, per: 1 };
  if (rule.per === 'bill') return { times: layout.days.last[period]!.version === version ? 1 : 0, per: 1 };
  return monthShare(layout.days, period, count);
}
