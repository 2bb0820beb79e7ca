import { sum } from '../../axis/sum.ts';
import { record } from '../../input/door.ts';
import { eachPeriod, endsYear, type Layout, periodGroups } from '../layout.ts';
import { moneyOf } from '../money.ts';
import type { ExportRule } from '../tariff.ts';
import { carryOver } from './carried.ts';
import { countedMoney } from './counted.ts';
import { fixedAmounts } from './fixed.ts';
import type { CloseContext, FieldsOf, TermFromBill, TermKind } from './kind.ts';
import type { CountedCharges, Term, Value } from './term.ts';

/**
 * Credit left over in a billing period carries on in money. With `q` the counted charges of a group and `in` the
 * money carried into it, `due = max(0, q − in)` is paid and `left = max(0, in − q)` goes to `next`, or settles at
 * `settleShare` of its worth (0: forfeited). The term's amount is `due − q`, less `settleShare · left` where it settles.
 */
export interface CarryTerm extends Term {
  readonly kind: 'carry';
  readonly counted: CountedCharges;
  readonly next: Int32Array;
  readonly settleShare: Float64Array;
  readonly carriedIn: Float64Array;
}

/** What credit that carries on in money comes to, group by group. */
export interface CarryValue extends Value {
  /** What the counted charges come to, money. */
  readonly counted: Float64Array;
  /** What of it has to be paid. */
  readonly due: Float64Array;
  /** Credit that the group leaves. */
  readonly left: Float64Array;
}

/** An export rule whose credit carries on in money. */
type MoneyRule = Extract<ExportRule, { carry: unknown }>;

export const carryKind: TermKind<CarryTerm, CarryValue> = {
  value(term, context) {
    const counted = countedMoney(term, context);
    const { due, left } = carryOver(counted, term.carriedIn, term.next);
    const amount = due.map((money, g) => {
      const paid = money - counted[g]!;
      return term.next[g]! >= 0 ? paid : paid - term.settleShare[g]! * left[g]!;
    });
    return { amount, counted, due, left };
  },

  /**
   * The multiplier of a period is the worth of its credit, from what settles to 1. Where demand or blocks are counted,
   * all credit has its full worth, and only what was carried in from before counts.
   */
  bound(term) {
    const fixed = fixedAmounts(term.counted.terms, term.groups);
    const { groups, group, counted, next, settleShare, carriedIn } = term;
    if (fixed === undefined) {
      let known = 0;
      for (const money of carriedIn) known += money;
      return { constant: -known, exact: false, steep: false };
    }
    const low = new Float64Array(groups);
    for (let g = groups - 1; g >= 0; g--) low[g] = next[g]! >= 0 ? low[next[g]!]! : settleShare[g]!;
    const floor = low.slice();
    const multiplier = new Float64Array(groups).fill(1);
    return {
      constant: 0,
      exact: true,
      steep: false,
      multiplied: {
        multiplier,
        low,
        high: new Float64Array(groups).fill(1),
        group,
        importPerUnit: counted.importPricePerKwh,
        exportPerUnit: counted.exportPricePerKwh,
        base: new Float64Array(groups).fill(1),
        begun: fixed.map((money, g) => money - carriedIn[g]!),
        offset: -sum(fixed),
        next,
        direction({ due, left }, g) {
          if (due[g]! > 1e-9) return multiplier[g]! < 1 ? 1 : 0;
          if (left[g]! <= 1e-9) return 0;
          const towards = next[g]! >= 0 ? multiplier[next[g]!]! : floor[g]!;
          return Math.sign(towards - multiplier[g]!);
        },
      },
    };
  },

  rule: ({ each, next, counted }) =>
    record<FieldsOf<CarryTerm>>({ counted, next, settleShare: each(), carriedIn: each({ least: 0 }) }),
};

