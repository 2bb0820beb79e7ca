import { DAY_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Evidence, LabelEnd } from '../readings.ts';
import type { HeaderCell } from '../table/header.ts';
import { findColumn, type Shape } from '../table/shape.ts';
import { areRanges, StampReader } from '../table/stamps.ts';
import { namesUtc } from '../table/utc-name.ts';

/** So many readings a date are those of hours, or of a part of a day in finer steps. */
const LEAST_A_DATE = 20;

/** Where the time of a row stands. */
export interface TimePlan {
  /** Column with date and time, or with the date alone. */
  stamp: number;
  /** Column with the time of day, −1 where `stamp` has it. */
  time: number;
  /** Column with the hour or interval number, −1 for none; `time` is −1 then. */
  index: number;
  /** Length of what `index` counts, ms, and the number that the first has. */
  indexMs: number;
  indexBase: number;
  /** Column with the interval's end (date and time, or time of day), −1 for none. */
  end: number;
  endTime: number;
  /** The label's own cell prints both ends: `2026-01-01 00:00 to 00:15`. */
  bothEnds: boolean;
  /** They stand as an offset would: `2026-01-01 00:00-01:00`. */
  ranges: boolean;
  labelEnd: LabelEnd;
  /** The name of its column says that times are UTC. */
  isUtc: boolean;
}

export function planTime(
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): TimePlan | undefined {
  const { classes, header } = shape;
  const stated = options.columns;
  const plan: TimePlan = {
    stamp: -1,
    time: -1,
    index: -1,
    indexMs: 0,
    indexBase: 0,
    end: -1,
    endTime: -1,
    bothEnds: false,
    ranges: false,
    labelEnd: { at: 'start', why: 'assumed' },
    isUtc: false,
  };
  const statedTime =
    stated !== undefined && (stated.start !== undefined || stated.end !== undefined || stated.date !== undefined);
  if (statedTime) {
    const column = (field: 'start' | 'end' | 'date' | 'time' | 'endTime') =>
      stated[field] === undefined ? -1 : findColumn(shape, stated[field], field, findings);
    plan.stamp = column('date') >= 0 ? column('date') : column('start');
    plan.time = column('time');
    plan.end = column('end');
    plan.endTime = column('endTime');
    if (plan.stamp < 0) {
      plan.stamp = plan.end;
      plan.end = -1;
      plan.labelEnd = { at: 'end', why: 'stated' };
    } else plan.labelEnd = { at: 'start', why: 'stated' };
    if (plan.stamp < 0) return undefined;
  } else {
    const stampColumns = columnsOf(classes, 'stamp');
    const dateColumns = columnsOf(classes, 'date');
    const timeColumns = columnsOf(classes, 'time');
    const isEnd = (c: number) => header[c]?.time === 'end';
    // Two stamps: start and end. A stamp and a date: the stamp. Dates and times apart: joined.
    const starts = stampColumns.filter((c) => !isEnd(c));
    const ends = stampColumns.filter(isEnd);
    if (stampColumns.length > 0) {
      if (starts.length > 0) {
        plan.stamp = starts.find((c) => header[c]?.time === 'start') ?? starts[0]!;
        plan.end = ends[0] ?? -1;
        if (plan.end >= 0 || header[plan.stamp]?.time === 'start') plan.labelEnd = { at: 'start', why: 'column-name' };
      } else {
        plan.stamp = ends[0]!;
        plan.labelEnd = { at: 'end', why: 'column-name' };
      }
    } else if (dateColumns.length > 0) {
      plan.stamp = dateColumns.find((c) => !isEnd(c)) ?? dateColumns[0]!;
      if (timeColumns.length > 0) {
        const startTimes = timeColumns.filter((c) => !isEnd(c));
        plan.time = startTimes.find((c) => header[c]?.time === 'start') ?? startTimes[0] ?? timeColumns[0]!;
        const endTime = timeColumns.find(
          (c) => c !== plan.time && (isEnd(c) || header[c] === undefined || header[c]?.time === 'plain'),
        );
        if (endTime !== undefined) plan.endTime = endTime;
        if (endTime !== undefined || header[plan.time]?.time === 'start')
          plan.labelEnd = { at: 'start', why: 'column-names' };
        else if (startTimes.length === 0) plan.labelEnd = { at: 'end', why: 'column-name' };
      } else if (!planIndex(shape, plan)) {
        findings.add('no-interval-data', 'error', withoutTimes(shape, plan.stamp));
        return undefined;
      } else plan.labelEnd = { at: 'start', why: 'layout' };
    } else {
      findings.add('no-time-column', 'error', { why: 'no-dates' });
      return undefined;
    }
  }
  if (statedTime && plan.time < 0 && classes[plan.stamp] === 'date' && !planIndex(shape, plan)) {
    findings.add('no-interval-data', 'error', withoutTimes(shape, plan.stamp));
    return undefined;
  }
  plan.isUtc = [plan.stamp, plan.time].some((column) => namesUtc(shape.names[column] ?? ''));
  if (plan.end < 0 && plan.endTime < 0 && plan.index < 0) {
    const stamps = new StampReader();
    plan.ranges = plan.time < 0 && areRanges(shape.rows.map(({ cells }) => cells[plan.stamp] ?? ''));
    stamps.ranges = plan.ranges;
    const withBoth = shape.rows.filter(({ cells }) => {
      const text = cells[plan.time >= 0 ? plan.time : plan.stamp] ?? '';
      return (plan.time >= 0 ? stamps.readTime(text) : stamps.read(text) >= 0) && !Number.isNaN(stamps.endMs);
    });
    plan.bothEnds = withBoth.length > shape.rows.length / 2;
    if (plan.bothEnds) plan.labelEnd = { at: 'start', why: 'both-ends' };
  }
  if (options.intervalEnd !== undefined && plan.index < 0) {
    plan.labelEnd = { at: options.intervalEnd ? 'end' : 'start', why: 'stated' };
  } else if (plan.labelEnd.why === 'assumed') {
    // 24:00 is never a start.
    const stamps = new StampReader();
    const shows24 = shape.rows.some((row) => {
      const text = row.cells[plan.time >= 0 ? plan.time : plan.stamp] ?? '';
      return (plan.time >= 0 ? stamps.readTime(text) : stamps.read(text) >= 0) && stamps.timeMs === DAY_MS;
    });
    if (shows24) plan.labelEnd = { at: 'end', why: 'shows-24' };
  }
  evidence.push(
    plan.labelEnd.why === 'layout' ? `column ${plan.index + 1} counts the intervals of the day` : plan.labelEnd,
  );
  return plan;
}

