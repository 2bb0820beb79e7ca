import { anAxis } from '../axis/axis.ts';
import {
  anything,
  bytes,
  flag,
  integers,
  list,
  number,
  oneOf,
  optional,
  type Rule,
  type RulesOf,
  record,
  report,
  type SeriesBounds,
  series,
  seriesUnread,
  text,
  unlessMadeHere,
} from '../input/door.ts';
import { isPlan } from './compile.ts';
import type { BillingPeriod, CompiledTariff } from './compiled.ts';
import { MOST_KWH, type ServiceFlows } from './flows.ts';
import type { CarryTerm } from './terms/carry.ts';
import type { DemandTerm } from './terms/demand.ts';
import type { FixedTerm } from './terms/fixed.ts';
import type { MinimumTerm } from './terms/minimum.ts';
import type { NettingTerm } from './terms/netting.ts';
import type { RebateTerm } from './terms/rebate.ts';
import type { BillTerm } from './terms/registry.ts';
import type { Cells, CountedCharges } from './terms/term.ts';
import type { TierTerm } from './terms/tier.ts';
import { WINDOW_KINDS } from './vocabulary.ts';

/** What passes the service, kWh an interval. */
export const serviceFlows = record<ServiceFlows>({
  importKwh: series({ least: 0, most: MOST_KWH }),
  exportKwh: series({ least: 0, most: MOST_KWH }),
});

/** The same, its energies left to the sums that are made of them. */
export const serviceFlowsUnread = record<ServiceFlows>({ importKwh: seriesUnread, exportKwh: seriesUnread });

const whole = (least: number, most = Number.MAX_SAFE_INTEGER) => number({ whole: true, least, most });

/** Runs of cells that cover the axis. */
const someCells: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<Cells>({
    runStart: integers({ least: 0, length: null }),
    runCell: integers({ least: 0, length: null }),
    period: integers({ least: 0, length: null }),
    slot: integers({ least: 0, length: null }),
    periodStart: integers({ least: 0, length: null }),
  })(value, path, looking);
  if (looking.issues.length > before) return;
  const { runStart, runCell, period, slot, periodStart } = value as Cells;
  const cover = (edges: Int32Array) =>
    edges.every((edge, k) => (k === 0 ? edge === 0 : edge > edges[k - 1]!)) &&
    edges[edges.length - 1] === looking.intervals;
  const good =
    cover(runStart) &&
    cover(periodStart) &&
    runCell.length === runStart.length - 1 &&
    runCell.every((cell) => cell < period.length) &&
    slot.length === period.length &&
    period.every((p) => p < periodStart.length - 1);
  if (!good) report(looking, path, 'contradiction', 'cells that don’t cover the axis', 'cells that compileTariff made');
};

/** Rules of one kind of term, whose arrays hold a number a group. */
function fieldsOf(
  kind: BillTerm['kind'],
  groups: number,
): RulesOf<Omit<BillTerm, 'kind' | 'groups' | 'name' | 'convex'>> {
  const each = (bounds: SeriesBounds = {}) => series({ ...bounds, length: groups });
  const next: Rule = (value, path, looking) => {
    const before = looking.issues.length;
    integers({ least: -1, most: groups - 1, length: groups })(value, path, looking);
    if (looking.issues.length > before) return;
    const at = (value as Int32Array).findIndex((to, g) => to >= 0 && to <= g);
    if (at >= 0) report(looking, [...path, at], 'out-of-range', at, 'a later group, or -1');
  };
  const base = {
    group: integers({ least: -1, most: groups - 1, ...(kind === 'fixed' ? { length: null } : {}) }),
    period: integers({ least: -1, length: groups }),
    byCell: optional(record({ cells: someCells, group: integers({ least: -1, most: groups - 1, length: null }) })),
  };
  const perGroup = (rule: Rule) => list(rule, { least: groups, most: groups });
  const rules: { readonly [K in BillTerm['kind']]: object } = {
    fixed: { amount: each() } satisfies Partial<RulesOf<FixedTerm>>,
    tier: {
      flow: oneOf(['import', 'export', 'netted']),
      netting: optional(record({ term: whole(0), tierGroup: integers({ least: -1, most: groups - 1, length: null }) })),
      upToKwh: perGroup(blockBounds),
      adderPerKwh: perGroup(series({ length: null })),
    } satisfies Partial<RulesOf<TierTerm>>,
    demand: {
      pricePerKw: each(),
      averagingSteps: whole(1, 1440),
      phaseSteps: whole(0, 1439),
      highestDays: whole(1, 366),
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
    } satisfies Partial<RulesOf<DemandTerm>>,
    netting: {
      pricePerKwh: each(),
      next,
      surplusPerKwh: each(),
      carriedInKwh: each({ least: 0 }),
    } satisfies Partial<RulesOf<NettingTerm>>,
    rebate: {
      pricePerKwh: each(),
      baselineKwh: each({ least: 0 }),
      references: perGroup(stretches),
    } satisfies Partial<RulesOf<RebateTerm>>,
    minimum: { amount: each(), share: each(), counted: countedCharges } satisfies Partial<RulesOf<MinimumTerm>>,
    carry: { counted: countedCharges, next, settleShare: each(), carriedIn: each({ least: 0 }) } satisfies Partial<
      RulesOf<CarryTerm>
    >,
  };
  return { ...base, ...rules[kind] };
}