export const carryClosing: TermFromBill<CarryTerm, CarryValue> = {
  close(context) {
    const { layout, terms, count } = context;
    const { spans, account } = layout;
    const rules = spans.map((_, p) => ruleOf(layout, p));
    if (layout.tariff.versions.every((rates) => moneyRule(rates.export) === undefined)) return undefined;
    const all = rules.some((rule) => rule?.offsets === 'all');
    const counted: CountedCharges = all
      ? { ...context.whole, terms: [...terms] }
      : count(({ kind }) => (isEnergyOrExport(kind) ? 1 : 0));
    const next = new Int32Array(spans.length).fill(-1);
    const group = periodGroups(layout);
    for (const [p, rule] of rules.entries()) {
      if (rule === undefined) group.fill(-1, spans[p]!.first, spans[p]!.end);
      else if (p + 1 < spans.length && rules[p + 1] !== undefined && !endsYear(spans[p]!, rule.trueUpMonth))
        next[p] = p + 1;
    }
    const carriedIn = new Float64Array(spans.length);
    if (rules[0] !== undefined) carriedIn[0] = account.carriedMoney ?? 0;
    const settleShare = Float64Array.from(rules, (rule) => rule?.settleShare ?? 1);
    const term: CarryTerm = {
      kind: 'carry',
      name: 'Credit carried over',
      group,
      groups: spans.length,
      period: eachPeriod(layout),
      counted,
      next,
      settleShare,
      carriedIn,
      convex: isConvex(context, counted, all, next, settleShare),
    };
    return { term };
  },

  after: 'taxes',

  /** Credit used, carried on or settled. */
  closeLines({ carriedIn, next }, { layout, maker }) {
    const { decimals } = maker;
    let carried = Math.round(carriedIn[0]! * 10 ** decimals);
    return (period, lines) => {
      const carriedInto = carried;
      carried = 0;
      const rule = ruleOf(layout, period);
      if (rule === undefined) return;
      const { version } = layout.days.last[period]!;
      let counted = 0;
      for (const entry of lines)
        if (rule.offsets === 'all' || isEnergyOrExport(entry.line.kind)) counted += entry.units;
      const due = Math.max(0, counted - carriedInto);
      const left = Math.max(0, carriedInto - counted);
      const push = (text: string, units: number, rate: number, change: number) => {
        const line = { name: text, kind: 'carry', supplier: undefined } as const;
        const quantity = moneyOf(units, decimals);
        lines.push({ line, version, part: '', text, quantity, unit: layout.tariff.currency, rate, units: change });
      };
      if (counted > due) push('Credit from earlier bills', counted - due, -1, due - counted);
      if (counted < 0) push('Credit carried over', -counted, 1, -counted);
      if (next[period]! >= 0) carried = left;
      else if (left > 0)
        push('Credit settled at the true-up', left, -rule.settleShare, -Math.round(rule.settleShare * left));
    };
  },

  addSlopes(term, { left }, { weight, addCounted }) {
    const ofPeriod = new Float64Array(term.groups);
    const ofCarried = new Float64Array(term.groups);
    for (let g = term.groups - 1; g >= 0; g--) {
      const owes = left[g] === 0;
      const own = weight(g);
      const next = term.next[g]!;
      const ofLeft = next >= 0 ? ofCarried[next]! : -own * term.settleShare[g]!;
      ofPeriod[g] = (owes ? own : -ofLeft) - own;
      ofCarried[g] = owes ? -own : ofLeft;
    }
    addCounted(term.counted, { ofPeriod, period: term.group });
  },

  isSteady: () => false,
  slopeSteps: () => undefined,
};

function moneyRule(rule: ExportRule): MoneyRule | undefined {
  return 'carry' in rule && rule.carry === 'money' ? rule : undefined;
}

/** The rule that a period's credit follows: that of the version on its last day. */
function ruleOf({ tariff, days }: Layout, period: number): MoneyRule | undefined {
  return moneyRule(tariff.versions[days.last[period]!.version]!.export);
}

function isEnergyOrExport(kind: string): boolean {
  return kind === 'energy' || kind === 'export';
}

/** Whether credit in money leaves the bill convex: see {@link staysConvex}. */
function isConvex(
  { deductions, staysConvex }: CloseContext,
  counted: CountedCharges,
  all: boolean,
  next: Int32Array,
  settleShare: Float64Array,
): boolean {
  // With credit against the whole bill, the bill is what is due of it: convex where the counted charges are.
  if (all) return counted.terms.every((term) => term.convex);
  const lost = settleShare.map((settled) => 1 - settled);
  for (let p = lost.length - 1; p >= 0; p--) if (next[p]! >= 0) lost[p] = lost[next[p]!]!;
  return staysConvex([{ counted, share: lost }, ...deductions]);
}
