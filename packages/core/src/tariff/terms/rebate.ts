import { integers, type Rule, record, report } from '../../input/door.ts';
import { type Fact, fact } from '../../words/fact.ts';
import { TARIFF_WORDS } from '../../words/tariff.ts';
import type { FlowSums } from '../flow-sums.ts';
import type { Layout } from '../layout.ts';
import type { EventRule } from '../tariff.ts';
import { whereIn } from '../warnings.ts';
import type { LineIdentity } from '../weights.ts';
import type { FieldsOf, TermFromCharges, TermKind } from './kind.ts';
import { spreadSlopes } from './slopes.ts';
import type { Term, Value } from './term.ts';

/**
 * Pay for using less than usual in an event: `−pricePerKwh · max(0, baseline − import)` of the event's intervals,
 * baseline = `baselineKwh` + the mean over `references` of the import in those stretches.
 */
export interface RebateTerm extends Term {
  readonly kind: 'rebate';
  readonly pricePerKwh: Float64Array;
  readonly baselineKwh: Float64Array;
  /** Stretches `[first, end)` of the reference days, flattened, a group: their mean is taken over `length / 2`. */
  readonly references: readonly Int32Array[];
}

/** What a rebate for energy below a baseline comes to, group by group. */
export interface RebateValue extends Value {
  /** Energy below the baseline. */
  readonly savedKwh: Float64Array;
}

export interface RebatePlan {
  readonly version: number;
  readonly line: LineIdentity;
  readonly pricePerKwh: number;
  readonly group: Int32Array;
  readonly period: Int32Array;
  readonly baselineKwh: Float64Array;
  readonly references: readonly Int32Array[];
}

export const rebateKind: TermKind<RebateTerm, RebateValue> = {
  value(term, { sums }) {
    const savedKwh = belowBaselineKwh(term, sums);
    return { amount: savedKwh.map((kwh, g) => -term.pricePerKwh[g]! * kwh), savedKwh };
  },

  /** At most the whole of the highest baseline that any schedule can make is paid for. */
  bound(term, { mostImportKwh }) {
    let most = 0;
    for (let g = 0; g < term.groups; g++) {
      const stretches = term.references[g]!;
      let kwh = 0;
      for (let s = 0; s < stretches.length; s += 2)
        for (let i = stretches[s]!; i < stretches[s + 1]!; i++) kwh += mostImportKwh(i);
      const baseline = term.baselineKwh[g]! + (stretches.length === 0 ? 0 : kwh / (stretches.length / 2));
      most += Math.max(0, term.pricePerKwh[g]! * baseline);
    }
    return { constant: -most, exact: false, steep: true };
  },

  addSearchSlopes(term, { savedKwh }, { importPerKwh }) {
    for (let i = 0; i < term.group.length; i++) {
      const g = term.group[i]!;
      if (g >= 0 && savedKwh[g]! > 0) importPerKwh[i] = importPerKwh[i]! + term.pricePerKwh[g]!;
    }
  },

  addLeastSlopes(term, { importPerKwh }) {
    const { group, groups, pricePerKwh, references } = term;
    for (let i = 0; i < group.length; i++) {
      const g = group[i]!;
      if (g >= 0) importPerKwh[i] = importPerKwh[i]! + Math.min(0, pricePerKwh[g]!);
    }
    for (let g = 0; g < groups; g++)
      eachReference(references[g]!, (i, share) => {
        importPerKwh[i] = importPerKwh[i]! - Math.max(0, pricePerKwh[g]!) * share;
      });
  },

  rule: ({ each, perGroup }) =>
    record<FieldsOf<RebateTerm>>({
      pricePerKwh: each(),
      baselineKwh: each({ least: 0 }),
      references: perGroup(stretches),
    }),
};

export const rebateCharge: TermFromCharges<RebateTerm, RebateValue, RebatePlan> = {
  plan(layout, warnings) {
    const periodOfDay = periodsOfDays(layout);
    return layout.tariff.versions.flatMap(({ events }, version) => {
      const eventDays = new Set(events.flatMap((event) => event.civilDays));
      return events.flatMap((event) =>
        event.effect.kind === 'rebate'
          ? [planOf(layout, event, event.effect, version, eventDays, periodOfDay, warnings)]
          : [],
      );
    });
  },

  term({ version, line, pricePerKwh, group, period, baselineKwh, references }, { weigh }) {
    return {
      kind: 'rebate',
      name: line.name,
      group,
      groups: period.length,
      period,
      pricePerKwh: new Float64Array(period.length).fill(pricePerKwh * weigh(line, version)),
      baselineKwh,
      references,
      convex: false,
    };
  },

  lines({ version, line, pricePerKwh, period }, { savedKwh }, { maker, periods }) {
    for (let p = 0; p < periods.length; p++) {
      let kwh = 0;
      for (let g = 0; g < savedKwh.length; g++) if (period[g] === p) kwh += savedKwh[g]!;
      if (kwh > 0) periods[p]!.push(maker.metered(line, '', version, p, kwh, 'kWh', -pricePerKwh));
    }
  },

  addSlopes(term, { savedKwh }, { importPerKwh, weight }) {
    const slope = new Float64Array(term.groups);
    for (let g = 0; g < term.groups; g++) {
      if (savedKwh[g] === 0) continue;
      slope[g] = weight(g) * term.pricePerKwh[g]!;
      // One more kWh on a reference day raises the baseline by its share of the mean.
      const stretches = term.references[g]!;
      const perKwh = slope[g]! / (stretches.length / 2);
      for (let s = 0; s < stretches.length; s += 2)
        for (let i = stretches[s]!; i < stretches[s + 1]!; i++) importPerKwh[i] = importPerKwh[i]! - perKwh;
    }
    spreadSlopes(term.group, slope, importPerKwh);
  },

  isSteady: (term) => term.pricePerKwh.every((price) => price === 0),
  slopeSteps: () => undefined,
};

