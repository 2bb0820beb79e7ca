import type { Reserve } from './floors.ts';

type Stated = NonNullable<Reserve['planned']>[number];

/** Planned outages of which the next begins before the last one is over, or as it ends: the grid is down from the first to the last. */
export interface JoinedOutages {
  readonly from: string;
  readonly to: string;
  /** How many of the list they are. */
  readonly outages: number;
}

/**
 * Planned outages in the order of their dates, those that touch or overlap as the one that they are for a battery: it is filled by
 * the notice of the first, and the grid is due back when the last one ends.
 */
export function joinPlanned(planned: readonly Stated[]): {
  readonly planned: Stated[];
  readonly joined: JoinedOutages[];
} {
  const whole: (Stated & { readonly outages: number })[] = [];
  for (const outage of planned.toSorted((a, b) => a.from.localeCompare(b.from))) {
    const before = whole.at(-1);
    if (before === undefined || outage.from > before.to) whole.push({ ...outage, outages: 1 });
    else
      whole[whole.length - 1] = {
        ...before,
        to: outage.to > before.to ? outage.to : before.to,
        noticeHours:
          outage.from === before.from ? Math.min(outage.noticeHours, before.noticeHours) : before.noticeHours,
        outages: before.outages + 1,
      };
  }
  return {
    planned: whole.map(({ from, to, noticeHours }) => ({ from, to, noticeHours })),
    joined: whole.filter(({ outages }) => outages > 1).map(({ from, to, outages }) => ({ from, to, outages })),
  };
}
