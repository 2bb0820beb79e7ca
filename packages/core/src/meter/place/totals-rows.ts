import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { kwhPer } from '../kwh.ts';
import { type ParseOptions, UNITS, type Unit } from '../options.ts';
import type { Evidence, Group, Stream, TotalsRow } from '../readings.ts';

/** Below this share of the column's energy a difference is one of rounding. */
const TOLD_SHARE = 0.005;
/** Above this share no savings rest on it, as where a bill says something else. */
const WITHHELD_SHARE = 0.05;
/** More times what its rows hold is no total, whatever their units: a number of something else, which may be private. */
const MOST_TIMES = 10_000;
/** Streams whose sums and differences a total may hold: 3⁵ of them. */
const MOST_COMBINED = 5;

/** A stream in the file's own values, summed so that any run of rows has its sum at once. */
interface Summed {
  readonly stream: Stream;
  readonly stepMs: number;
  /** `sums[k]` is of the first k readings. */
  readonly sums: Float64Array;
  /** Readings with which a day begins, whichever end of its interval a label names. */
  readonly dayBegins: readonly number[];
}

/** What a totals row says of a stream, and what the stream holds, kWh. */
interface Held {
  readonly row: TotalsRow;
  readonly totalKwh: number;
  readonly readKwh: number;
  /** Units of the values that would make the total of them. */
  readonly others: readonly Unit[];
}

/**
 * Holds each totals row against the rows that it may be the sum of: all of the file, those since another totals row, or
 * whole days before or after it (a day, a month). What fits is evidence. A total that fits in another unit is asked about;
 * any other is told with both figures, and savings are withheld where it is far off. Nothing is said against a total that
 * is the sum or difference of several channels.
 *
 * @param billed whether what is read is what was billed: then the total is of something else
 * @returns whether it asked
 */
export function holdTotals(
  rows: readonly TotalsRow[],
  groups: readonly Group[],
  options: ParseOptions,
  billed: boolean,
  findings: FindingList,
  evidence: Evidence,
): boolean {
  const all = groups.flatMap((group) => group.streams.map((stream) => summed(stream, group)));
  // A meter's running total has no sum.
  if (rows.length === 0 || all.some(({ stream }) => stream.cumulative)) return false;
  let asked = false;
  for (const column of new Set(rows.map((row) => row.column))) {
    const ofColumn = rows.filter((row) => row.column === column);
    const streams = all.filter(({ stream }) => stream.column === column);
    const [first] = streams;
    if (first === undefined) continue;
    const off: Held[] = [];
    let fits: TotalsRow | undefined;
    for (const [k, row] of ofColumn.entries()) {
      const others = ofColumn.filter((_, at) => at !== k).map(({ line }) => line);
      const held = hold(row, others, streams, all);
      if (held === undefined) fits ??= row;
      else if (held.readKwh === 0 || Math.abs(held.totalKwh / held.readKwh) <= MOST_TIMES) off.push(held);
    }
    const { source, unit } = first.stream;
    if (fits !== undefined)
      evidence.push(`the total on line ${fits.line} is the sum of its rows of ${source} in ${unit}`);
    const [held] = off;
    if (held === undefined) continue;
    const { row, totalKwh, readKwh } = held;
    const lines = off.map((each) => each.row.line);
    const about = { column: source, totalKwh, readKwh };
    if (fits === undefined && options.unit === undefined && !billed && held.others.length > 0) {
      findings.add(
        'totals-unit',
        'error',
        { ...about, unit: unit!, totalUnit: row.unit ?? null, others: held.others },
        { lines, count: off.length, key: source },
      );
      asked = true;
      continue;
    }
    const wholeKwh = Math.abs(sumBetween(first, 0, Number.POSITIVE_INFINITY)) * perValue(first);
    // Totals of days are off together; one of them that is of all the others stands for itself.
    const isOfPart = (each: Held) => Math.abs(each.totalKwh) < 0.5 * wholeKwh;
    const offKwh = (some: readonly Held[]) =>
      some.reduce((sum, each) => sum + Math.abs(each.totalKwh - each.readKwh), 0);
    const share = Math.max(
      Math.abs(totalKwh - readKwh) / Math.max(Math.abs(totalKwh), wholeKwh),
      offKwh(off.filter(isOfPart)) / Math.max(wholeKwh, sumOfTotals(off.filter(isOfPart))),
    );
    findings.add(
      'totals-differ',
      'warning',
      { ...about, share, withheld: share > WITHHELD_SHARE && !billed },
      { lines, count: off.length, key: source },
    );
  }
  return asked;
}

function sumOfTotals(some: readonly Held[]): number {
  return some.reduce((sum, { totalKwh }) => sum + Math.abs(totalKwh), 0);
}

