import { anAxis } from '../axis/axis.ts';
import { billingPeriods } from '../axis/billing-periods.ts';
import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import type { Axis, BillingRule, PeriodSpan } from '../axis/index.ts';
import { check, number, optional, record, report, series, vouchFor } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import { sameData } from '../input/same-data.ts';
import { type Fact, fact } from '../words/fact.ts';
import { TARIFF_WORDS } from '../words/tariff.ts';
import { type Account, anAccount } from './account.ts';
import { type BillPlan, buildTerms } from './build.ts';
import { planSets, type RatedCharge, ratedCharges } from './charges.ts';
import type { BillingPeriod, CompiledTariff } from './compiled.ts';
import { labelWindows } from './labels.ts';
import { type Layout, makeCells } from './layout.ts';
import { aTariff } from './parsed.ts';
import { countPeriodDays } from './period-days.ts';
import { makeSchedule } from './schedule.ts';
import { type PriceSeries, pricesOnAxis } from './series.ts';
import type { Tariff } from './tariff.ts';
import { priceQuestions } from './usual-prices.ts';
import { lifeWarnings, priceWarnings, programmeWarnings, whereIn } from './warnings.ts';

const aPriceSeries = record<PriceSeries>({
  startEpochMs: number(),
  stepMinutes: number({ above: 0 }),
  // Their values are looked at as they are laid on the axis.
  pricePerKwh: (value, path, looking) => {
    if (!Array.isArray(value) && !ArrayBuffer.isView(value))
      report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, 'a list of prices');
  },
});

/** What else a tariff needs. */
export const compileOptions = record<CompileOptions>({
  account: optional(anAccount),
  series: optional((value, path, looking) => {
    const files = typeof value === 'object' && value !== null ? Object.keys(value) : [];
    record(Object.fromEntries(files.map((file) => [file, optional(aPriceSeries)])))(value, path, looking);
  }),
});

/** What {@link compileTariff} may be told. */
export interface CompileOptions {
  /** What the bill depends on of the home's account. */
  readonly account?: Account;
  /** The price series that the tariff names, by file name. */
  readonly series?: Readonly<Record<string, PriceSeries>>;
}

/**
 * Lays a tariff on an axis: prices, terms, billing periods, windows. Everything that depends on dates is settled
 * here, once; a bill or a strategy only reads arrays.
 *
 * @throws InputError where the tariff needs something of the account or a price series that is not there
 */
export function compileTariff(tariff: Tariff, axis: Axis, options: CompileOptions = {}): CompiledTariff {
  check({ tariff, axis, options }, { tariff: aTariff, axis: anAxis, options: compileOptions });
  return layTariff(tariff, axis, options);
}

/** How many intervals of an axis have an edge of the tariff's hours inside: of windows, of charges' own hours, of events. */
export function edgesInside({ versions }: Tariff, axis: Axis): number {
  return makeSchedule(
    axis,
    versions,
    versions.map((rates) => planSets(rates).sets),
  ).mixedIntervals;
}

/** {@link compileTariff} of a tariff that was parsed and then changed by us: nothing is checked. */
export function layTariff(tariff: Tariff, axis: Axis, options: CompileOptions = {}): CompiledTariff {
  const layout = layOut(tariff, axis, options.account ?? {}, (charge, slot) =>
    seriesOnAxis(axis, charge, slot, options.series),
  );
  const laid = laidOf(layout);
  const { importPricePerKwh, exportPricePerKwh } = laid;
  const warnings = [
    ...laid.warnings,
    ...priceQuestions(tariff, options.series),
    ...priceWarnings(tariff, importPricePerKwh, exportPricePerKwh),
    ...programmeWarnings(tariff, options.account?.programmes ?? []),
    ...lifeWarnings(tariff),
  ];
  return vouchFor('tariff on its axis', { ...laid, warnings });
}

