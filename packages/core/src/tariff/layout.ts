import { dateOfCivilDay } from '../axis/civil-day.ts';
import type { Axis, PeriodSpan } from '../axis/index.ts';
import type { Account } from './account.ts';
import type { RatedCharge, SetPlan } from './charges.ts';
import type { PeriodDays } from './period-days.ts';
import type { Schedule } from './schedule.ts';
import type { Tariff } from './tariff.ts';
import type { Cells } from './terms/term.ts';

/** A tariff laid out on an axis, before prices and terms are added up. */
export interface Layout {
  readonly tariff: Tariff;
  readonly axis: Axis;
  readonly account: Account;
  readonly schedule: Schedule;
  /** One a version. */
  readonly setPlans: readonly SetPlan[];
  readonly spans: readonly PeriodSpan[];
  readonly days: PeriodDays;
  readonly charges: readonly RatedCharge[];
  readonly cells: Cells;
}

/** The cells of an axis: a slot of the schedule in one billing period. */
export function makeCells(axis: Axis, spans: readonly PeriodSpan[], { slot, slots }: Schedule): Cells {
  const cellOf = new Int32Array(spans.length * slots.length).fill(-1);
  const cellPeriod: number[] = [];
  const cellSlot: number[] = [];
  const runStart: number[] = [];
  const runCell: number[] = [];
  for (let p = 0; p < spans.length; p++) {
    const { first, end } = spans[p]!;
    let last = -1;
    for (let i = first; i < end; i++) {
      const s = slot[i]!;
      if (s === last) continue;
      last = s;
      let cell = cellOf[p * slots.length + s]!;
      if (cell < 0) {
        cell = cellPeriod.length;
        cellOf[p * slots.length + s] = cell;
        cellPeriod.push(p);
        cellSlot.push(s);
      }
      runStart.push(i);
      runCell.push(cell);
    }
  }
  runStart.push(axis.intervals);
  return {
    runStart: Int32Array.from(runStart),
    runCell: Int32Array.from(runCell),
    period: Int32Array.from(cellPeriod),
    slot: Int32Array.from(cellSlot),
    periodStart: Int32Array.from([...spans.map((span) => span.first), axis.intervals]),
  };
}

/** An array over the axis from one over cells. */
export function spread({ axis, cells }: Layout, ofCell: Int32Array): Int32Array {
  const { runStart, runCell } = cells;
  const values = new Int32Array(axis.intervals);
  for (let r = 0; r < runCell.length; r++) {
    const value = ofCell[runCell[r]!]!;
    const end = runStart[r + 1]!;
    for (let i = runStart[r]!; i < end; i++) values[i] = value;
  }
  return values;
}

/** The groups of a term whose groups are the billing periods. */
export function periodGroups({ axis, spans }: Layout): Int32Array {
  const group = new Int32Array(axis.intervals);
  for (const [p, span] of spans.entries()) group.fill(p, span.first, span.end);
  return group;
}

/** 0, 1, 2, …: the billing periods of the groups of such a term. */
export function eachPeriod({ spans }: Layout): Int32Array {
  return Int32Array.from({ length: spans.length }, (_, p) => p);
}

/** Whether a period's bill settles the netting year: its last day lies in the true-up's month. */
export function endsYear(span: PeriodSpan, trueUpMonth: number | undefined): boolean {
  return trueUpMonth !== undefined && dateOfCivilDay(span.endDay).month === trueUpMonth;
}
