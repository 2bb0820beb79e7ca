export { type Axis, type AxisOptions, intervalAt, intervalStartMs, makeAxis, STEP_MINUTES } from './axis.ts';
export {
  type Calendar,
  civilDayOf,
  dateOfCivilDay,
  formatDate,
  type LocalDay,
  weekdayOfCivilDay,
} from './calendar.ts';
export { epochAtLocal, isZone, type LocalTimeChoice, type OffsetSpan, offsetMinutesAt, offsetSpans } from './zone.ts';
