import { both, integers, number, oneOf, optional, record, report, series } from '../../input/door.ts';
import type { RatedCharge } from '../charges.ts';
import { type Layout, spread } from '../layout.ts';
import { findRuns } from '../runs.ts';
import { boundsOf, dailyBounds } from './block-bounds.ts';
import { blockBounds } from './block-rule.ts';
import { type Bound, type BoundContext, directionOfCost } from './bound.ts';
import { type BlockCost, envelopeOf } from './envelope.ts';
import type { FieldsOf, Planned, TermFromCharges, TermKind } from './kind.ts';
import type { NettingPlan, NettingTerm, NettingValue } from './netting.ts';
import { spreadSlopes } from './slopes.ts';
import type { Term, Value } from './term.ts';

/**
 * Blocks of a group's energy: what a kWh costs (or, for export, earns) above the interval's price once earlier
 * blocks are full. `Σ_k adder_k · (kWh of the group that fall in block k)`, subtracted for export.
 */
export interface TierTerm extends Term {
  readonly kind: 'tier';
  /** `netted`: what a netting term bills of import after export and carried energy were taken off. */
  readonly flow: 'import' | 'export' | 'netted';
  /** For `netted`: the index of that term in the list that this one stands in, and the tier group of each of its groups. */
  readonly netting?: { readonly term: number; readonly tierGroup: Int32Array };
  /** Upper bounds of each group's blocks, kWh, rising; the last is Infinity. */
  readonly upToKwh: readonly Float64Array[];
  /** Each block's price less the interval's price; 0 in the first block. */
  readonly adderPerKwh: readonly Float64Array[];
}

