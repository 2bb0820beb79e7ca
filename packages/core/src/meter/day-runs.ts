import { dateOfCivilDay, formatDate } from '../axis/civil-day.ts';

/** Runs of days that a sentence tells one by one. */
const MOST_RUNS = 6;

/** Days in order, as runs of days after each other; both ends included. */
export function dayRuns(days: readonly number[]): { readonly from: number; readonly to: number }[] {
  const runs: { from: number; to: number }[] = [];
  for (const day of days) {
    const last = runs.at(-1);
    if (last !== undefined && last.to === day - 1) last.to = day;
    else runs.push({ from: day, to: day });
  }
  return runs;
}

/** The first runs of civil days as dates, fit for a sentence. */
export function toldRuns(civilDays: readonly number[]): { readonly from: string; readonly to: string }[] {
  return dayRuns(civilDays)
    .slice(0, MOST_RUNS)
    .map(({ from, to }) => ({ from: dateOf(from), to: dateOf(to) }));
}

export function dateOf(civilDay: number): string {
  return formatDate(dateOfCivilDay(civilDay));
}
