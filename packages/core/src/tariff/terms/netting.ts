import { record } from '../../input/door.ts';
import type { RatedCharge } from '../charges.ts';
import { endsYear, type Layout, spread } from '../layout.ts';
import type { ExportRule } from '../tariff.ts';
import type { LineIdentity } from '../weights.ts';
import { carryOver } from './carried.ts';
import type { FieldsOf, LineContext, TermFromCharges, TermKind } from './kind.ts';
import { spreadSlopes } from './slopes.ts';
import type { Term, Value } from './term.ts';

/**
 * Import and export of a group offset each other in kWh before they are priced. In the intervals of a group import
 * stands at `pricePerKwh` (or more, where charges on gross import come on top) and export at `pricePerKwh`; with
 * `net = import − export` and `in` the kWh carried into the group, the group is billed `due = max(0, net − in)` and
 * leaves `left = max(0, in − net)`, which goes to the group `next`, or settles. The term's amount is
 * `pricePerKwh · (due − net)`, less `surplusPerKwh · left` where it settles.
 */
export interface NettingTerm extends Term {
  readonly kind: 'netting';
  readonly pricePerKwh: Float64Array;
  /** The group that a surplus carries into (always a later index), −1: it settles. */
  readonly next: Int32Array;
  /** Worth of a kWh of surplus where it settles. */
  readonly surplusPerKwh: Float64Array;
  /** kWh that the group starts with, from before the axis. */
  readonly carriedInKwh: Float64Array;
}

/** What netted energy comes to, group by group. */
export interface NettingValue extends Value {
  /** Import less export; below 0 where more is exported. */
  readonly netKwh: Float64Array;
  /** What the group is billed. */
  readonly dueKwh: Float64Array;
  /** Surplus that the group leaves. */
  readonly leftKwh: Float64Array;
}

export interface NettingPlan {
  readonly group: Int32Array;
  readonly groupOfCell: Int32Array;
  readonly groups: readonly NettingGroup[];
  readonly next: Int32Array;
}

interface NettingGroup {
  readonly period: number;
  readonly version: number;
  readonly slot: number;
  /** The hours that its kWh belong to, by name: see {@link hoursOf}. */
  readonly label: string;
}

type NetMetering = Extract<ExportRule, { kind: 'net-metering' }>;

export const nettingKind: TermKind<NettingTerm, NettingValue> = {
  value(term, { sums }) {
    const exportKwh = sums.ofGroups(term, 'exportKwh');
    const netKwh = sums.ofGroups(term, 'importKwh').map((kwh, g) => kwh - exportKwh[g]!);
    const { due: dueKwh, left: leftKwh } = carryOver(netKwh, term.carriedInKwh, term.next);
    const amount = dueKwh.map((kwh, g) => {
      const paid = term.pricePerKwh[g]! * (kwh - netKwh[g]!);
      return term.next[g]! >= 0 ? paid : paid - term.surplusPerKwh[g]! * leftKwh[g]!;
    });
    return { amount, netKwh, dueKwh, leftKwh };
  },

  /** The multiplier of a group is what a kWh of its net costs: between the worth of its surplus and its price. */
  bound(term) {
    const { group, pricePerKwh, next, carriedInKwh } = term;
    const high = pricePerKwh.slice();
    const low = leastPerKwh(term);
    const multiplier = high.slice();
    const floor = low.slice();
    return {
      constant: 0,
      exact: true,
      steep: false,
      multiplied: {
        multiplier,
        low,
        high,
        group,
        importPerUnit: 1,
        exportPerUnit: 1,
        base: pricePerKwh,
        begun: carriedInKwh.map((kwh) => -kwh),
        offset: 0,
        next,
        direction({ dueKwh, leftKwh }, g) {
          if (dueKwh[g]! > 1e-9) return multiplier[g]! < pricePerKwh[g]! ? 1 : 0;
          if (leftKwh[g]! <= 1e-9) return 0;
          const towards = next[g]! >= 0 ? multiplier[next[g]!]! : floor[g]!;
          return Math.sign(towards - multiplier[g]!);
        },
      },
    };
  },

  addSearchSlopes({ group, next, pricePerKwh, surplusPerKwh }, { dueKwh }, change) {
    for (let i = 0; i < group.length; i++) {
      const g = group[i]!;
      if (g < 0 || dueKwh[g]! > 0) continue;
      const worth = next[g]! >= 0 ? pricePerKwh[g]! : surplusPerKwh[g]!;
      change.importPerKwh[i] = change.importPerKwh[i]! + worth - pricePerKwh[g]!;
      change.exportPerKwh[i] = change.exportPerKwh[i]! + worth - pricePerKwh[g]!;
    }
  },

  addLeastSlopes(term, { importPerKwh, exportPerKwh }) {
    const least = leastPerKwh(term);
    for (let i = 0; i < term.group.length; i++) {
      const g = term.group[i]!;
      if (g < 0) continue;
      const less = least[g]! - term.pricePerKwh[g]!;
      importPerKwh[i] = importPerKwh[i]! + less;
      exportPerKwh[i] = exportPerKwh[i]! + less;
    }
  },

  rule: ({ each, next }) =>
    record<FieldsOf<NettingTerm>>({
      pricePerKwh: each(),
      next,
      surplusPerKwh: each(),
      carriedInKwh: each({ least: 0 }),
    }),
};