/** A tariff on its axis, with the warnings that come of laying it there alone. */
function laidOf(layout: Layout): CompiledTariff {
  const { tariff, axis, schedule, spans, charges } = layout;
  const { versions } = tariff;
  const warnings: Fact[] = [];
  const { importPricePerKwh, exportPricePerKwh, terms, plan } = buildTerms(layout, warnings);

  const period = new Int32Array(axis.intervals);
  for (const [p, span] of spans.entries()) period.fill(p, span.first, span.end);
  if (schedule.mixedIntervals > 0)
    warnings.push(
      fact(
        TARIFF_WORDS,
        'window-edge-inside-step',
        'warning',
        { intervals: schedule.mixedIntervals, stepMinutes: axis.stepMinutes },
        whereIn(tariff),
      ),
    );
  const { windows, window } = labelWindows(layout);
  const last = versions[schedule.dayVersion[schedule.dayVersion.length - 1]!]!;
  const grossVersions = versions.filter((rates) => rates.export.kind === 'buy-all').length;
  if (grossVersions > 0 && grossVersions < versions.length)
    throw new InputError([
      {
        code: 'not-together',
        where: { file: tariff.file, path: ['versions'] },
        received: 'buy-all in some versions only',
        expected: '"buy-all" in all versions or in none: the two are metered differently',
        hint: 'make two tariff files, one for each way of metering',
      },
    ]);
  return {
    name: tariff.name,
    axis,
    currency: tariff.currency,
    currencyDecimals: tariff.currencyDecimals,
    importPricePerKwh,
    exportPricePerKwh,
    terms,
    periods: spans.map(billingPeriod),
    period,
    windows,
    window,
    priceKnowledge: charges.some((c) => c.series?.known === 'day-ahead') ? 'day-ahead' : 'published',
    metering: last.export.kind === 'buy-all' ? 'gross' : 'net',
    exportLimitKw: last.export.limitKw,
    warnings,
    plan,
  };
}

/** The layout of a tariff on an axis. */
function layOut(
  tariff: Tariff,
  axis: Axis,
  account: Account,
  pricesOf: (charge: RatedCharge, slot: Int32Array, index: number) => Float64Array | undefined,
): Layout {
  const { versions } = tariff;
  const setPlans = versions.map(planSets);
  const schedule = makeSchedule(
    axis,
    versions,
    setPlans.map((plan) => plan.sets),
  );
  const { slot, slots } = schedule;
  const rule = billingRule(tariff, account);
  const spans = billingPeriods(axis, rule);
  const days = countPeriodDays(axis, spans, schedule, tariff.billing);
  const charges = versions
    .flatMap((rates, v) => ratedCharges(rates, v, setPlans[v]!, slots, account))
    .map((charge, k) =>
      charge.series === undefined ? charge : { ...charge, seriesPricePerKwh: pricesOf(charge, slot, k) },
    );

  return {
    tariff,
    axis,
    account,
    schedule,
    setPlans,
    spans,
    days,
    charges,
    cells: makeCells(axis, spans, schedule),
  };
}

/**
 * Whether a tariff on its axis is what its plan's own tariff, account and price series make of it, warnings apart: one that was
 * cloned, and not one in which anything was changed or put together by hand.
 */
export function isAsPlanned(compiled: CompiledTariff, plan: BillPlan): boolean {
  try {
    check(plan as Pick<BillPlan, 'tariff' | 'axis' | 'account'>, { tariff: aTariff, axis: anAxis, account: anAccount });
    const layout = layOut(plan.tariff, plan.axis, plan.account, (_, __, k) => {
      const seriesPricePerKwh = plan.charges[k]?.seriesPricePerKwh;
      check({ seriesPricePerKwh }, { seriesPricePerKwh: series() }, plan.axis.intervals);
      return seriesPricePerKwh;
    });
    return sameData({ ...laidOf(layout), warnings: [] }, { ...compiled, warnings: [] });
  } catch (error) {
    if (error instanceof InputError) return false;
    throw error;
  }
}

function billingRule(tariff: Tariff, account: Account): BillingRule {
  if (account.readDates !== undefined) return { by: 'read-dates', civilDays: account.readDates.map(civilDayOfDate) };
  if (account.cycleDay !== undefined) return { by: 'cycle-day', day: account.cycleDay };
  return tariff.billing.rule;
}

function billingPeriod(span: PeriodSpan): BillingPeriod {
  return {
    first: span.first,
    end: span.end,
    startDate: formatDate(dateOfCivilDay(span.startDay)),
    endDate: formatDate(dateOfCivilDay(span.endDay)),
    days: Math.max(0, span.coveredEnd - span.coveredStart + 1),
    fullDays: span.endDay - span.startDay + 1,
  };
}

/** A series charge's price in each interval, 0 where the charge doesn't hold. */
function seriesOnAxis(
  axis: Axis,
  charge: RatedCharge,
  slot: Int32Array,
  series: CompileOptions['series'],
): Float64Array {
  const { file, multiplier, adderPerKwh } = charge.series!;
  const prices = pricesOnAxis(axis, file, series?.[file]);
  for (let i = 0; i < prices.length; i++)
    prices[i] = charge.label[slot[i]!]! < 0 ? 0 : prices[i]! * multiplier + adderPerKwh;
  return prices;
}
