import { dateOfCivilDay, formatDate } from '../../axis/civil-day.ts';
import { offsetMinutesAt } from '../../axis/index.ts';
import { DAY_MS, MINUTE_MS } from '../durations.ts';
import { readFeed } from './feed.ts';
import { MONEY } from './streams.ts';

/** A bill that a meter file tells. */
export interface ToldBill {
  /** First and last day. */
  readonly start: string;
  readonly end: string;
  /** Money. */
  readonly total: number;
}

/**
 * The bills that the usage summaries of an ESPI feed tell, of electricity. None where they are of several usage points: whose
 * they are isn't known; nor where all are 0, which is how feeds write that they don't say.
 *
 * @see NAESB REQ.21, espi.xsd 4.0: UsageSummary.billingPeriod, billLastPeriod (hundred-thousandths of the currency)
 */
export function feedBills(text: string, zone: string): ToldBill[] {
  const feed = readFeed(text);
  if ('refused' in feed) return [];
  // Kinds of service above 0 are gas, water and the like.
  const electric = feed.bills.filter(({ point }) => !((feed.pointKinds.get(point) ?? 0) > 0));
  if (new Set(electric.map(({ point }) => point)).size > 1 || electric.every(({ billed }) => billed === 0)) return [];
  // A period begins at midnight of some clock: of the home, its standard time or UTC. The nearest one tells the day.
  const midnight = (seconds: number) => {
    const ms = seconds * 1000;
    return Math.round((ms + offsetMinutesAt(zone, ms) * MINUTE_MS) / DAY_MS);
  };
  const dated = electric.map(({ start, duration, billed }) => ({
    first: midnight(start),
    last: midnight(start + duration) - 1,
    total: Number((billed * MONEY).toFixed(5)),
  }));
  return dated
    .filter(({ first, last }) => last >= first)
    .map(({ first, last, total }) => ({
      start: formatDate(dateOfCivilDay(first)),
      end: formatDate(dateOfCivilDay(last)),
      total,
    }));
}
