import type { Run, Tried, Tries } from './tries.ts';

/** Charge targets of the schedules that are told, each tried where it is above theirs; the highest first, since it lasts longest. */
export const HIGHER_TARGETS = [100, 90, 80, 70, 60, 50, 40, 30];

/** Schedules with another charge target: one that comes up again is the same, so that it is run once. */
export class Filled {
  private readonly made = new Map<Tried, Map<number, Tried>>();

  /** A schedule that charges from the grid, up to a higher target; itself where it charges none or as much. */
  to(one: Tried, percent: number): Tried {
    const { charge, chargeToPercent } = one.schedule;
    return charge === null || chargeToPercent === 0 || chargeToPercent >= percent ? one : this.withTarget(one, percent);
  }

  withTarget(one: Tried, chargeToPercent: number): Tried {
    const made = this.made.get(one) ?? new Map<number, Tried>();
    this.made.set(one, made);
    const other = made.get(chargeToPercent) ?? { ...one, schedule: { ...one.schedule, chargeToPercent } };
    made.set(chargeToPercent, other);
    return other;
  }
}

/**
 * The same sheets with the windows that were chosen filled further, to where the printed one lasts longest: in all parts of the
 * year at once, then in each. A search leaves out targets, and what costs the least of each part seldom stands beside what
 * fills it a little more. The sheets of the halves are filled alike.
 *
 * @param runs the sheet of all of the data, then those of the halves
 * @param isBetter of the sheet of all of the data: asked first, so that little else is run
 * @param within all of them as they may be entered, judged apart; undefined where they cost too much
 */
export function longestFilled(
  tries: Tries,
  filled: Filled,
  runs: readonly Run[],
  isBetter: (fuller: Run, than: Run) => boolean,
  within: (fuller: readonly Run[]) => readonly Run[] | undefined,
): readonly Run[] {
  let now = runs;
  const parts = [...runs[0]!.set.keys()];
  const groups = parts.length > 1 ? [parts, ...parts.map((s) => [s])] : [parts];
  for (const group of groups) {
    const from = now;
    for (const percent of HIGHER_TARGETS) {
      const filledOf = (run: Run) =>
        tries.together({
          ...run,
          set: run.set.map((one, s) => (group.includes(s) ? filled.to(one, percent) : one)),
        });
      if (!isBetter(filledOf(from[0]!), now[0]!)) continue;
      now = within(from.map(filledOf)) ?? now;
    }
  }
  return now;
}
