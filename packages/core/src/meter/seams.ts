import { DAY_MS, MINUTE_MS } from './durations.ts';
import type { FindingList } from './findings.ts';
import { CHANNELS, type Channel, channelField, type IntervalSeries } from './series.ts';
import { dateAt } from './span.ts';

/** Days on either side of a seam that are held against each other, and the fewest that tell anything. */
const MOST_DAYS = 28;
const LEAST_DAYS = 7;
/** Heat and a season don't triple what a home draws from one month to the next. */
const OTHER_TIMES = 3;
/** Files whose ends lie further apart say nothing of each other: a season has passed. */
const MOST_APART_DAYS = 31;

/** A file that ends where another begins, each with what it holds there. */
interface Side {
  readonly kwhADay: number;
  readonly days: number;
}

/**
 * Tells where one file of a channel follows another and a day suddenly holds several times as much, or as little: they may
 * measure different things, a home and one of its circuits, or a meter and another.
 */
export function noteSeams(parts: readonly IntervalSeries[], findings: FindingList): void {
  for (const channel of CHANNELS) {
    // What sun and sales come to depends on the season; what is drawn does less.
    if (channel === 'export' || channel === 'solar') continue;
    const own = parts
      .filter((part) => part[channelField(channel)] !== undefined && !isIdleRegister(part, channel))
      .sort((a, b) => a.axis.startEpochMs - b.axis.startEpochMs);
    for (const [k, later] of own.entries()) {
      const earlier = own[k - 1];
      if (earlier === undefined) continue;
      if (later.axis.startEpochMs - earlier.axis.endEpochMs > MOST_APART_DAYS * DAY_MS) continue;
      noteSeam(channel, earlier, later, findings);
    }
  }
}

/** Whether all that a file holds of a channel is a register that counted nothing: others have what the home took. */
function isIdleRegister(part: IntervalSeries, channel: Channel): boolean {
  const isNamed = part.parts?.some((each) => each.channel === channel) === true;
  return isNamed && !part[channelField(channel)]!.some((kwh) => kwh > 0);
}

function noteSeam(channel: Channel, earlier: IntervalSeries, later: IntervalSeries, findings: FindingList): void {
  // Where both tell of the same days they were compared interval by interval.
  const seamMs = Math.max(later.axis.startEpochMs, earlier.axis.endEpochMs);
  if (later.axis.endEpochMs <= seamMs) return;
  const before = sideOf(earlier, channel, earlier.axis.endEpochMs - MOST_DAYS * DAY_MS, earlier.axis.endEpochMs);
  const after = sideOf(later, channel, seamMs, seamMs + MOST_DAYS * DAY_MS);
  if (before.days < LEAST_DAYS || after.days < LEAST_DAYS) return;
  const [less, more] = before.kwhADay < after.kwhADay ? [before, after] : [after, before];
  if (!(more.kwhADay > OTHER_TIMES * less.kwhADay)) return;
  findings.add(
    'seam-differs',
    'warning',
    { channel, from: dateAt(later.axis, 0), beforeKwhADay: before.kwhADay, afterKwhADay: after.kwhADay },
    { key: `${channel} ${seamMs}` },
  );
}

/** What a channel holds a day between two instants, gaps aside. */
function sideOf({ axis, ...series }: IntervalSeries, channel: Channel, fromMs: number, toMs: number): Side {
  const values = series[channelField(channel)]!;
  const stepMs = axis.stepMinutes * MINUTE_MS;
  const first = Math.max(0, Math.round((fromMs - axis.startEpochMs) / stepMs));
  const end = Math.min(values.length, Math.round((toMs - axis.startEpochMs) / stepMs));
  let kwh = 0;
  let known = 0;
  for (let i = first; i < end; i++) {
    if (Number.isNaN(values[i]!)) continue;
    kwh += values[i]!;
    known++;
  }
  const days = (known * stepMs) / DAY_MS;
  return { kwhADay: days > 0 ? kwh / days : 0, days };
}
