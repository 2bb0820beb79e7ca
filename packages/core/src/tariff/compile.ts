import { billingPeriods } from '../axis/billing-periods.ts';
import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import type { Axis, BillingRule, PeriodSpan } from '../axis/index.ts';
import { InputError } from '../input/issue.ts';
import type { Account } from './account.ts';
import { buildTerms } from './build.ts';
import { planSets, type RatedCharge, ratedCharges } from './charges.ts';
import type { BillingPeriod, CompiledTariff } from './compiled.ts';
import { labelWindows } from './labels.ts';
import { type Layout, makeCells } from './layout.ts';
import { countPeriodDays } from './period-days.ts';
import { makeSchedule } from './schedule.ts';
import { type PriceSeries, pricesOnAxis } from './series.ts';
import type { Tariff } from './tariff.ts';
import { lifeWarnings, priceWarnings, type TariffWarning } from './warnings.ts';

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
  const account = options.account ?? {};
  const warnings: TariffWarning[] = [];
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
    .map((charge) =>
      charge.series === undefined
        ? charge
        : { ...charge, seriesPricePerKwh: seriesOnAxis(axis, charge, slot, options.series) },
    );

  const layout: Layout = {
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
  const { importPricePerKwh, exportPricePerKwh, terms, plan } = buildTerms(layout, warnings);

  const period = new Int32Array(axis.intervals);
  for (const [p, span] of spans.entries()) period.fill(p, span.first, span.end);
  if (schedule.mixedIntervals > 0)
    warnings.push({
      code: 'window-edge-inside-step',
      message:
        `${schedule.mixedIntervals} intervals of ${axis.stepMinutes} minutes hold an edge between two windows: their ` +
        'price is the mean of both, weighted by minutes; blocks, netting and demand take them as wholly in the longer part.',
    });
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
  warnings.push(...priceWarnings(importPricePerKwh, exportPricePerKwh), ...lifeWarnings(tariff));
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