/** What blocks come to, group by group. */
export interface TierValue extends Value {
  /** Energy that the blocks are filled with. */
  readonly kwh: Float64Array;
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

export const tierKind: TermKind<TierTerm, TierValue> = {
  value(term, { sums, earlier }) {
    const kwh =
      term.netting === undefined
        ? sums.ofGroups(term, term.flow === 'export' ? 'exportKwh' : 'importKwh')
        : nettedKwh(term, (earlier[term.netting.term] as NettingValue).dueKwh);
    const sign = signOf(term);
    const amount = new Float64Array(term.groups);
    for (let g = 0; g < term.groups; g++) {
      const bounds = term.upToKwh[g]!;
      const adders = term.adderPerKwh[g]!;
      let sum = 0;
      let lower = bounds[0]!;
      for (let k = 1; k < bounds.length && kwh[g]! > lower; k++) {
        sum += (Math.min(kwh[g]!, bounds[k]!) - lower) * adders[k]!;
        lower = bounds[k]!;
      }
      amount[g] = sign * sum;
    }
    return { amount, kwh };
  },

  bound(term, context) {
    if (term.netting !== undefined) return { constant: leastOfNetted(term, context), exact: false, steep: true };
    if (term.convex) return { constant: 0, multiplied: multiplied(term, blockCosts(term)), exact: true, steep: false };
    // Blocks that don't get dearer: the highest convex cost that lies under them.
    const flow = term.flow === 'export' ? 'export' : 'import';
    const { leastKwh, mostKwh } = context.rangeKwh(flow, term.group, term.groups);
    const envelopes = blockCosts(term).map((blocks, g) => envelopeOf(blocks, leastKwh[g]!, mostKwh[g]!));
    return { constant: 0, multiplied: multiplied(term, envelopes), exact: true, steep: true };
  },

  addSearchSlopes(term, { kwh }, { importPerKwh, exportPerKwh }) {
    if (term.netting !== undefined) return;
    const prices = term.flow === 'export' ? exportPerKwh : importPerKwh;
    for (let i = 0; i < term.group.length; i++) {
      const g = term.group[i]!;
      if (g < 0) continue;
      const bounds = term.upToKwh[g]!;
      let k = 0;
      while (k < bounds.length - 1 && kwh[g]! > bounds[k]!) k++;
      prices[i] = prices[i]! + term.adderPerKwh[g]![k]!;
    }
  },

  addLeastSlopes({ group, flow, adderPerKwh }, { importPerKwh, exportPerKwh }) {
    const least = adderPerKwh.map((adders) => Math.min(...adders));
    for (let i = 0; i < group.length; i++) {
      const g = group[i]!;
      if (g < 0) continue;
      if (flow !== 'export') importPerKwh[i] = importPerKwh[i]! + least[g]!;
      // Netted energy is less by what is exported.
      if (flow !== 'import') exportPerKwh[i] = exportPerKwh[i]! + least[g]!;
    }
  },

  rule: ({ groups, perGroup }) =>
    both(
      record<FieldsOf<TierTerm>>({
        flow: oneOf(['import', 'export', 'netted']),
        netting: optional(
          record({
            term: number({ whole: true, least: 0 }),
            tierGroup: integers({ least: -1, most: groups - 1, length: null }),
          }),
        ),
        upToKwh: perGroup(blockBounds),
        adderPerKwh: perGroup(series({ length: null })),
      }),
      (value, path, looking) => {
        const { upToKwh, adderPerKwh } = value as TierTerm;
        if (upToKwh.some((bounds, g) => bounds.length !== adderPerKwh[g]!.length))
          report(looking, [...path, 'adderPerKwh'], 'length-mismatch', 'another length', 'a price for each block');
      },
    ),
};

export const tierCharge: TermFromCharges<TierTerm, TierValue, TierPlan> = {
  plan: (layout, _, earlier) =>
    layout.charges.flatMap((charge, c) => (charge.blocks === undefined ? [] : [planOf(layout, charge, c, earlier)])),

  term(plan, { layout, weigh }) {
    const { line, version } = layout.charges[plan.charge]!;
    const weight = weigh(line, version);
    const adderPerKwh = plan.prices.map((prices) =>
      Float64Array.from(prices, (price) => weight * (price - prices[0]!)),
    );
    const sign = signOf(plan);
    return {
      kind: 'tier',
      name: line.name,
      group: plan.group,
      groups: plan.groups.length,
      ...(plan.groupOfCell === undefined
        ? { runs: findRuns(plan.group) }
        : { byCell: { cells: layout.cells, group: plan.groupOfCell } }),
      period: Int32Array.from(plan.groups, (g) => g.period),
      flow: plan.flow,
      // A netting term is the first of its list.
      ...(plan.tierGroup === undefined ? {} : { netting: { term: 0, tierGroup: plan.tierGroup } }),
      upToKwh: plan.upToKwh,
      adderPerKwh,
      convex: adderPerKwh.every((adders) => adders.every((a, k) => k === 0 || sign * (a - adders[k - 1]!) >= 0)),
    };
  },

  addSlopes(term, { kwh }, { weight, slopeOnTop, importPerKwh, exportPerKwh }) {
    const slope = new Float64Array(term.groups);
    for (let g = 0; g < term.groups; g++) {
      const bounds = term.upToKwh[g]!;
      let k = 0;
      while (k < bounds.length - 1 && kwh[g]! >= bounds[k]!) k++;
      slope[g] = weight(g) * term.adderPerKwh[g]![k]!;
    }
    if (term.netting === undefined) {
      spreadSlopes(term.group, slope, term.flow === 'export' ? exportPerKwh : importPerKwh);
      return;
    }
    const into = slopeOnTop(term.netting.term);
    for (let n = 0; n < into.length; n++) {
      const g = term.netting.tierGroup[n]!;
      if (g >= 0) into[n] = into[n]! + slope[g]!;
    }
  },

  isSteady: ({ adderPerKwh }) => adderPerKwh.every((adders) => adders.every((adder) => adder === 0)),

  slopeSteps: (term) =>
    term.adderPerKwh.flatMap((adders, group) =>
      Array.from(adders.subarray(1), (adder, k) => ({ slope: signOf(term) * (adder - adders[k]!), group })),
    ),
};

/** What a kWh in blocks does to the bill: costs it, or for export earns it. */
function signOf({ flow }: Pick<TierTerm, 'flow'>): 1 | -1 {
  return flow === 'export' ? -1 : 1;
}

/** Energy of each tier group that netting bills. */
function nettedKwh({ groups, netting }: TierTerm, dueKwh: Float64Array): Float64Array {
  const kwh = new Float64Array(groups);
  for (let n = 0; n < dueKwh.length; n++) {
    const g = netting!.tierGroup[n]!;
    if (g >= 0) kwh[g] = kwh[g]! + dueKwh[n]!;
  }
  return kwh;
}

// ── the bound ────────────────────────────────────────────────────────────────────────────────────────────────────

/** Costs of blocks, corner by corner: the first at nothing, then the end of each block but the last. */
function blockCosts(term: TierTerm): BlockCost[] {
  const sign = signOf(term);
  return term.upToKwh.map((bounds, g) => {
    const slopePerKwh = term.adderPerKwh[g]!.map((adder) => sign * adder);
    const atKwh = new Float64Array(bounds.length);
    const cost = new Float64Array(bounds.length);
    for (let k = 1; k < bounds.length; k++) {
      atKwh[k] = bounds[k - 1]!;
      cost[k] = cost[k - 1]! + slopePerKwh[k - 1]! * (atKwh[k]! - atKwh[k - 1]!);
    }
    return { atKwh, cost, slopePerKwh };
  });
}

/** Convex costs of each group's energy as one price: between the cheapest and the dearest slope. */
function multiplied(term: TierTerm, costs: readonly BlockCost[]): Bound<TierValue>['multiplied'] {
  const sign = signOf(term);
  const { groups, group } = term;
  const low = Float64Array.from(costs, ({ slopePerKwh }) => slopePerKwh[0]!);
  const high = Float64Array.from(costs, ({ slopePerKwh }) => slopePerKwh[slopePerKwh.length - 1]!);
  const multiplier = low.slice();
  return {
    multiplier,
    low,
    high,
    group,
    importPerUnit: sign > 0 ? 1 : 0,
    exportPerUnit: sign > 0 ? 0 : -1,
    base: new Float64Array(groups),
    begun: new Float64Array(groups),
    offset: 0,
    costs,
    direction: (value, g) => directionOfCost(costs[g]!, multiplier[g]!, value.kwh[g]!),
  };
}

/** The least that blocks over netted energy can come to: a group is billed no more of it than it imports. */
function leastOfNetted(term: TierTerm, { terms, rangeKwh }: BoundContext): number {
  const { term: at, tierGroup } = term.netting!;
  const netting = terms[at]!;
  if (netting.kind !== ('netting' satisfies NettingTerm['kind']))
    throw new Error(`internal: term ${at} is no netting, which "${term.name}" stands on`);
  const group = netting.group.map((g) => (g < 0 ? -1 : tierGroup[g]!));
  const { mostKwh } = rangeKwh('import', group, term.groups);
  let constant = 0;
  for (const [g, blocks] of blockCosts(term).entries())
    constant += Math.min(...envelopeOf(blocks, 0, mostKwh[g]!).cost);
  return constant;
}

// ── from charges ─────────────────────────────────────────────────────────────────────────────────────────────────

/** A block's energy on a bill: blocks of one price and place that start anew each day are added up. */
export interface BlockQuantity {
  readonly label: number;
  /** 0: the first block. */
  readonly index: number;
  readonly price: number;
  kwh: number;
}

/** kWh in each block, by period; undefined for a period without any. */
export function blockQuantities(plan: TierPlan, { kwh }: TierValue): (BlockQuantity[] | undefined)[] {
  const byPeriod: (BlockQuantity[] | undefined)[] = [];
  for (const [g, { period, label }] of plan.groups.entries()) {
    byPeriod[period] ??= [];
    const list = byPeriod[period];
    const bounds = plan.upToKwh[g]!;
    const prices = plan.prices[g]!;
    let lower = 0;
    for (let k = 0; k < bounds.length; k++) {
      const inBlock = Math.min(kwh[g]!, bounds[k]!) - lower;
      if (inBlock <= 0) continue;
      lower = bounds[k]!;
      const known = list.find((b) => b.label === label && b.index === k && b.price === prices[k]);
      if (known === undefined) list.push({ label, index: k, price: prices[k]!, kwh: inBlock });
      else known.kwh += inBlock;
    }
  }
  for (const list of byPeriod) list?.sort((a, b) => a.label - b.label || a.index - b.index);
  return byPeriod;
}

function planOf(layout: Layout, charge: RatedCharge, index: number, earlier: readonly Planned[]): TierPlan {
  const sets = charge.blocks!;
  const nets = layout.tariff.versions[charge.version]!.export.kind === 'net-metering';
  const flow = charge.flow === 'export' ? 'export' : nets && !charge.nonBypassable ? 'netted' : 'import';
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
  if (sets.some((set) => set?.resets === 'day')) {
    const group = dailyGroups(layout, charge, addGroup);
    return { charge: index, flow, group, groupOfCell: undefined, groups, upToKwh, prices, tierGroup: undefined };
  }
  const { groupOfCell, idOf } = periodGroupsOf(layout, charge, addGroup);
  const tierGroup =
    flow !== 'netted'
      ? undefined
      : Int32Array.from((earlier.find(({ kind }) => kind === 'netting')!.plan as NettingPlan).groups, (g) => {
          const label = g.version === charge.version ? charge.label[g.slot]! : -1;
          return label < 0 ? -1 : idOf(g.period, label);
        });
  const group = spread(layout, groupOfCell);
  return { charge: index, flow, group, groupOfCell, groups, upToKwh, prices, tierGroup };
}

/** One group a billing period and set of blocks. */
function periodGroupsOf(
  { cells, schedule }: Layout,
  charge: RatedCharge,
  addGroup: (period: number, label: number) => number,
): { groupOfCell: Int32Array; idOf(period: number, label: number): number } {
  const sets = charge.blocks!;
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
  return { groupOfCell, idOf: (period, label) => ids.get(period * sets.length + label) ?? -1 };
}

/** One group a day and set of blocks, for blocks that start anew each day. */
function dailyGroups(
  layout: Layout,
  charge: RatedCharge,
  addGroup: (period: number, label: number, season: number) => number,
): Int32Array {
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
  return group;
}
