import { DAY_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { TotalsRow } from '../readings.ts';
import type { SettledDates } from '../table/dates.ts';
import type { Block } from './block.ts';

/** A row that has a date and no time. */
export interface RowWithoutTime {
  readonly line: number;
  readonly dateId: number;
  /** What may be quoted of its date. */
  readonly cell: string | undefined;
  /** The energy in it, by column. */
  readonly totals: readonly TotalsRow[];
}

/** Rounding of a day's readings, and of their sum. */
const ROUNDING_SHARE = 0.002;
/** Fewer rows of a day are no day: one may hold as much as another. */
const FEWEST_ROWS = 6;
/** Of rows that could be told, those that have to be the sum of their day: of the others a reading may be lost. */
const LEAST_FIT = 0.5;
/** How many times the sum of a day's readings its total may be: of mean power by steps of 1 hour, 30, 15, 10 and 5 minutes. */
const TIMES = [1, 1 / 2, 1 / 4, 1 / 6, 1 / 12];

/**
 * Rows whose date has no time are the sums of their day where most of them are what the day's own rows come to, whichever end of
 * its interval a label names. Then all are left out, and that is said; else each is a row that can't be read.
 *
 * @returns their totals, which are held against the readings; undefined where they are none
 */
export function daySums(
  rows: readonly RowWithoutTime[],
  blocks: readonly Block[],
  { civilDays }: SettledDates,
  findings: FindingList,
): TotalsRow[] | undefined {
  const columns = new Set(rows.flatMap(({ totals }) => totals.map(({ column }) => column)));
  const areSums = [...columns].some((column) =>
    [0, 1].some((lateMs) => {
      const days = daysOf(blocks, column, civilDays, lateMs);
      return TIMES.some((times) => fitMost(rows, column, days, civilDays, times));
    }),
  );
  if (!areSums) {
    for (const { line, cell } of rows)
      findings.add('unreadable-row', 'warning', { why: 'no-date-or-time' }, { line, cell });
    const read = blocks.reduce((all, { count }) => all + count, 0);
    if (rows.length > read / 2) findings.add('mostly-unreadable', 'error', { unreadable: rows.length, read });
    return undefined;
  }
  for (const { line } of rows) findings.add('totals-row', 'note', { why: 'date-without-time' }, { line });
  return rows.flatMap(({ totals }) => totals);
}

/** What a column's rows of each date come to, and how many they are. */
function daysOf(blocks: readonly Block[], column: number, civilDays: Float64Array, lateMs: number) {
  const days = new Map<number, { sum: number; rows: number }>();
  for (const { plan, values, dateId, timeMs, count } of blocks)
    for (const [v, of] of plan.values.entries()) {
      if (of.column + 1 !== column) continue;
      for (let i = 0; i < count; i++) {
        const value = values[v]![i]!;
        if (Number.isNaN(value)) continue;
        const at = Math.floor((civilDays[dateId[i]!]! * DAY_MS + timeMs[i]! - lateMs) / DAY_MS);
        const day = days.get(at) ?? { sum: 0, rows: 0 };
        days.set(at, { sum: day.sum + value, rows: day.rows + 1 });
      }
    }
  return days;
}

function fitMost(
  rows: readonly RowWithoutTime[],
  column: number,
  days: ReturnType<typeof daysOf>,
  civilDays: Float64Array,
  times: number,
): boolean {
  let [fit, told] = [0, 0];
  for (const { dateId, totals } of rows) {
    const own = totals.find((each) => each.column === column);
    const day = days.get(civilDays[dateId]!);
    // Nothing is the sum of nothing: it says no more.
    if (own === undefined) continue;
    told++;
    if (day === undefined || day.rows < FEWEST_ROWS) continue;
    const sum = day.sum * times;
    if (Math.abs(own.total - sum) <= ROUNDING_SHARE * Math.abs(sum) + own.rounding + 1e-9) fit++;
  }
  return fit > LEAST_FIT * told;
}
