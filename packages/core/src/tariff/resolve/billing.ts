import { civilDayOfDate, firstNotAfter } from '../../axis/civil-day.ts';
import type { BillingRule } from '../../axis/index.ts';
import type { TariffDocument } from '../schema/tariff.ts';
import type { Billing } from '../tariff.ts';
import type { Faults, Path } from './faults.ts';

/** How bills follow one another. */
export function resolveBilling(billing: TariffDocument['billing'], faults: Faults): Billing {
  const by = billing?.by ?? 'calendar-month';
  let rule: BillingRule = { by: 'calendar-month' };
  if (by === 'cycle-day') {
    if (billing?.day === undefined)
      faults.add('missing', ['billing', 'day'], undefined, 'the day of the month, 1 … 31', 'add "day"');
    else rule = { by, day: billing.day };
  } else if (by === 'read-dates') {
    if (billing?.dates === undefined)
      faults.add('missing', ['billing', 'dates'], undefined, 'the first day of each bill', 'add "dates"');
    else rule = readDatesRule(billing.dates, ['billing', 'dates'], faults);
  }
  if (billing?.monthDecimals !== undefined && billing.monthDays === undefined)
    faults.add(
      'not-together',
      ['billing', 'monthDecimals'],
      billing.monthDecimals,
      '"monthDays" beside it',
      'add "monthDays"',
    );
  return { rule, monthDays: billing?.monthDays, monthDecimals: billing?.monthDecimals };
}

function readDatesRule(dates: readonly string[], path: Path, faults: Faults): BillingRule {
  const at = firstNotAfter(dates);
  if (at > 0) faults.add('not-rising', [...path, at], dates[at], `a date after ${dates[at - 1]}`, 'order the dates');
  return { by: 'read-dates', civilDays: dates.map(civilDayOfDate) };
}
