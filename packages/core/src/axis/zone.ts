import { IANAZone } from 'luxon';
import { check, number, oneOf, type Rule, report } from '../input/door.ts';

/** A stretch of time in which a zone's offset from UTC doesn't change. */
export interface OffsetSpan {
  /** First instant of the span, ms since the epoch. */
  readonly fromEpochMs: number;
  /** Local time minus UTC, in minutes (−420 in Denver's winter). */
  readonly offsetMinutes: number;
}

/** Whether the name is an IANA zone that this runtime knows. */
export function isZone(zone: string): boolean {
  if (typeof zone !== 'string' || !zone.includes('/')) return zone === 'UTC';
  return IANAZone.create(zone).isValid;
}

/** The name of a zone that the runtime knows. */
export const aZone: Rule = (value, path, looking) => {
  if (!isZone(value as string))
    report(
      looking,
      path,
      'unknown-zone',
      value,
      'an IANA time zone such as "America/Denver"',
      'an offset such as "UTC-7" has no clock changes and no history: name the zone instead',
    );
};

/** An instant that a `Date` can hold, with a year about it. */
const anInstant = number({ least: -8.6e15, most: 8.6e15 });

/** Longest time that offsets are looked up over, ms: a thousand years. */
const LONGEST_MS = 1000 * 366 * 86_400_000;

/**
 * Local time minus UTC at one instant, in minutes.
 * @throws InputError `unknown-zone` | `out-of-range`
 */
export function offsetMinutesAt(zone: string, epochMs: number): number {
  check({ zone, epochMs }, { zone: aZone, epochMs: anInstant });
  return zoneOffsetMinutes(zone, epochMs);
}

/** {@link offsetMinutesAt} of a zone that was checked: looking whether the runtime knows a zone takes a third of a millisecond. */
export function zoneOffsetMinutes(zone: string, epochMs: number): number {
  return IANAZone.create(zone).offset(epochMs);
}

const DAY_MS = 86_400_000;

/**
 * Every change of a zone's offset in `[startEpochMs, endEpochMs)`, found by looking twice a week and
 * halving where two looks differ. No rule is assumed, so half-hour shifts and zones that change their
 * mind come out right; a shift and its undoing within half a week would be missed (none is known).
 *
 * @returns spans in order; the first starts at `startEpochMs`
 * @throws InputError `unknown-zone` | `out-of-range`: the end before the start, or a thousand years after it
 */
export function offsetSpans(zone: string, startEpochMs: number, endEpochMs: number): OffsetSpan[] {
  check({ zone, startEpochMs }, { zone: aZone, startEpochMs: anInstant });
  check({ endEpochMs }, { endEpochMs: number({ least: startEpochMs, most: startEpochMs + LONGEST_MS }) });
  const clock = IANAZone.create(zone);
  const spans: OffsetSpan[] = [{ fromEpochMs: startEpochMs, offsetMinutes: clock.offset(startEpochMs) }];
  let known = startEpochMs;
  let offset = spans[0]!.offsetMinutes;
  while (known < endEpochMs) {
    const next = Math.min(known + 7 * DAY_MS, endEpochMs);
    if (clock.offset(next) === offset && clock.offset((known + next) / 2) === offset) {
      known = next;
      continue;
    }
    let last = known;
    let first = clock.offset((known + next) / 2) === offset ? next : (known + next) / 2;
    while (first - last > 60_000) {
      const middle = Math.floor((last + first) / 120_000) * 60_000;
      if (clock.offset(middle) === offset) last = middle;
      else first = middle;
    }
    first = Math.floor(first / 60_000) * 60_000;
    if (first >= endEpochMs) break;
    offset = clock.offset(first);
    spans.push({ fromEpochMs: first, offsetMinutes: offset });
    known = first;
  }
  return spans;
}

/** A clock's reading such as "2026-08-12T09:00", as ms since 1970 on that clock; NaN where it is none, as on 30 February. */
export function localMs(reading: string): number {
  const ms = /^\d{4}-\d\d-\d\dT\d\d:\d\d$/.test(reading) ? Date.parse(`${reading}:00Z`) : Number.NaN;
  // 30 February is read as a day of March.
  return !Number.isNaN(ms) && new Date(ms).toISOString().startsWith(reading) ? ms : Number.NaN;
}

/** How a local time that the clock skips or repeats is settled. */
export type LocalTimeChoice = 'earlier' | 'later';

/**
 * The instant at which a zone's clock shows a local time. A time that occurs twice gives the earlier or
 * the later of the two; one that is skipped gives the instant that the clock would have shown it at, had
 * it changed late (`'later'`) or early (`'earlier'`).
 *
 * @param localMs the clock's reading, as ms since 1970-01-01 00:00 on that clock
 * @throws InputError `unknown-zone` | `out-of-range` | `not-allowed`
 */
export function epochAtLocal(zone: string, localMs: number, choice: LocalTimeChoice = 'earlier'): number {
  check({ zone, localMs, choice }, { zone: aZone, localMs: anInstant, choice: oneOf(['earlier', 'later']) });
  return instantAtLocal(zone, localMs, choice);
}

/** {@link epochAtLocal} of a zone and a time that were checked. */
export function instantAtLocal(zone: string, localMs: number, choice: LocalTimeChoice = 'earlier'): number {
  const clock = IANAZone.create(zone);
  const before = clock.offset(localMs - DAY_MS);
  const after = clock.offset(localMs + DAY_MS);
  const early = localMs - Math.max(before, after) * 60_000;
  const late = localMs - Math.min(before, after) * 60_000;
  const earlyFits = early + clock.offset(early) * 60_000 === localMs;
  const lateFits = late + clock.offset(late) * 60_000 === localMs;
  if (earlyFits && lateFits) return choice === 'earlier' ? early : late;
  if (earlyFits) return early;
  if (lateFits) return late;
  return choice === 'earlier' ? early : late;
}
