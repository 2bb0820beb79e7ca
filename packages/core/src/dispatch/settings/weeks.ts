import { leastOf } from './pool.ts';
import { type ClockWindow, type SheetSchedule, settingsOf } from './sheet.ts';
import { HALVES, type Half, type Slot, type Tried, type Tries } from './tries.ts';

/**
 * What a box that can do less would be told, tried on the other parts of the year: weekdays' schedules at weekends, a season's in
 * the others. Else a box that tells them apart could miss what one that doesn't is told.
 *
 * @param tried by part of the year: what was tried beside them is added to it
 */
export function tryElsewhere(
  tries: Tries,
  slots: readonly Slot[],
  gridChargeKw: number,
  windowsPerDay: number,
  tried: Tried[][],
): void {
  const ownOf = (s: number) => HALVES.flatMap((half) => onesOf(slots[s]!, tried[s]!, half, windowsPerDay));
  const own = slots.flatMap((part, s) => (isWeekend(part) ? [] : ownOf(s)));
  // Each part is judged beside those before it, as what was tried on it first.
  const found = tried.map((of) => leastOf(of, 0).schedule);
  const added = slots.map((part, s) => {
    const { months, days } = part.slot;
    const known = new Set(tried[s]!.map(({ schedule }) => settingsOf(schedule)));
    const others = own.filter(({ schedule }) => {
      const settings = settingsOf(schedule);
      if (known.has(settings)) return false;
      known.add(settings);
      return true;
    });
    if (others.length === 0) return [];
    const before = found.slice(0, s).map((schedule, k) => ({ of: slots[k]!, schedule }));
    tries.begin(
      part,
      before.filter(({ of }) => of.slot.months === months),
      gridChargeKw,
    );
    tries.one(tried[s]![0]!.schedule, gridChargeKw);
    return others.map(({ schedule }) => tries.one({ ...schedule, months, days }, gridChargeKw));
  });
  for (const [s, more] of added.entries()) tried[s]!.push(...more);
}

/**
 * Whole weeks to begin a search with, which no change of one schedule at a time comes to: weekdays that fill from the end of
 * their dearest hours on with weekends that hold, else either would spend what the other fills; and one schedule for all days,
 * or all year.
 */
export function weeksOf(
  slots: readonly Slot[],
  tried: readonly (readonly Tried[])[],
  half: Half,
  windowsPerDay: number,
): Tried[][] {
  const like = (s: number, schedule: SheetSchedule) =>
    tried[s]!.find((one) => settingsOf(one.schedule) === settingsOf(schedule));
  const holdsOf = (s: number) =>
    tried[s]!.filter(({ schedule: { charge } }) => charge !== null && charge.fromMinute === charge.toMinute);
  const holdAt = (s: number, percent: number) =>
    holdsOf(s).find(({ schedule }) => schedule.chargeToPercent === percent);
  const kinds = slots.map((part, s) => onesOf(part, tried[s]!, half, windowsPerDay));
  const weekdaysOf = (s: number) =>
    slots.findIndex((part) => !isWeekend(part) && part.slot.months === slots[s]!.slot.months);
  const weeks: (Tried | undefined)[][] = [];
  const count = Math.max(...kinds.map((of) => of.length));
  for (let kind = 0; kind < count; kind++) {
    const own = (s: number) => kinds[s]?.[kind] ?? kinds[s]?.[0];
    const atWeekends = [
      (s: number, weekdays: Tried) => like(s, weekdays.schedule),
      (s: number) => holdAt(s, 100),
      (s: number) => holdAt(s, 0),
    ];
    for (const weekend of slots.some(isWeekend) ? atWeekends : atWeekends.slice(0, 1))
      weeks.push(
        slots.map((part, s) => {
          if (!isWeekend(part)) return own(s);
          const weekdays = own(weekdaysOf(s));
          return weekdays === undefined ? leastOf(tried[s]!, half) : weekend(s, weekdays);
        }),
      );
  }
  const ones = slots.flatMap((part, s) => (isWeekend(part) ? [] : kinds[s]!));
  // Where no hour is dearer than another, what is held on weekdays alone is spent at weekends.
  const holds = slots.every(({ runs }) => runs.length === 1) ? holdsOf(0) : [];
  for (const { schedule } of [...ones, ...holds]) weeks.push(slots.map((_, s) => like(s, schedule)));
  return weeks.filter((set): set is Tried[] => set.every((one) => one !== undefined));
}

/** Of a part of the year: the cheapest, the cheapest with one window, and what fills from the end of the dearest hours on for longest. */
function onesOf({ runs }: Slot, tried: readonly Tried[], half: Half, windowsPerDay: number): Tried[] {
  const ones = [leastOf(tried, half)];
  const dearest = runs.reduce((best, run) => (run.price > best.price + 1e-9 ? run : best));
  const minutes = ({ fromMinute, toMinute }: ClockWindow) => (toMinute - fromMinute + 1440) % 1440;
  const length = ({ schedule: { charge } }: Tried) => minutes(charge!);
  const filling = tried.filter(
    ({ schedule: { charge, chargeToPercent, discharge } }) =>
      charge?.fromMinute === dearest.toMinute &&
      chargeToPercent === 100 &&
      discharge === null &&
      minutes(charge) + minutes(dearest) <= 1440,
  );
  if (filling.length > 0) ones.push(filling.reduce((best, one) => (length(one) > length(best) ? one : best)));
  if (windowsPerDay > 1) {
    const simple = tried.filter(({ schedule: { charge, discharge } }) => charge === null || discharge === null);
    ones.push(leastOf(simple, half));
  }
  return [...new Set(ones)];
}

const isWeekend = ({ slot }: Slot) => slot.days === 'weekends';