/** An hour or interval number beside the date: 0–23, 1–24, 1–48, 1–96, `HE01`. */
function planIndex(shape: Shape, plan: TimePlan): boolean {
  for (let c = 0; c < shape.width; c++) {
    const head = shape.header[c];
    if (c === plan.stamp || head?.role !== undefined) continue;
    // A name in another language says nothing here; that it counts on through each date does.
    if (
      head?.time === undefined &&
      shape.names.length > 0 &&
      ((head !== undefined && isOfSomethingElse(head)) || !countsThroughDates(shape, plan, c))
    )
      continue;
    let least = Number.POSITIVE_INFINITY;
    let most = Number.NEGATIVE_INFINITY;
    let whole = true;
    // 0030, 1545: hours and minutes without a mark. A day of 25 hours has a hundred quarters, and they are none.
    let hoursAndMinutes = true;
    for (const row of shape.rows) {
      const text = (row.cells[c] ?? '').trim();
      if (!/^(?:[A-Za-z]{1,8}[ _]?)?\d{1,4}$/.test(text)) {
        whole = false;
        break;
      }
      const n = Number(text.replace(/^\D+/, ''));
      least = Math.min(least, n);
      most = Math.max(most, n);
      if (n % 100 >= 60) hoursAndMinutes = false;
    }
    if (!whole || shape.rows.length < 2 || least > 1) continue;
    const hundreds = hoursAndMinutes && most >= 100 && most % 100 === 0;
    const perDay = [24, 48, 96, 144, 288].find((n) => most - least + 1 <= n + n / 24 && most > n / 2 - 1);
    if (perDay === undefined && !hundreds) continue;
    plan.index = c;
    plan.indexBase = least;
    plan.indexMs = hundreds ? DAY_MS / 2400 : DAY_MS / perDay!;
    return true;
  }
  return false;
}

function isOfSomethingElse({ skip, tells, unit }: HeaderCell): boolean {
  return skip !== undefined || tells !== undefined || unit !== undefined;
}

/** Whether a column's numbers rise by one from row to row of a date and begin again with the next date. */
function countsThroughDates({ rows }: Shape, { stamp }: TimePlan, column: number): boolean {
  let restarts = 0;
  for (let k = 1; k < rows.length; k++) {
    const [before, now] = [rows[k - 1]!.cells, rows[k]!.cells];
    const n = Number(now[column]);
    if (before[stamp] === now[stamp]) {
      if (n !== Number(before[column]) + 1) return false;
    } else if (n > 1) return false;
    else restarts++;
  }
  return restarts > 0;
}

/** Rows of a date alone: one or two a date are figures of days, many are intervals whose times are lost. */
function withoutTimes({ rows }: Shape, stamp: number) {
  const dates = new Map<string, number>();
  for (const { cells } of rows) {
    const date = (cells[stamp] ?? '').trim();
    if (date !== '') dates.set(date, (dates.get(date) ?? 0) + 1);
  }
  // The sample may end within the last date.
  const counts = [...dates.values()].sort((a, b) => b - a);
  const [most = 0] = counts;
  return most >= LEAST_A_DATE && rows.length / dates.size >= LEAST_A_DATE / 2
    ? ({ why: 'times-lost', aDate: counts[Math.floor((counts.length - 1) / 2)]! } as const)
    : ({ why: 'no-time-of-day' } as const);
}

function columnsOf(classes: readonly string[], kind: string): number[] {
  const found: number[] = [];
  for (let c = 0; c < classes.length; c++) if (classes[c] === kind) found.push(c);
  return found;
}
