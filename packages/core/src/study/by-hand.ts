import type { Study } from '../site/index.ts';

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
  const minuteAt = (clock: string) => 60 * Number(clock.slice(0, 2)) + Number(clock.slice(3));
  const [from, to] = [minuteAt(away.from), minuteAt(away.to)];
  return Uint8Array.from(minuteOfDay, (minute, i) => {
    const past = (minute - from + 1440) % 1440;
    if (past >= ((to - from + 1440) % 1440 || 1440)) return 0;
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