/** The least that a kWh of each group's net may be worth: its price, or what its surplus settles at in the end. */
function leastPerKwh({ groups, pricePerKwh, next, surplusPerKwh }: NettingTerm): Float64Array {
  const least = new Float64Array(groups);
  for (let g = groups - 1; g >= 0; g--)
    least[g] = Math.min(pricePerKwh[g]!, next[g]! >= 0 ? least[next[g]!]! : surplusPerKwh[g]!);
  return least;
}

export const nettingCharge: TermFromCharges<NettingTerm, NettingValue, NettingPlan> = {
  plan(layout) {
    const active = versionsThatNet(layout);
    if (!active.includes(true)) return [];
    const { groups, groupOfCell } = findGroups(layout, active);
    const next = linkGroups(layout, groups);
    return [{ group: spread(layout, groupOfCell), groupOfCell, groups, next }];
  },

  term({ group, groupOfCell, groups, next }, { layout, weigh, nettedPricePerKwh }) {
    const pricePerKwh = Float64Array.from(groups, (g) => nettedPricePerKwh[g.slot]!);
    const surplusPerKwh = Float64Array.from(groups, ({ version }, g) => {
      const rule = layout.tariff.versions[version]!.export as NetMetering;
      if (rule.carry === 'money') return pricePerKwh[g]!;
      return rule.surplusPerKwh * weigh(surplusLine(rule), version);
    });
    const carriedInKwh = new Float64Array(groups.length);
    if (carriedInKwh.length > 0) carriedInKwh[0] = layout.account.carriedKwh ?? 0;
    // A kWh must be worth no more where it goes than where it comes from.
    const convex = pricePerKwh.every((price, g) => {
      const later = next[g]! >= 0 ? pricePerKwh[next[g]!]! : surplusPerKwh[g]!;
      return !(later > price + 1e-12);
    });
    return {
      kind: 'netting',
      name: 'Net metering',
      group,
      groups: groups.length,
      byCell: { cells: layout.cells, group: groupOfCell },
      period: Int32Array.from(groups, (g) => g.period),
      pricePerKwh,
      next,
      surplusPerKwh,
      carriedInKwh,
      convex,
    };
  },

  /** Surplus kWh that settle in a period, and those that go on to a later one; the lines of energy have what is due. */
  lines(plan, { leftKwh }, context) {
    for (const [g, group] of plan.groups.entries()) {
      const rule = context.layout.tariff.versions[group.version]!.export;
      if (leftKwh[g] === 0 || rule.kind !== 'net-metering' || rule.carry === 'money') continue;
      surplusLines(plan, g, rule, leftKwh[g]!, context);
    }
  },

  addSlopes(term, { leftKwh }, { weight, slopeOnTop, index, importPerKwh, exportPerKwh }) {
    const onTop = slopeOnTop(index);
    const ofCarried = new Float64Array(term.groups);
    const ofNet = new Float64Array(term.groups);
    for (let g = term.groups - 1; g >= 0; g--) {
      const owes = leftKwh[g] === 0;
      const price = weight(g) * term.pricePerKwh[g]!;
      const ofDue = price + onTop[g]!;
      const next = term.next[g]!;
      const ofLeft = next >= 0 ? ofCarried[next]! : -weight(g) * term.surplusPerKwh[g]!;
      ofNet[g] = (owes ? ofDue : -ofLeft) - price;
      ofCarried[g] = owes ? -ofDue : ofLeft;
    }
    spreadSlopes(term.group, ofNet, importPerKwh);
    spreadSlopes(term.group, ofNet, exportPerKwh);
  },

  isSteady: ({ pricePerKwh, surplusPerKwh }) => pricePerKwh.every((price, g) => price === 0 && surplusPerKwh[g] === 0),

  slopeSteps({ next, pricePerKwh, surplusPerKwh }) {
    // A kWh that goes on is worth what a later bill charges for it, and here only what is left of this one.
    if (next.some((later) => later >= 0)) return undefined;
    return Array.from(pricePerKwh, (price, group) => ({ slope: price - surplusPerKwh[group]!, group }));
  },
};

