import type { OutageReport } from '@duskbank/core/study';
import { hours } from './numbers.ts';

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
  const carries =
    storm.hours === null
      ? `${hours(storm.planningHours, cap)} at the worst (no sun, 80 % of capacity)`
      : `${hours(storm.hours, cap)} or more in 9 of 10 ${season}, ${hours(storm.planningHours, cap)} at the worst (no sun, 80 % of capacity)`;
  return `Storm coming: hold back 100 % the day before; ${fill}${cold}. It then carries${carried === '' ? ' the backed-up load' : carried} for ${carries}.`;
}
