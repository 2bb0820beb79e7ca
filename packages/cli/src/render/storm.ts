import type { OutageReport } from '@duskbank/core/study';
import { hours, isDark } from './numbers.ts';

export const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** `Jun, Jul, Aug` */
export function monthList(months: readonly number[]): string {
  return months.map((month) => MONTHS[month - 1]).join(', ');
}

/** What to set before a storm, how long filling takes, and what it then carries. */
export function stormLine(
  storm: Pick<NonNullable<OutageReport['storm']>, 'fillHours' | 'hours' | 'planningHours' | 'months' | 'tooColdMonths'>,
  carried: string,
  cap: number,
): string {
  const fill =
    storm.fillHours === null
      ? 'only sun can fill it, so set it days before'
      : storm.fillHours < 0.05
        ? 'it is full already'
        : `full after ${hours(storm.fillHours)} at most`;
  const cold =
    storm.tooColdMonths === undefined ? '' : `, but not in ${monthList(storm.tooColdMonths)}: too cold to charge`;
  const season = storm.months === null ? 'outages' : `outages in ${monthList(storm.months)}`;
  const atWorst = isDark(storm.planningHours)
    ? 'not at all at the worst, where more is drawn than the battery gives'
    : `${hours(storm.planningHours, cap)} at the worst (no sun, 80 % of capacity)`;
  const load = carried === '' ? ' the backed-up load' : carried;
  const carries =
    storm.hours === null
      ? `It then carries${load} ${isDark(storm.planningHours) ? '' : 'for '}${atWorst}.`
      : isDark(storm.hours)
        ? `Even so one of 10 ${season} or more is dark at once: more is drawn than the battery gives.`
        : `It then carries${load} for ${hours(storm.hours, cap)} or more in 9 of 10 ${season}, ${atWorst}.`;
  return `Storm coming: hold back 100 % the day before; ${fill}${cold}. ${carries}`;
}
