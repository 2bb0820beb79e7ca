import { minuteOf } from '../outage/inside.ts';
import type { Study } from '../site/index.ts';

/** When nobody is home to change over, as the site states it. */
export interface Away {
  readonly from: string;
  readonly to: string;
  readonly days?: 'weekdays' | 'all' | undefined;
}

/**
 * The starts of outages with nobody home to change over by hand, where the site states when, and a circuit is listed that minds. What
 * is held back doesn't help then.
 *
 * @returns 1 where nobody is; undefined where none is stated or nothing minds
 */
export function unattendedStarts({ home, island, site }: Study): Uint8Array | undefined {
  const { kind, away } = site.backup?.transfer ?? {};
  if (kind !== 'manual' || away === undefined || !island.circuits.some(({ unattended }) => unattended))
    return undefined;
  const { minuteOfDay, weekday } = home.axis.calendar;
  const from = minuteOf(away.from);
  const length = minutesAway(away);
  return Uint8Array.from(minuteOfDay, (minute, i) => {
    if ((minute - from + 1440) % 1440 >= length) return 0;
    // Over midnight it is of the day on which it began.
    const day = minute < from ? ((weekday[i]! + 5) % 7) + 1 : weekday[i]!;
    return away.days === 'all' || day <= 5 ? 1 : 0;
  });
}

/** Their share of all starts; null where none is known. */
export function unattendedShare(study: Study): number | null {
  const starts = unattendedStarts(study);
  return starts === undefined ? null : starts.reduce((sum, one) => sum + one, 0) / starts.length;
}

/** Hours of a week, of 168. */
export function awayHours(away: Away): number {
  return Number(((minutesAway(away) / 60) * (away.days === 'all' ? 7 : 5)).toFixed(1));
}

/** Of a day: all of it where they end at the time at which they begin. */
function minutesAway({ from, to }: Away): number {
  return (minuteOf(to) - minuteOf(from) + 1440) % 1440 || 1440;
}