function belowBaselineKwh(term: RebateTerm, sums: FlowSums): Float64Array {
  const { importKwh } = sums.flows;
  return sums.ofGroups(term, 'importKwh').map((used, g) => {
    const stretches = term.references[g]!;
    let sum = 0;
    for (let s = 0; s < stretches.length; s += 2)
      for (let i = stretches[s]!; i < stretches[s + 1]!; i++) sum += importKwh[i]!;
    const baseline = term.baselineKwh[g]! + (stretches.length === 0 ? 0 : sum / (stretches.length / 2));
    return Math.max(0, baseline - used);
  });
}

/** Visits the intervals that a group's baseline is made of, with the share of a kWh there that raises it. */
function eachReference(stretches: Int32Array, visit: (i: number, share: number) => void): void {
  for (let s = 0; s < stretches.length; s += 2)
    for (let i = stretches[s]!; i < stretches[s + 1]!; i++) visit(i, 2 / stretches.length);
}

/** The billing period that each day of the axis begins in. */
function periodsOfDays({ axis, spans }: Layout): Int32Array {
  const { days } = axis.calendar;
  const periodOfDay = new Int32Array(days.length);
  let p = 0;
  for (let d = 0; d < days.length; d++) {
    while (days[d]!.firstInterval >= spans[p]!.end) p++;
    periodOfDay[d] = p;
  }
  return periodOfDay;
}

function planOf(
  layout: Layout,
  event: EventRule,
  effect: Extract<EventRule['effect'], { kind: 'rebate' }>,
  version: number,
  eventDays: ReadonlySet<number>,
  periodOfDay: Int32Array,
  warnings: Fact[],
): RebatePlan {
  const { schedule, axis } = layout;
  const { days } = axis.calendar;
  const { baselineDays, baselineKwh: stated, pricePerKwh } = effect;
  const group = new Int32Array(axis.intervals).fill(-1);
  const period: number[] = [];
  const baseline: number[] = [];
  const references: Int32Array[] = [];
  for (let d = 0; d < days.length; d++) {
    if (schedule.dayVersion[d] !== version || !event.civilDays.includes(days[d]!.civilDay)) continue;
    const [first, end] = hoursOn(layout, d, event);
    if (first < 0) continue;
    const stretches: number[] = [];
    for (let back = d - 1; back >= 0 && stretches.length < 2 * (baselineDays ?? 0); back--) {
      // Usual use is that of weekdays that were neither holidays nor events.
      if (schedule.dayKind[back]! >= 5 || eventDays.has(days[back]!.civilDay)) continue;
      const [a, b] = hoursOn(layout, back, event);
      if (a >= 0) stretches.push(a, b);
    }
    if (baselineDays !== undefined && stretches.length === 0) {
      warnings.push(
        fact(TARIFF_WORDS, 'rebate-without-baseline', 'warning', { event: event.name }, whereIn(layout.tariff)),
      );
      continue;
    }
    group.fill(period.length, first, end);
    period.push(periodOfDay[d]!);
    baseline.push(stated ?? 0);
    references.push(Int32Array.from(stretches));
  }
  return {
    version,
    line: { name: event.name, kind: 'rebate', supplier: undefined },
    pricePerKwh,
    group,
    period: Int32Array.from(period),
    baselineKwh: Float64Array.from(baseline),
    references,
  };
}

/** Intervals `[first, end)` of a day that begin in an event's hours; −1 where there are none. */
function hoursOn({ axis }: Layout, d: number, { from, to }: EventRule): [number, number] {
  const { days, minuteOfDay } = axis.calendar;
  const { firstInterval, intervals } = days[d]!;
  let [first, end] = [-1, -1];
  for (let i = firstInterval; i < firstInterval + intervals; i++)
    if (minuteOfDay[i]! >= from && minuteOfDay[i]! < to) {
      if (first < 0) first = i;
      end = i + 1;
    }
  return [first, end];
}

/** `[first, end)` pairs on the axis. */
const stretches: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  integers({ least: 0, most: looking.intervals ?? Number.MAX_SAFE_INTEGER, length: null })(value, path, looking);
  if (looking.issues.length > before) return;
  const edges = value as Int32Array;
  if (edges.length % 2 === 1 || edges.some((edge, k) => k % 2 === 1 && edge < edges[k - 1]!))
    report(looking, path, 'out-of-range', Array.from(edges), 'pairs of a first interval and an end');
};