function summed(stream: Stream, { labels, stepMs }: Group): Summed {
  const { values } = stream;
  const sums = new Float64Array(values.length + 1);
  for (let i = 0; i < values.length; i++) sums[i + 1] = sums[i]! + (values[i]! || 0);
  const dayBegins: number[] = [];
  const dayOf = (i: number, lateMs: number) => Math.floor((labels.labelMs[i]! - lateMs) / DAY_MS);
  for (let i = 1; i < values.length; i++)
    if (dayOf(i, 0) !== dayOf(i - 1, 0) || dayOf(i, 1) !== dayOf(i - 1, 1)) dayBegins.push(i);
  return { stream, stepMs, sums, dayBegins };
}

function perValue({ stream, stepMs }: Summed): number {
  return kwhPer(stream.unit!, stepMs);
}

/** How many readings stand above a line of the file. */
function above({ stream: { labels, values } }: Summed, line: number): number {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (labels.line[middle]! < line) low = middle + 1;
    else high = middle;
  }
  return low;
}

function sumBetween(of: Summed, fromLine: number, toLine: number): number {
  return of.sums[above(of, toLine)]! - of.sums[above(of, fromLine)]!;
}

/** Undefined where a totals row is what its rows hold, or the sum or difference of channels. */
function hold(
  row: TotalsRow,
  otherLines: readonly number[],
  streams: readonly Summed[],
  all: readonly Summed[],
): Held | undefined {
  const earlier = otherLines.filter((line) => line < row.line);
  const later = otherLines.filter((line) => line > row.line);
  const end = Number.POSITIVE_INFINITY;
  /** Runs of rows that it may be the sum of, by their lines: the whole first. */
  const runs: [number, number][] = [
    [0, end],
    [0, row.line],
    [row.line, end],
    [Math.max(0, ...earlier), row.line],
    [row.line, Math.min(end, ...later)],
  ];
  const [first] = streams as [Summed];
  const { unit, stepMs } = { unit: first.stream.unit!, stepMs: first.stepMs };
  // Without a unit of its own a total is in the column's, summed as energy or as it stands, or in kWh.
  const totals =
    row.unit === undefined
      ? [row.total * kwhPer(unit, stepMs), row.total * kwhPer(unit, HOUR_MS), row.total]
      : [row.total * kwhPer(row.unit, stepMs)];
  const roundingKwh = (row.rounding / Math.abs(row.total)) * Math.max(...totals.map(Math.abs));
  const isNear = (kwh: number, slack: number) => totals.some((total) => Math.abs(kwh - total) <= slack);
  const near = (kwh: number) => isNear(kwh, TOLD_SHARE * Math.abs(kwh) + roundingKwh);
  const factor = perValue(first);
  const sumOf = ([from, to]: readonly [number, number]) =>
    streams.reduce((sum, of) => sum + sumBetween(of, from, to), 0);
  for (const run of runs) {
    if (near(sumOf(run) * factor) || streams.some((of) => near(sumBetween(of, ...run) * factor))) return undefined;
    if (isCombined(all, run, near)) return undefined;
  }
  for (const of of streams) {
    const at = above(of, row.line);
    const begins = [...of.dayBegins, ...earlier.map((line) => above(of, line))];
    if (begins.some((k) => isNear(Math.abs(of.sums[k]! - of.sums[at]!) * factor, 2 * roundingKwh + 1e-9)))
      return undefined;
  }
  const filled = runs.map(sumOf).filter((sum) => sum !== 0);
  const [totalKwh] = totals as [number];
  const gap = (kwh: number) => Math.abs(Math.log(Math.abs(kwh / totalKwh)));
  const readKwh = filled.map((sum) => sum * factor).sort((a, b) => gap(a) - gap(b))[0] ?? 0;
  const makes = (other: Unit) =>
    filled.some((sum) => {
      const kwh = sum * kwhPer(other, stepMs);
      const own = row.unit === undefined ? row.total * kwhPer(unit, HOUR_MS) : totalKwh;
      return Math.abs(kwh - own) <= TOLD_SHARE * Math.abs(kwh);
    });
  const others = UNITS.filter((other) => other !== unit && kwhPer(other, stepMs) !== factor && makes(other));
  return { row, totalKwh: row.unit === undefined ? row.total * kwhPer(unit, HOUR_MS) : totalKwh, readKwh, others };
}

/** Whether a total is several channels added, or less each other. */
function isCombined(all: readonly Summed[], run: readonly [number, number], near: (kwh: number) => boolean): boolean {
  const parts = all.slice(0, MOST_COMBINED).map((of) => sumBetween(of, ...run) * perValue(of));
  if (parts.length < 2) return false;
  for (let code = 1; code < 3 ** parts.length; code++)
    if (near(parts.reduce((sum, part, k) => sum + ((Math.floor(code / 3 ** k) % 3) - 1) * part, 0))) return true;
  return false;
}
