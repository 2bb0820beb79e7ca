import { type Axis, makeAxis } from '../axis/index.ts';
import type { ClockWindow, SheetSchedule } from '../dispatch/index.ts';
import { holdsIn } from '../dispatch/inside.ts';
import type { Study } from '../site/index.ts';
import type { BillTerm } from '../tariff/index.ts';
import { clockOf, layTariff } from '../tariff/inside.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import { controllerOf } from './strategies.ts';

/** Steps in which the tariff's own edges are looked for. */
const FINE_MINUTES = 5;

/** A sheet's schedules with the tariff's own edges, where these lie within the data's steps, and what is told of them. */
export interface OwnEdges {
  readonly schedules: readonly SheetSchedule[];
  readonly facts: readonly Fact[];
}

/**
 * Data of whole hours can't tell a window from 22:30 from one that begins at 23:00. Where the price changes within a step beside
 * an edge of the sheet, and the box takes that minute, and the run is the same by it, the tariff's own edge is entered; else it is
 * told. An edge with two such changes beside it stays.
 */
export function withOwnEdges(study: Study, schedules: readonly SheetSchedule[]): OwnEdges {
  const { axis, tariff } = study.home;
  if (!tariff.warnings.some(({ code }) => code === 'window-edge-inside-step')) return { schedules, facts: [] };
  const { startEpochMs, stepMinutes, intervals, zone } = axis;
  const fine = makeAxis({
    startEpochMs,
    stepMinutes: FINE_MINUTES,
    intervals: (intervals * stepMinutes) / FINE_MINUTES,
    zone,
  });
  const options = { ...study.tariffOptions, account: study.site.account };
  const { importPricePerKwh, terms } = layTariff(study.tariff, fine, options);
  const { clockMinutes } = controllerOf(study).controller;
  const starts = [...new Set(axis.calendar.minuteOfDay)];
  const moved = new Map<string, { sheet: string; own: string; entered: boolean }>();

  const own = (minute: number, changes: ReadonlySet<number>): number => {
    const near = [...changes].filter((at) => distance(at, minute) < stepMinutes && at !== minute);
    const [at] = near;
    if (changes.has(minute) || at === undefined || near.length > 1) return minute;
    // The run asks of each interval's start whether it lies in a window: with none between the two it is the same.
    const isSame = !starts.some((start) => isBetween(start, at, minute) || isBetween(start, minute, at));
    const entered = isSame && at % clockMinutes === 0;
    const edge = { sheet: clockOf(minute), own: clockOf(at), entered };
    moved.set(`${edge.sheet} ${edge.own}`, edge);
    return entered ? at : minute;
  };
  const placed = schedules.map((schedule) => {
    const { falls, rises } = changesOf(schedule, fine, importPricePerKwh);
    const move = (window: ClockWindow | null, from: ReadonlySet<number>, to: ReadonlySet<number>) =>
      window === null || window.fromMinute === window.toMinute
        ? window
        : { ...window, fromMinute: own(window.fromMinute, from), toMinute: own(window.toMinute, to) };
    return {
      ...schedule,
      charge: move(schedule.charge, falls, rises),
      discharge: move(schedule.discharge, rises, falls),
    };
  });
  const facts: Fact[] = [];
  const edges = [...moved.values()];
  if (edges.length > 0) facts.push(fact(STUDY_WORDS, 'edges-within-steps', 'warning', { stepMinutes, edges }));
  const ofDemand = demandBeside(placed, fine, terms, { starts, stepMinutes });
  if (ofDemand.length > 0)
    facts.push(fact(STUDY_WORDS, 'demand-within-steps', 'warning', { stepMinutes, edges: ofDemand }));
  return { schedules: placed, facts };
}

/** Edges of charges on power within the data's steps, beside an edge of the sheet that isn't theirs. */
function demandBeside(
  schedules: readonly SheetSchedule[],
  fine: Axis,
  terms: readonly BillTerm[],
  { starts, stepMinutes }: { readonly starts: readonly number[]; readonly stepMinutes: number },
) {
  const found = new Map<string, { charge: string; sheet: string; own: string }>();
  const { minuteOfDay } = fine.calendar;
  for (const schedule of schedules) {
    const ofSheet = [schedule.charge, schedule.discharge].flatMap((window) =>
      window === null || window.fromMinute === window.toMinute ? [] : [window.fromMinute, window.toMinute],
    );
    for (const term of terms) {
      if (term.kind !== 'demand') continue;
      const own = new Set<number>();
      for (let i = 1; i < fine.intervals; i++)
        if (term.group[i]! >= 0 !== term.group[i - 1]! >= 0 && holdsIn(fine, schedule, i)) own.add(minuteOfDay[i]!);
      for (const at of own) {
        if (starts.includes(at) || ofSheet.includes(at)) continue;
        for (const minute of ofSheet.filter((each) => distance(each, at) < stepMinutes)) {
          const edge = { charge: term.name, sheet: clockOf(minute), own: clockOf(at) };
          found.set(JSON.stringify(edge), edge);
        }
      }
    }
  }
  return [...found.values()];
}

/** Minutes of the day at which the price falls, or rises, on days on which a schedule holds; not both. */
function changesOf(schedule: SheetSchedule, fine: Axis, pricePerKwh: Float64Array) {
  const falls = new Set<number>();
  const rises = new Set<number>();
  const { minuteOfDay } = fine.calendar;
  for (let i = 1; i < fine.intervals; i++) {
    const change = pricePerKwh[i]! - pricePerKwh[i - 1]!;
    if (Math.abs(change) < 1e-9 || !holdsIn(fine, schedule, i)) continue;
    (change < 0 ? falls : rises).add(minuteOfDay[i]!);
  }
  const apartFrom = (some: ReadonlySet<number>, others: ReadonlySet<number>) =>
    new Set([...some].filter((minute) => !others.has(minute)));
  return { falls: apartFrom(falls, rises), rises: apartFrom(rises, falls) };
}

/** Minutes between two times of the day, round midnight. */
function distance(a: number, b: number): number {
  const apart = Math.abs(a - b) % 1440;
  return Math.min(apart, 1440 - apart);
}

/** Whether a minute lies at or after one of two near times and before the other, round midnight. */
function isBetween(minute: number, from: number, to: number): boolean {
  const length = (to - from + 1440) % 1440;
  return length < 720 && (minute - from + 1440) % 1440 < length;
}
