import { check, number, oneOf, type Rule, report, vouchFor } from '../input/door.ts';
import { type Axis, type AxisOptions, MOST_MS } from './axis.ts';
import { makeCalendar } from './calendar.ts';
import { MAX_INTERVALS, STEP_MINUTES } from './steps.ts';
import { aZone } from './zone.ts';

const wholeMinute: Rule = (value, path, looking) => {
  const good = Number.isInteger(value) && (value as number) % 60_000 === 0 && Math.abs(value as number) <= MOST_MS;
  if (!good) report(looking, path, 'out-of-range', value, 'a whole minute, in ms since 1970-01-01 UTC');
};

/**
 * Builds an axis and computes its local calendar once.
 *
 * The axis' phase is free (zones at +5:30 and meters that start at 00:10 keep theirs); the instants
 * need only be whole minutes.
 *
 * @throws InputError `unknown-zone` | `out-of-range` | `not-allowed`
 * @example makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 15, intervals: 96, zone: 'Etc/UTC' })
 */
export function makeAxis(options: AxisOptions): Axis {
  check(options, {
    zone: aZone,
    stepMinutes: oneOf(STEP_MINUTES, 'out-of-range'),
    intervals: number({ whole: true, least: 1, most: MAX_INTERVALS }),
    startEpochMs: wholeMinute,
  });
  const { startEpochMs, stepMinutes, intervals, zone } = options;
  const stepMs = stepMinutes * 60_000;
  return vouchFor('axis', {
    startEpochMs,
    stepMinutes,
    stepHours: stepMinutes / 60,
    intervals,
    endEpochMs: startEpochMs + intervals * stepMs,
    zone,
    calendar: makeCalendar(startEpochMs, stepMs, intervals, zone),
  });
}
