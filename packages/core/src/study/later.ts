import { type Axis, civilDayOf, civilDayOfDate, dateOfCivilDay } from '../axis/index.ts';
import { none } from '../dispatch/index.ts';
import type { Study, TariffSource } from '../site/index.ts';
import type { PeriodBill } from '../tariff/index.ts';
import { layTariff, toCents } from '../tariff/inside.ts';
import { evaluate, withTariff } from '../trial/index.ts';
import { quoteName } from '../words/quote.ts';
import { meteredHome } from './bills.ts';
import { successorOf } from './payback.ts';

/** What the bills come to if nothing is done; no totals where nothing is scheduled to change. */
export interface Later {
  readonly totals: readonly number[] | undefined;
  readonly basis: string;
}

/**
 * The same energy on the same days, billed on what will hold so many years later: the versions of then, and the successor
 * once the tariff has ended. The calendar stays that of the data, so that nothing but the tariff makes a difference.
 */
export function ifNothingIsDone(study: Study): Later {
  const { tariff } = study;
  const metered = meteredHome(study);
  const { axis } = metered;
  const { days } = axis.calendar;
  const { endsOn, successor } = tariff.life;
  const lastDay = endsOn === undefined ? Number.POSITIVE_INFINITY : civilDayOfDate(endsOn);
  const changes = [...tariff.versions.slice(1).map((rates) => rates.fromDay), lastDay + 1];
  const next = Math.min(...changes.filter((day) => day > days[0]!.civilDay));
  if (next === Number.POSITIVE_INFINITY)
    return {
      totals: undefined,
      basis: 'nothing changes if nothing is done: no later version and no end of this tariff is scheduled',
    };
  // As long after the data as they last, or as far as the next change lies.
  const lastOfData = days[days.length - 1]!.civilDay;
  let years = Math.max(1, Math.round(days.length / 365.25));
  while (yearsBefore(lastOfData, -years) < next) years++;
  const horizon = yearsBefore(lastOfData, -years);
  const later = (source: TariffSource) => {
    const versions = source.tariff.versions.map((rates) => ({ ...rates, fromDay: yearsBefore(rates.fromDay, years) }));
    const then = layTariff({ ...source.tariff, versions }, axis, source.options);
    return evaluate(withTariff(metered, then), none, ['lines']).lines.periods;
  };
  const own = { tariff, options: study.tariffOptions };
  const when = years === 1 ? 'a year' : `${years} years`;
  const basis = `the same energy on the same days, on the versions that hold ${when} later`;
  const periods = later(own);
  const totals = periods.map((period) => period.total);
  if (lastDay >= horizon) return { totals, basis };
  const heir = successorOf(own, study.successors);
  if (heir === undefined) {
    const name =
      successor === undefined
        ? 'what follows is not stated'
        : `the file of ${quoteName(successor)} is not among the tariffs given`;
    return { totals, basis: `${basis}; after ${endsOn} it is gone, and ${name}` };
  }
  const goneFrom = yearsBefore(lastDay, years) + 1;
  const heirs = later(heir);
  const decimals = study.home.tariff.currencyDecimals;
  return {
    totals: periods.map(({ start, end, total }) =>
      civilDayOfDate(start) < goneFrom
        ? total
        : toCents(costOfDays(heirs, axis, civilDayOfDate(start), civilDayOfDate(end)), decimals),
    ),
    basis: `${basis}; ${quoteName(heir.tariff.name)} from the first bill after ${endsOn}`,
  };
}

/** What bills come to over some days: those that reach beyond them count by their share of the days with data. */
export function costOfDays(bills: readonly PeriodBill[], axis: Axis, firstDay: number, lastDay: number): number {
  const { days } = axis.calendar;
  let cost = 0;
  for (const { start, end, total } of bills) {
    const from = Math.max(civilDayOfDate(start), days[0]!.civilDay);
    const until = Math.min(civilDayOfDate(end), days[days.length - 1]!.civilDay);
    const shared = Math.min(until, lastDay) - Math.max(from, firstDay) + 1;
    if (shared > 0) cost += total * (shared / (until - from + 1));
  }
  return cost;
}

/** The same date so many years before; 29 February becomes 1 March. */
function yearsBefore(civilDay: number, years: number): number {
  if (!Number.isFinite(civilDay)) return civilDay;
  const { year, month, dayOfMonth } = dateOfCivilDay(civilDay);
  return civilDayOf(year - years, month, dayOfMonth);
}
