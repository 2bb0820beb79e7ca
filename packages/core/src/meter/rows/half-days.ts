import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { SettledDates } from '../table/dates.ts';
import { type Block, NO_OFFSET } from './block.ts';

const HALF_MS = DAY_MS / 2;
/** Dates that it takes to see a custom. */
const LEAST_DATES = 3;
/** Of the rows, those whose label stands before on the same date: half of all where AM and PM are lost. */
const LEAST_REPEATED = 0.3;
/** A clock that falls by more than this begins the other half of the day; by less, the hour that a clock change repeats. */
const LEAST_FALL_MS = 6 * HOUR_MS;
const MOST_REPEATED_MS = 3 * HOUR_MS;

/**
 * Gives times that lost their AM and PM (12:00, 1:00 … 11:00, and the same again on each date) their half of the day, by the
 * order of the rows. Leaves other files as they are.
 *
 * @returns false, with an error finding, where AM and PM are lost and the rows don't say which is which
 */
export function restoreHalves(blocks: readonly Block[], dates: SettledDates, findings: FindingList): boolean {
  if (blocks.length === 0 || !blocks.every((block) => isHalfClock(block, dates))) return true;
  const restored = blocks.map((block) => halvesOf(block, dates));
  const line = blocks[0]!.line[0]!;
  if (restored.includes(undefined)) {
    findings.add('half-days-unclear', 'error', {}, { line });
    return false;
  }
  for (const [k, block] of blocks.entries()) putHalves(block, restored[k]!, dates);
  findings.add('half-days-restored', 'warning', {}, { line });
  return true;
}

/** Whether no time is after 12:59, though the clock comes to its end, and many labels stand twice on their date. */
function isHalfClock({ count, timeMs, dateId, offset, anyMark }: Block, { civilDays }: SettledDates): boolean {
  if (anyMark) return false;
  const met = new Set<number>();
  const days = new Set<number>();
  let latestMs = 0;
  for (let i = 0; i < count; i++) {
    if (timeMs[i]! >= HALF_MS + HOUR_MS || offset[i] !== NO_OFFSET) return false;
    latestMs = Math.max(latestMs, timeMs[i]! % HALF_MS);
    days.add(civilDays[dateId[i]!]!);
    met.add(civilDays[dateId[i]!]! * DAY_MS + timeMs[i]!);
  }
  return days.size >= LEAST_DATES && latestMs >= HALF_MS - HOUR_MS && count - met.size >= LEAST_REPEATED * count;
}

/** Rows of one date in the order of time. */
interface DateRows {
  readonly rows: number[];
  /** Of each row 0 or 1, or 2 for the midnight at the date's end. */
  readonly half: number[];
}

/** The half of each row, or undefined where a date lacks one, has more than two, or its rows don't rise. */
function halvesOf(block: Block, { civilDays }: SettledDates): Uint8Array | undefined {
  const { count, dateId, timeMs } = block;
  // Of hours told by a number, twelve may be the first of a half or its last.
  if (block.plan.time.index >= 0) return undefined;
  let steps = 0;
  for (let i = 1; i < count; i++) steps += Math.sign(civilDays[dateId[i]!]! - civilDays[dateId[i - 1]!]!) || 0;
  const at = (k: number) => (steps < 0 ? count - 1 - k : k);
  const days: DateRows[] = [];
  let before = Number.NaN;
  let beforeMs = 0;
  for (let k = 0; k < count; k++) {
    const i = at(k);
    const day = civilDays[dateId[i]!]!;
    const ms = timeMs[i]! % HALF_MS;
    const isNext = day !== before;
    if (isNext && day < before) return undefined;
    if (isNext) days.push({ rows: [], half: [] });
    const { rows, half } = days.at(-1)!;
    const fall = isNext ? 0 : beforeMs - ms;
    if (fall > MOST_REPEATED_MS && fall <= LEAST_FALL_MS) return undefined;
    const now = (half.at(-1) ?? 0) + (fall > LEAST_FALL_MS ? 1 : 0);
    if (now > 2 || (now === 2 && ms !== 0)) return undefined;
    rows.push(i);
    half.push(now);
    before = day;
    beforeMs = ms;
  }
  const inFirst = days.map(({ half }) => half.filter((each) => each === 0).length).sort((a, b) => a - b);
  const usual = inFirst[inFirst.length >> 1]!;
  const halves = new Uint8Array(count);
  for (const [d, { rows, half }] of days.entries()) {
    const isEdge = d === 0 || d === days.length - 1;
    // A clock change adds an hour to a half or takes one, and of interval ends the first half has one row less.
    const isWhole = [0, 1].every(
      (one) => Math.abs(half.filter((each) => each === one).length - usual) <= usual / 12 + 1,
    );
    if (!isEdge && !isWhole) return undefined;
    // The first date may begin in the afternoon, but runs to its end.
    const last = half.at(-1)!;
    const isMidnight = timeMs[rows.at(-1)!]! % HALF_MS === 0;
    const shift = d > 0 ? 0 : (isMidnight ? 2 : 1) - last;
    if (shift < 0) return undefined;
    for (const [k, i] of rows.entries()) halves[i] = half[k]! + shift;
  }
  const startsAt = block.plan.time.labelEnd;
  return halves.includes(2) && startsAt.at === 'start' && startsAt.why !== 'assumed' ? undefined : halves;
}

function putHalves(block: Block, halves: Uint8Array, { civilDays }: SettledDates): void {
  const { count, dateId, timeMs, endDateId, endMs, plan } = block;
  for (let i = 0; i < count; i++) {
    const ms = (timeMs[i]! % HALF_MS) + halves[i]! * HALF_MS;
    if (endMs.length > 0) {
      const days = civilDays[endDateId[i]!]! - civilDays[dateId[i]!]!;
      const length = days * DAY_MS + endMs[i]! - timeMs[i]!;
      endDateId[i] = dateId[i]!;
      endMs[i] = ms + (((length % HALF_MS) + HALF_MS) % HALF_MS);
    }
    timeMs[i] = ms;
  }
  if (halves.includes(2) && plan.time.labelEnd.why === 'assumed') plan.time.labelEnd = { at: 'end', why: 'shows-24' };
}
