import { offsetSpans } from '../../axis/index.ts';
import { zoneOffsetMinutes } from '../../axis/inside.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../durations.ts';
import type { ParseOptions } from '../options.ts';
import type { Labels } from '../readings.ts';
import { spanOf } from './label-span.ts';

/**
 * What the first and the last label of whole days speak for. `either`: so run ends of the home's days, and so do starts of
 * days by another clock that files are cut by.
 */
export interface DayRun {
  readonly at: 'start' | 'end' | 'either';
  /** The days are those of the home, by labels that are instants. */
  readonly isOfHome?: boolean;
}

/** A year, and a day more. */
const AROUND_MS = 366 * DAY_MS;

/**
 * How days run from the first label to the last. Labels without an offset are times of day as they stand, and so are those
 * with the home's own. `Z`, or another place's offset, is how a portal stores times: days that begin at its midnight are
 * told by their starts; else the home's own days count.
 */
export function runOf(labels: Labels, stepMs: number, zone: string, stated: ParseOptions['clock']): DayRun | undefined {
  const span = spanOf(labels);
  const [first, last] = span;
  const offsetsAt = span.map((ms) => zoneOffsetMinutes(zone, ms) * MINUTE_MS) as [number, number];
  const isOneStepAhead = offsetsAt.every((offsetMs) => offsetMs === stepMs);
  if (labels.clock === 'local' && stated !== 'utc') {
    const at = wholeDays(first, last, stepMs);
    return at && { at: at === 'end' && isOneStepAhead ? 'either' : at };
  }
  const offsets = (labels.offsetMinutes ?? [0]).map((minutes) => minutes * MINUTE_MS);
  const ofZone = offsetSpans(zone, first - AROUND_MS, last + DAY_MS).map((each) => each.offsetMinutes * MINUTE_MS);
  const isHomes = offsets.some((offsetMs) => offsetMs !== 0) && offsets.every((offsetMs) => ofZone.includes(offsetMs));
  const atHome = wholeDays(first + offsetsAt[0], last + offsetsAt[1], stepMs);
  const [only = 0] = offsets;
  let written = isHomes ? atHome : undefined;
  if (offsets.length === 1) written = wholeDays(first + only, last + only, stepMs);
  if (written === 'start') return { at: 'start' };
  if (isHomes && written === 'end') return { at: isOneStepAhead ? 'either' : 'end' };
  if (atHome === 'start') return { at: 'start', isOfHome: true };
  // A clock that is an hour late makes whole days of another place run so too.
  if (atHome === undefined) return written && stepMs < HOUR_MS ? { at: written } : undefined;
  const standardMs = Math.min(...ofZone);
  const isOtherClock = offsetsAt.every((offsetMs) => {
    const otherMs = offsetMs - stepMs;
    // Between the two is the next zone's standard time, by which a market may count its days: in South Australia, say.
    return otherMs === 0 || otherMs === standardMs || (otherMs > standardMs && otherMs % HOUR_MS === 0);
  });
  return { at: isOtherClock && offsetsAt[0] === offsetsAt[1] ? 'either' : 'end', isOfHome: true };
}

/** Which end of intervals the first and the last time of day speak for. */
function wholeDays(first: number, last: number, stepMs: number): 'start' | 'end' | undefined {
  if (first % DAY_MS === stepMs && last % DAY_MS === 0) return 'end';
  return first % DAY_MS === 0 && last % DAY_MS === DAY_MS - stepMs ? 'start' : undefined;
}
