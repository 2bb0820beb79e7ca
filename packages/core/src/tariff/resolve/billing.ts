import { civilDayOfDate } from '../../axis/civil-day.ts';
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
  const civilDays = dates.map(civilDayOfDate);
  for (let k = 1; k < civilDays.length; k++)
    if (civilDays[k]! <= civilDays[k - 1]!)
      faults.add('not-rising', [...path, k], dates[k], `a date after ${dates[k - 1]}`, 'order the dates');
  return { by: 'read-dates', civilDays };
}
