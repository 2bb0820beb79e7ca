import { settingsOf } from './sheet.ts';
import type { Run, Tries } from './tries.ts';

/** Hours of backup that differ by no more are the same. */
const NO_HOURS = 0.001;

/**
 * A run of the sheet that is printed, with one row for weekdays and weekends where a row of its own for either changes no bill
 * and no hours, at any hour or on evenings: it would be typed in for nothing.
 */
export function withoutIdleRows(tries: Tries, run: Run): Run {
  const noMoney = 0.5 * 10 ** -tries.currencyDecimals;
  let now = run;
  for (const [s, { schedule }] of run.set.entries()) {
    const w = run.set.findIndex((other, k) => k > s && other.schedule.months === schedule.months);
    if (w < 0 || settingsOf(schedule) === settingsOf(run.set[w]!.schedule)) continue;
    for (const [from, to] of [
      [s, w],
      [w, s],
    ] as const) {
      const { days } = now.set[to]!.schedule;
      const alike = { ...now.set[to]!, schedule: { ...now.set[from]!.schedule, days } };
      const other = tries.together({ ...now, set: now.set.with(to, alike) });
      const isSame =
        other.bills[0] <= now.bills[0] + noMoney &&
        other.costs[0] <= now.costs[0] + noMoney &&
        tries.hours(other, 0) >= tries.hours(now, 0) - NO_HOURS &&
        tries.eveningHours(other) >= tries.eveningHours(now) - NO_HOURS;
      if (!isSame) continue;
      now = other;
      break;
    }
  }
  return now;
}
