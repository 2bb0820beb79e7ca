import { civilDayOfDate } from '../../axis/civil-day.ts';
import type { HolidayRule } from '../../axis/index.ts';
import { WEEKDAYS } from '../vocabulary.ts';
import { holidaySets } from './holiday-sets.ts';
import type { Element } from './version.ts';

/** The rules of a holiday, or of a list of them. */
export function resolveHoliday(holiday: Element<'holidays'>[number]): readonly HolidayRule[] {
  if (typeof holiday === 'string') return holidaySets[holiday];
  const common = {
    name: holiday.name,
    observed: 'none' as const,
    ...(holiday.since === undefined ? {} : { sinceYear: holiday.since }),
    ...(holiday.until === undefined ? {} : { untilYear: holiday.until }),
  };
  const monthAndDay = (text: string) => ({ month: Number(text.slice(0, 2)), dayOfMonth: Number(text.slice(3)) });
  if ('date' in holiday)
    return [{ ...common, observed: holiday.observed, on: { kind: 'date', ...monthAndDay(holiday.date) } }];
  if ('nth' in holiday)
    return [
      {
        ...common,
        on: {
          kind: 'nth-weekday',
          month: holiday.month,
          weekday: WEEKDAYS.indexOf(holiday.weekday) + 1,
          nth: holiday.nth,
        },
      },
    ];
  if ('onOrBefore' in holiday || 'onOrAfter' in holiday) {
    const before = 'onOrBefore' in holiday;
    return [
      {
        ...common,
        on: {
          kind: 'weekday-near',
          weekday: WEEKDAYS.indexOf(holiday.weekday) + 1,
          side: before ? 'on-or-before' : 'on-or-after',
          ...monthAndDay(before ? holiday.onOrBefore : holiday.onOrAfter),
        },
      },
    ];
  }
  if ('daysAfterEaster' in holiday)
    return [{ ...common, on: { kind: 'easter', offsetDays: holiday.daysAfterEaster, church: holiday.church } }];
  return [{ ...common, on: { kind: 'days', civilDays: holiday.dates.map(civilDayOfDate) } }];
}
