import { keptLonger, movedWindows } from './candidates.ts';
import type { ClockWindow, SheetSchedule } from './sheet.ts';
import type { Run, Tried, Tries } from './tries.ts';

/** Times that all schedules are gone through at the most: weekdays once more beside weekends as they are moved. */
const ROUNDS = 3;

/**
 * The same sheets with charge windows moved within hours that cost no more, or going on into dearer ones, to where the printed one lasts longest. Each part of the
 * year was tried beside others as they were found by then: one that fills on the evening before asks for a weekend that
 * holds. So this is judged with all that was chosen. Schedules with the same windows are moved at once, then each by itself,
 * since nine in ten starts are of them all. The sheets of the halves are moved alike: two that fill on either side of
 * midnight leave a day between them without a charge, which no box that keeps to one of them has.
 *
 * @param runs the sheet of all of the data, then those of the halves
 * @param isBetter of the sheet of all of the data: asked first, so that little else is run
 * @param within all of them as they may be entered, judged apart; undefined where they cost too much
 */
export function longestMoved(
  tries: Tries,
  runs: readonly Run[],
  isBetter: (moved: Run, than: Run) => boolean,
  within: (moved: readonly Run[]) => readonly Run[] | undefined,
): readonly Run[] {
  const moves = new Moves();
  let now = runs;
  for (let round = 0; round < ROUNDS; round++) {
    const before = now;
    for (const group of groupsOf(now[0]!)) {
      const from = now;
      const part = tries.slots[group[0]!]!;
      const { schedule } = from[0]!.set[group[0]!]!;
      const longer = schedule.discharge === null ? keptLonger(part, schedule).map(({ charge }) => charge!) : [];
      for (const window of [...movedWindows(part.runs, schedule.charge!), ...longer]) {
        const movedOf = (run: Run) =>
          tries.together({
            ...run,
            set: run.set.map((one, s) =>
              group.includes(s) && chargesInHours(one.schedule) ? moves.of(one, window) : one,
            ),
          });
        if (!isBetter(movedOf(from[0]!), now[0]!)) continue;
        now = within(from.map(movedOf)) ?? now;
      }
    }
    if (now === before) break;
  }
  return now;
}

/** Schedules as they are moved: one that comes up again is the same, so that it is run once. */
class Moves {
  private readonly origins = new Map<Tried, Tried>();
  private readonly made = new Map<Tried, Map<string, Tried>>();

  of(one: Tried, charge: ClockWindow): Tried {
    const origin = this.origins.get(one) ?? one;
    const made = this.made.get(origin) ?? new Map([[keyOf(origin.schedule.charge!), origin]]);
    this.made.set(origin, made);
    const key = keyOf(charge);
    const moved = made.get(key) ?? { ...origin, schedule: { ...origin.schedule, charge } };
    made.set(key, moved);
    this.origins.set(moved, origin);
    return moved;
  }
}

function keyOf({ fromMinute, toMinute }: ClockWindow): string {
  return `${fromMinute} ${toMinute}`;
}

/** Schedules that are moved at once: all with the same windows, those of the same days alone, then each by itself. */
function groupsOf({ set }: Run): number[][] {
  const alike = new Map<string, number[]>();
  const add = (key: string, s: number) => alike.set(key, [...(alike.get(key) ?? []), s]);
  const single: number[][] = [];
  for (const [s, { schedule }] of set.entries()) {
    if (!chargesInHours(schedule)) continue;
    const { days, charge, discharge } = schedule;
    const windows = JSON.stringify([charge, discharge]);
    add(windows, s);
    add(`${windows} ${days}`, s);
    single.push([s]);
  }
  const groups = [...alike.values()].filter(({ length }) => length > 1);
  const first = new Set(groups.map((group) => group.join()));
  return [...groups.filter((group) => first.delete(group.join())), ...single];
}

/** Whether a schedule charges from the grid in a window of some hours. */
function chargesInHours({ charge, chargeToPercent }: SheetSchedule): boolean {
  return charge !== null && chargeToPercent > 0 && charge.fromMinute !== charge.toMinute;
}