function surplusLine(rule: NetMetering): LineIdentity {
  return { name: rule.name, kind: 'export', supplier: undefined };
}

function surplusLines(
  { groups, next }: NettingPlan,
  g: number,
  rule: NetMetering,
  leftKwh: number,
  { maker, periods }: LineContext,
): void {
  const { period, version, label } = groups[g]!;
  const to = next[g]!;
  if (to >= 0 && groups[to]!.period === period) return;
  const what =
    to < 0
      ? 'surplus settled'
      : groups[to]!.period === period + 1
        ? 'surplus carried to the next bill'
        : 'surplus kept for a later bill';
  const part = [label, what].filter((text) => text !== '').join(', ');
  const rate = to < 0 ? -rule.surplusPerKwh : 0;
  periods[period]!.push(maker.metered(surplusLine(rule), part, version, period, leftKwh, 'kWh', rate));
}

/** For each version whether it nets in kWh. Credit in money at retail prices does without, but for charges in blocks. */
function versionsThatNet({ tariff, charges }: Layout): boolean[] {
  return tariff.versions.map(
    (rates, v) =>
      rates.export.kind === 'net-metering' &&
      (rates.export.carry !== 'money' ||
        charges.some((c) => c.version === v && c.flow === 'import' && !c.nonBypassable && c.blocks !== undefined)),
  );
}

/** Cells whose kWh offset each other: of one price, hours, season and version in one billing period. */
function findGroups(layout: Layout, active: readonly boolean[]): { groups: NettingGroup[]; groupOfCell: Int32Array } {
  const { schedule, charges, cells } = layout;
  const netted = charges.filter((c) => c.flow === 'import' && !c.nonBypassable);
  const groupOfCell = new Int32Array(cells.period.length).fill(-1);
  const groups: NettingGroup[] = [];
  const ids = new Map<string, number>();
  const labels = schedule.slots.map(({ version }, s) => (active[version] ? hoursOf(layout, netted, s) : ''));
  for (let cell = 0; cell < groupOfCell.length; cell++) {
    const s = cells.slot[cell]!;
    const { version, season } = schedule.slots[s]!;
    if (!active[version]) continue;
    const label = labels[s]!;
    const prices = netted.map((c) => `${c.rate[s]} ${c.label[s]}`).join(' ');
    const key = `${cells.period[cell]} ${version} ${season} ${label} ${prices}`;
    let group = ids.get(key);
    if (group === undefined) {
      group = groups.push({ period: cells.period[cell]!, version, slot: s, label }) - 1;
      ids.set(key, group);
    }
    groupOfCell[cell] = group;
  }
  return { groups, groupOfCell };
}

/**
 * The hours that a slot's kWh belong to, by name: the tariff's window, the windows of charges that have their own, each price
 * of a table, a priced event. A surplus goes on to hours of the same name alone.
 */
function hoursOf({ tariff, schedule }: Layout, netted: readonly RatedCharge[], s: number): string {
  const { version, labels, event } = schedule.slots[s]!;
  const rates = tariff.versions[version]!;
  const { within, carry } = rates.export as NetMetering;
  // Netted over the whole bill, a tariff has one price at a time: that was checked when it was read.
  const onePrice = within === 'period' && carry !== 'money';
  const names = new Set(onePrice ? [] : [rates.windows[labels[0]!]!.name]);
  for (const charge of netted) {
    const label = charge.label[s]!;
    if (label < 0 || charge.series !== undefined) continue;
    if (charge.averaged) names.add(`at ${charge.rate[s]}`);
    else if (!onePrice) names.add(charge.labels[label]!);
  }
  const called = rates.events[event];
  if (called !== undefined && called.effect.kind !== 'rebate') names.add(called.name);
  names.delete('');
  // The one window of a tariff without windows says nothing beside others.
  if (rates.windows.length === 1 && names.size > 1) names.delete(rates.windows[0]!.name);
  return [...names].join(', ');
}

/**
 * The group that each group's surplus goes to: the next one of its hours' name. A window that doesn't occur in the
 * next periods keeps its kWh until it is back, or until they settle: then in a group without intervals, added here.
 */
function linkGroups(layout: Layout, groups: NettingGroup[]): Int32Array {
  const kwhRule = (version: number) => {
    const rule = layout.tariff.versions[version]!.export;
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
  return Int32Array.from(next);
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
