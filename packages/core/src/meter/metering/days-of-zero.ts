import { formatDate } from '../../axis/index.ts';
import { channelField, type IntervalSeries } from '../series.ts';
import { type MeteringFault, meteringFault } from './fault.ts';

/**
 * So many whole days of nothing but zeros in a row are asked about. One may be an outage and two a weekend with the main
 * switch off; a home that stays connected draws something on every night of three, sun or not. Common practice, no source.
 */
const LEAST_DAYS = 3;
/** So many are seldom real: a fortnight in which not even a router draws. */
const LIKELY_DAYS = 14;
/** A day at the edge of the data is whole from so many hours on: 23 where clocks go forward. */
const WHOLE_DAY_HOURS = 23;

/**
 * Whole days on which import or load is exactly 0: future days of an export, or readings lost and written as zero. Solar and
 * export are 0 for days on end in any dark week, and are not looked at: nor is what is read as import, where that seems to be what is sold.
 * One fault a channel, with the span of the longest run.
 *
 * @param faults told before these
 *
 * @returns for each channel looked at, 1 on the intervals of such days
 */
export function checkDaysOfZero(
  series: IntervalSeries,
  faults: MeteringFault[],
): { [C in 'import' | 'load']?: Uint8Array } {
  const { axis } = series;
  const { days } = axis.calendar;
  const marks: { [C in 'import' | 'load']?: Uint8Array } = {};
  for (const channel of ['import', 'load'] as const) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    const mark = new Uint8Array(axis.intervals);
    let count = 0;
    let daysInAll = 0;
    let longest = { first: 0, days: 0 };
    for (let d = 0; d < days.length; d++) {
      const first = d;
      while (d < days.length && isZeroDay(values, days[d]!, axis.stepHours)) d++;
      if (d - first < LEAST_DAYS) continue;
      const last = days[d - 1]!;
      const from = days[first]!.firstInterval;
      const end = last.firstInterval + last.intervals;
      mark.fill(1, from, end);
      count += end - from;
      daysInAll += d - first;
      if (d - first > longest.days) longest = { first, days: d - first };
    }
    if (count === 0) continue;
    marks[channel] = mark;
    const data = {
      channel,
      from: formatDate(days[longest.first]!),
      to: formatDate(days[longest.first + longest.days - 1]!),
      days: longest.days,
      daysInAll,
    };
    if (channel === 'import' && seemsSold(faults)) continue;
    const confidence = longest.days >= LIKELY_DAYS ? 'likely' : 'possible';
    faults.push(meteringFault('days-of-zero', data, { confidence, count }));
  }
  return marks;
}

/** Whether import and export seem to be exchanged, and the user doesn't say which is which. */
function seemsSold(faults: readonly MeteringFault[]): boolean {
  return faults.some(
    ({ code, data }) => (code === 'grid-reversed' || code === 'registers-exchanged') && data.stated !== true,
  );
}

function isZeroDay(
  values: Float64Array,
  { firstInterval, intervals }: { readonly firstInterval: number; readonly intervals: number },
  stepHours: number,
): boolean {
  if (intervals * stepHours < WHOLE_DAY_HOURS) return false;
  for (let i = firstInterval; i < firstInterval + intervals; i++) if (values[i] !== 0) return false;
  return true;
}
