import type { Axis } from '../axis/index.ts';
import { dateOf, toldRuns } from './day-runs.ts';
import { MINUTE_MS } from './durations.ts';
import type { FindingList } from './findings.ts';
import type { Channel, IntervalSeries } from './series.ts';
import { dateAt } from './span.ts';

/** Files that differ by more than this share of what they hold together, over a day or more, measure different things. */
const OTHER_QUANTITY_SHARE = 0.1;

/** Files that have no more days in common are one after the other, with a day that one of them holds in part. */
const SHORT_OVERLAP_DAYS = 7;

/** Energy of one file, laid where it belongs on the axis that all files share. */
export interface Held {
  readonly kwh: Float64Array;
  readonly marks?: Uint8Array | undefined;
}

/** What two files both hold. */
export interface Both {
  readonly first: number;
  readonly last: number;
  readonly intervals: number;
  readonly knownKwh: number;
  readonly otherKwh: number;
  readonly apartKwh: number;
  /** Of the intervals, those in which they differ, by more than rounding. */
  readonly differing: readonly number[];
}

/** Energy of a series on the axis that all files share: NaN where it has none. */
export function laidOn(axis: Axis, part: IntervalSeries, kwh: Float64Array): Held {
  const shift = Math.round((part.axis.startEpochMs - axis.startEpochMs) / (axis.stepMinutes * MINUTE_MS));
  const laid = new Float64Array(axis.intervals).fill(Number.NaN);
  const marks = part.estimated === undefined ? undefined : new Uint8Array(axis.intervals);
  for (let i = Math.max(0, -shift); i < kwh.length && i + shift < laid.length; i++) {
    laid[i + shift] = kwh[i]!;
    if (marks !== undefined) marks[i + shift] = part.estimated![i]!;
  }
  return { kwh: laid, marks };
}

export function compared(known: Float64Array, other: Float64Array): Both {
  const both = { first: -1, last: -1, intervals: 0, knownKwh: 0, otherKwh: 0, apartKwh: 0 };
  const differing: number[] = [];
  for (let i = 0; i < known.length; i++) {
    const [one, value] = [known[i]!, other[i]!];
    if (Number.isNaN(one) || Number.isNaN(value)) continue;
    if (both.first < 0) both.first = i;
    both.last = i;
    both.intervals++;
    both.knownKwh += one;
    both.otherKwh += value;
    both.apartKwh += Math.abs(one - value);
    if (Math.abs(one - value) > 1e-9 + 1e-6 * one) differing.push(i);
  }
  return { ...both, differing };
}

/** Whether what two files both hold is of different things. */
export function contradict({ intervals, apartKwh, knownKwh, otherKwh }: Both, { stepHours }: Axis): boolean {
  return (
    intervals * stepHours >= 24 && apartKwh > 0.1 && apartKwh > OTHER_QUANTITY_SHARE * Math.max(knownKwh, otherKwh)
  );
}

/**
 * @param beside registers of one of the files that may stand beside what the other holds, fit to print
 * @param addable whether the user's word to add one of them to the other would be taken
 */
export function tellContradiction(
  both: Both,
  channel: Channel,
  axis: Axis,
  findings: FindingList,
  { beside, addable }: { readonly beside?: readonly string[]; readonly addable?: true } = {},
): void {
  findings.add(
    'overlap-contradicts',
    'error',
    {
      channel,
      from: dateAt(axis, both.first),
      to: dateAt(axis, both.last),
      ...(both.differing.length === 0 ? { alike: true } : besideFewDays(both, axis)),
      firstKwh: both.knownKwh,
      otherKwh: both.otherKwh,
      ...(beside === undefined ? {} : { beside }),
      ...(addable === true ? { addable } : {}),
    },
    { count: both.intervals, energyKwh: both.apartKwh, key: channel },
  );
}

/**
 * The days before and after those on which files differ, where they agree on as many others at least, or have but few in
 * common: one of the two has a few wrong days. Where they differ all along, cutting one would make a year of two different things.
 */
function besideFewDays({ first, last, differing }: Both, axis: Axis) {
  const days = civilDaysOf(axis, differing);
  const [from, to] = civilDaysOf(axis, [first, last]) as [number, number?];
  const all = (to ?? from) - from + 1;
  return 2 * days.length > all && all > SHORT_OVERLAP_DAYS
    ? {}
    : { dayBefore: dateOf(days[0]! - 1), dayAfter: dateOf(days.at(-1)! + 1) };
}

/**
 * Files of one thing as one: where several hold an interval the first counts, and that is told.
 *
 * @param estimated gets the marks of what is taken
 * @returns undefined, with an error finding, where two of them contradict each other
 */
export function overlay(
  files: readonly Held[],
  channel: Channel,
  axis: Axis,
  estimated: Uint8Array,
  findings: FindingList,
): Float64Array | undefined {
  const values = new Float64Array(axis.intervals).fill(Number.NaN);
  let equal = 0;
  const differing: number[] = [];
  let firstKwh = 0;
  let otherKwh = 0;
  let differingKwh = 0;
  for (const { kwh, marks } of files) {
    const both = compared(values, kwh);
    if (contradict(both, axis)) {
      tellContradiction(both, channel, axis, findings);
      return undefined;
    }
    equal += both.intervals - both.differing.length;
    for (const i of both.differing) {
      differing.push(i);
      firstKwh += values[i]!;
      otherKwh += kwh[i]!;
      differingKwh += Math.abs(values[i]! - kwh[i]!);
    }
    for (let i = 0; i < values.length; i++) {
      if (!Number.isNaN(values[i]!) || Number.isNaN(kwh[i]!)) continue;
      values[i] = kwh[i]!;
      if (marks !== undefined && marks[i]! > estimated[i]!) estimated[i] = marks[i]!;
    }
  }
  if (equal > 0) findings.add('overlap-equal', 'note', { channel }, { count: equal, key: channel });
  if (differing.length > 0)
    findings.add(
      'overlap-differs',
      'warning',
      { channel, runs: toldRuns(civilDaysOf(axis, differing)), firstKwh, otherKwh },
      { count: differing.length, energyKwh: differingKwh, key: channel },
    );
  return values;
}

/** The civil days that intervals lie on, in order. */
export function civilDaysOf({ calendar }: Axis, intervals: readonly number[]): number[] {
  const days = new Set(intervals.map((i) => calendar.day[i]!));
  return [...days].sort((a, b) => a - b).map((d) => calendar.days[d]!.civilDay);
}
