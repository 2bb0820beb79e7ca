export {
  type Axis,
  type AxisOptions,
  intervalAt,
  intervalStartMs,
} from './axis.ts';
export { type BillingRule, billingPeriods, type PeriodSpan } from './billing-periods.ts';
export type { Calendar, LocalDay } from './calendar.ts';
export {
  civilDayOf,
  civilDayOfDate,
  dateOfCivilDay,
  formatDate,
  weekdayOfCivilDay,
} from './civil-day.ts';
export {
  type HolidayDate,
  type HolidayRule,
  holidayDays,
  type ObservedRule,
  orthodoxEaster,
  westernEaster,
} from './holidays.ts';
export { makeAxis } from './make-axis.ts';
export { STEP_MINUTES } from './steps.ts';
export { epochAtLocal, isZone, type LocalTimeChoice, type OffsetSpan, offsetMinutesAt, offsetSpans } from './zone.ts';