/** Upper bounds of blocks: they rise, and the last is Infinity. */
const blockBounds: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  series({ infinite: true, length: null })(value, path, looking);
  if (looking.issues.length > before) return;
  const bounds = value as Float64Array;
  if (bounds[bounds.length - 1] !== Number.POSITIVE_INFINITY || bounds.some((b, k) => k > 0 && b <= bounds[k - 1]!))
    report(looking, path, 'out-of-range', Array.from(bounds), 'bounds that rise, the last of them Infinity');
};

/** `[first, end)` pairs on the axis. */
const stretches: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  integers({ least: 0, most: looking.intervals ?? Number.MAX_SAFE_INTEGER, length: null })(value, path, looking);
  if (looking.issues.length > before) return;
  const edges = value as Int32Array;
  if (edges.length % 2 === 1 || edges.some((edge, k) => k % 2 === 1 && edge < edges[k - 1]!))
    report(looking, path, 'out-of-range', Array.from(edges), 'pairs of a first interval and an end');
};

const termBase = record({
  kind: oneOf(['fixed', 'tier', 'demand', 'netting', 'rebate', 'minimum', 'carry']),
  name: text,
  groups: whole(0, 10_000_000),
  convex: flag,
});

const aTerm: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  termBase(value, path, looking);
  if (looking.issues.length > before) return;
  const term = value as BillTerm;
  record(fieldsOf(term.kind, term.groups))(term, path, looking);
  if (looking.issues.length > before) return;
  if (term.kind === 'tier' && term.upToKwh.some((bounds, g) => bounds.length !== term.adderPerKwh[g]!.length))
    report(looking, [...path, 'adderPerKwh'], 'length-mismatch', 'another length', 'a price for each block');
  if (term.kind === 'demand' && term.phaseSteps >= term.averagingSteps)
    report(looking, [...path, 'phaseSteps'], 'out-of-range', term.phaseSteps, `less than ${term.averagingSteps}`);
  if (term.kind === 'demand' && term.steps !== undefined && term.steps.upToKw.length !== term.steps.amount.length)
    report(looking, [...path, 'steps'], 'length-mismatch', term.steps.amount.length, 'an amount for each step');
};

/** The terms of a bill; a tier that bills what a netting term leaves must name an earlier one. */
export const someTerms: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  list(aTerm)(value, path, looking);
  if (looking.issues.length > before) return;
  const terms = value as readonly BillTerm[];
  for (const [t, term] of terms.entries()) {
    if (term.kind !== 'tier' || term.netting === undefined) continue;
    const source = terms[term.netting.term];
    if (term.netting.term >= t || source?.kind !== 'netting' || source.groups !== term.netting.tierGroup.length)
      report(
        looking,
        [...path, t, 'netting'],
        'contradiction',
        term.netting.term,
        'the index of an earlier netting term',
      );
  }
};

const countedCharges: Rule = (value, path, looking) =>
  record<CountedCharges>({
    importPricePerKwh: series(),
    exportPricePerKwh: series(),
    terms: someTerms,
    byCell: optional(
      record<NonNullable<CountedCharges['byCell']>>({
        cells: someCells,
        importPricePerKwh: series({ length: null }),
        exportPricePerKwh: series({ length: null }),
        series: list(record({ prices: series(), importWeight: number(), exportWeight: number() })),
      }),
    ),
  })(value, path, looking);

const compiledFields = record<CompiledTariff>({
  axis: anAxis,
  name: text,
  currency: text,
  currencyDecimals: whole(0, 8),
  importPricePerKwh: series(),
  exportPricePerKwh: series(),
  terms: someTerms,
  periods: list(
    record<BillingPeriod>({
      first: whole(0),
      end: whole(0),
      startDate: text,
      endDate: text,
      days: whole(0),
      fullDays: whole(0),
    }),
  ),
  period: integers({ least: 0 }),
  windows: list(record({ name: text, kind: oneOf(WINDOW_KINDS) }), { least: 1 }),
  window: bytes(),
  priceKnowledge: oneOf(['published', 'day-ahead']),
  metering: oneOf(['net', 'gross']),
  exportLimitKw: number({ least: 0, infinite: true }),
  warnings: list(record({ code: text, message: text })),
  plan: anything,
});

const anyCompiled: Rule = unlessMadeHere('tariff on its axis', (value, path, looking) => {
  const before = looking.issues.length;
  compiledFields(value, path, looking);
  if (looking.issues.length > before) return;
  const { periods, period, windows, window, plan } = value as CompiledTariff;
  const fit = (name: string, of: string, indices: Int32Array | Uint8Array, count: number) => {
    const at = (indices as Int32Array).findIndex((index) => index >= count);
    if (at >= 0)
      report(looking, [...path, name, at], 'out-of-range', indices[at], `an index into ${of}, below ${count}`);
  };
  fit('period', 'periods', period, periods.length);
  fit('window', 'windows', window, windows.length);
  if (plan !== undefined && (!isPlan(plan) || plan.spans.length !== periods.length))
    report(looking, [...path, 'plan'], 'not-compiled', 'a plan', 'the plan that compileTariff made for these periods');
});

/** A tariff laid on an axis. */
export const aCompiledTariff: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  anyCompiled(value, path, looking);
  if (looking.issues.length === before) looking.intervals = (value as CompiledTariff).axis.intervals;
};

/** A tariff that came from its file through `compileTariff`: one put together by hand has no lines to bill. */
export const aBilledTariff: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  aCompiledTariff(value, path, looking);
  if (looking.issues.length === before && (value as CompiledTariff).plan === undefined)
    report(looking, [...path, 'plan'], 'not-compiled', 'nothing', 'a tariff that compileTariff laid on an axis');
};
