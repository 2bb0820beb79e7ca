import type { Axis } from '../../axis/index.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { type ClockWindow, holdsIn, inWindow, type SheetSchedule } from './sheet.ts';

/** What a controller lets its owner enter. */
export interface Controller {
  /** Clock windows a day, for charging and for discharging together: 0, 1 or 2. */
  readonly windowsPerDay: number;
  /** Schedules over the year: 1 for one all year. */
  readonly seasons: number;
  /** A schedule of its own for weekends. */
  readonly weekends: boolean;
  /** Step of its clock, minutes. */
  readonly clockMinutes: number;
}

const TARGETS = [100, 80, 60, 40, 20];
const LENGTHS_HOURS = [2, 3, 4, 6];
/** Of a window that begins with the price: filling early lasts longer in the night, and earns the same. */
const EARLY_HOURS = [2, 4];

/** The year's schedules that the controller can hold apart, all empty. */
export function slotsOf(axis: Axis, tariff: CompiledTariff, controller: Controller): SheetSchedule[] {
  const seasons = seasonsOf(axis, tariff, controller.seasons);
  const empty = { charge: null, chargeToPercent: 0, discharge: null };
  return seasons.flatMap((months): SheetSchedule[] =>
    controller.weekends
      ? [
          { months, days: 'weekdays', ...empty },
          { months, days: 'weekends', ...empty },
        ]
      : [{ months, days: 'every day', ...empty }],
  );
}

/** What is dear at the same hours is of another season where it is dearer by more than this, as a share. */
const DEARER = 0.1;

/**
 * Months that share a schedule, as far as the controller tells seasons apart: those whose dearest hours are the same; where these are the
 * same all year, those whose kW, else whose dearest kWh, cost more; where all of it is the same, the warm and the cold half.
 */
function seasonsOf(axis: Axis, tariff: CompiledTariff, count: number): number[][] {
  const { month, minuteOfDay } = axis.calendar;
  // A sheet says nothing of months that the data don't hold.
  const seenMonths = new Set(month);
  const year = Array.from({ length: 12 }, (_, m) => m + 1).filter((m) => seenMonths.has(m));
  if (count <= 1) return [year];
  const byPrice = new Map<string, number[]>();
  const spreads = new Map<number, number>();
  for (const m of year) {
    const hours = new Float64Array(24);
    const seen = new Float64Array(24);
    for (let i = 0; i < axis.intervals; i++) {
      if (month[i] !== m) continue;
      const hour = Math.floor(minuteOfDay[i]! / 60);
      hours[hour] = Math.max(hours[hour]!, tariff.importPricePerKwh[i]!);
      seen[hour] = 1;
    }
    if (seen.every((flag) => flag === 0)) continue;
    const dearest = Math.max(...hours);
    spreads.set(m, dearest - Math.min(...hours.filter((_, hour) => seen[hour] === 1)));
    const key = Array.from(hours, (price) => (price > 0.98 * dearest ? 'x' : '.')).join('');
    const months = byPrice.get(key);
    if (months === undefined) byPrice.set(key, [m]);
    else months.push(m);
  }
  const groups = [...byPrice.values()];
  if (groups.length > 1) {
    while (groups.length > count) groups[count - 1]!.push(...groups.pop()!);
    return groups;
  }
  const known = demandPrices(axis, tariff);
  // A month that the data cut in two is taken for the one after it.
  const perKw = new Map(
    year.map((m) => [m, known.get(m) ?? known.get((m % 12) + 1) ?? known.get(((m + 10) % 12) + 1) ?? 0]),
  );
  return (
    dearerMonths(perKw) ??
    dearerMonths(spreads) ??
    [
      [4, 5, 6, 7, 8, 9],
      [10, 11, 12, 1, 2, 3],
    ]
      .map((half) => half.filter((m) => seenMonths.has(m)))
      .filter((half) => half.length > 0)
  );
}

/** A billing period of fewer days is cut off by the data, and what a kW costs in it is a part of a month's. */
const WHOLE_PERIOD_DAYS = 26;

/**
 * What a kW costs in each month at the most, all charges on power together; nothing told of months of which the data hold no whole period.
 */
function demandPrices({ calendar, stepHours }: Axis, { terms }: CompiledTariff): Map<number, number> {
  const prices = new Map<number, number>();
  for (const term of terms) {
    if (term.kind !== 'demand') continue;
    const { group, pricePerKw } = term;
    const spans = Array.from(pricePerKw, () => ({ first: -1, last: -1, months: new Set<number>() }));
    for (let i = 0; i < group.length; i++) {
      if (group[i]! < 0) continue;
      const span = spans[group[i]!]!;
      if (span.first < 0) span.first = i;
      if (span.last < 0 || calendar.month[i] !== calendar.month[span.last]) span.months.add(calendar.month[i]!);
      span.last = i;
    }
    const most = new Map<number, number>();
    for (const [g, { first, last, months }] of spans.entries())
      if ((last - first) * stepHours >= 24 * WHOLE_PERIOD_DAYS)
        for (const m of months) most.set(m, Math.max(most.get(m) ?? Number.NEGATIVE_INFINITY, pricePerKw[g]!));
    for (const [m, price] of most) prices.set(m, (prices.get(m) ?? 0) + price);
  }
  return prices;
}

/** The dearer months and the others; undefined where none is dearer by much. */
function dearerMonths(worth: ReadonlyMap<number, number>): number[][] | undefined {
  const [least, most] = [Math.min(...worth.values()), Math.max(...worth.values())];
  if (!(most > (1 + DEARER) * least)) return undefined;
  const isDear = (m: number) => worth.get(m)! > (least + most) / 2;
  const months = [...worth.keys()];
  return [months.filter(isDear), months.filter((m) => !isDear(m))];
}

export function membersOf(axis: Axis, slot: SheetSchedule): Int32Array {
  const members: number[] = [];
  for (let i = 0; i < axis.intervals; i++) if (holdsIn(axis, slot, i)) members.push(i);
  return Int32Array.from(members);
}

/** Stretches of the axis that lie in some months, `[from, to)`. */
export function spansOf({ calendar, intervals }: Axis, months: readonly number[]): [from: number, to: number][] {
  const spans: [number, number][] = [];
  for (let i = 0; i < intervals; i++) {
    if (!months.includes(calendar.month[i]!)) continue;
    const last = spans[spans.length - 1];
    if (last !== undefined && last[1] === i) last[1] = i + 1;
    else spans.push([i, i + 1]);
  }
  return spans;
}

/** A stretch of the day of one price. */
export type PriceRun = ClockWindow & { readonly price: number };

const clockOf = ({ fromMinute, toMinute }: ClockWindow): ClockWindow => ({ fromMinute, toMinute });

/** Schedules that differ in their charge target alone, the highest first; one where nothing is charged. */
export type SameWindows = readonly SheetSchedule[];

/** Schedules to try. */
export interface Candidates {
  /** Self-consumption first, then what is entered as a rule: charging late in a cheap stretch, carrying load in a dear one. */
  readonly plain: readonly SameWindows[];
  /** Charging over neighbouring prices, charging early, and holding. */
  readonly more: readonly SameWindows[];
}

/** A window of the whole day: while it charges a box gives nothing, so that it holds what it has. */
const ALL_DAY: ClockWindow = { fromMinute: 0, toMinute: 0 };

/**
 * What is tried for a schedule: charging never, or in a stretch below the dearest price, the whole of it or its first or last
 * hours, or over neighbouring stretches; carrying load always or in a dear stretch alone; or holding all day, filled from the sun alone or from the grid too.
 * The first of the plain ones is self-consumption.
 */
export function candidatesOf(
  runs: readonly PriceRun[],
  controller: Controller,
  gridCharging: boolean,
  slot: SheetSchedule,
): Candidates {
  const cheapest = Math.min(...runs.map((run) => run.price));
  const dearest = Math.max(...runs.map((run) => run.price));
  const flat = dearest - cheapest < 1e-9;
  const charges: (ClockWindow | null)[] = [null];
  const early: ClockWindow[] = [];
  if (gridCharging && controller.windowsPerDay >= 1 && !flat)
    for (const run of runs.filter((candidate) => candidate.price < dearest - 1e-9)) {
      charges.push(clockOf(run));
      const length = (run.toMinute - run.fromMinute + 1440) % 1440 || 1440;
      for (const hours of LENGTHS_HOURS)
        if (hours * 60 < length)
          charges.push({ fromMinute: (run.toMinute - hours * 60 + 1440) % 1440, toMinute: run.toMinute });
      for (const hours of EARLY_HOURS)
        if (hours * 60 < length)
          early.push({ fromMinute: run.fromMinute, toMinute: (run.fromMinute + hours * 60) % 1440 });
    }
  const discharges: (ClockWindow | null)[] = [null];
  if (controller.windowsPerDay >= 1 && !flat)
    for (const run of runs) if (run.price > cheapest + 1e-9) discharges.push(clockOf(run));
  const charging = (windows: readonly (ClockWindow | null)[], carrying = discharges) => {
    const made: SameWindows[] = [];
    for (const charge of windows)
      for (const discharge of carrying) {
        if ((charge === null ? 0 : 1) + (discharge === null ? 0 : 1) > controller.windowsPerDay) continue;
        const targets = charge === null ? [0] : TARGETS;
        made.push(targets.map((chargeToPercent) => ({ ...slot, charge, chargeToPercent, discharge })));
      }
    return made;
  };
  const holding =
    controller.windowsPerDay === 0
      ? []
      : [0, ...(gridCharging ? TARGETS : [])].map((chargeToPercent) => [
          { ...slot, charge: ALL_DAY, chargeToPercent, discharge: null },
        ]);
  const over = gridCharging && controller.windowsPerDay >= 1 ? overNeighbours(runs) : [];
  return { plain: charging(charges), more: [...charging(over, [null]), ...charging(early), ...holding] };
}

/**
 * Windows over two stretches or more: they fill where it is cheap and hold until it is dear, with no window for carrying load.
 * They begin where the price falls and end where it rises: begun a stretch earlier, such a window fills for less, and ended
 * a stretch earlier it carries the dearer hours.
 */
function overNeighbours(runs: readonly PriceRun[]): ClockWindow[] {
  const next = (run: ClockWindow) => runs.find(({ fromMinute }) => fromMinute === run.toMinute % 1440);
  const before = (run: ClockWindow) => runs.find(({ toMinute }) => toMinute % 1440 === run.fromMinute);
  const windows: ClockWindow[] = [];
  for (const first of runs) {
    if (!((before(first)?.price ?? Number.POSITIVE_INFINITY) > first.price)) continue;
    for (let last = next(first); last !== undefined && last !== first; last = next(last)) {
      const after = next(last);
      if (after === first) break;
      if ((after?.price ?? Number.POSITIVE_INFINITY) > last.price)
        windows.push({ fromMinute: first.fromMinute, toMinute: last.toMinute });
    }
  }
  return windows;
}

/** A schedule with its charge target a tenth lower and higher. */
export function besideTarget(schedule: SheetSchedule): SheetSchedule[] {
  const { charge, chargeToPercent } = schedule;
  if (charge === null || chargeToPercent === 0) return [];
  return [chargeToPercent - 10, chargeToPercent + 10]
    .filter((percent) => percent > 0 && percent <= 100)
    .map((percent) => ({ ...schedule, chargeToPercent: percent }));
}

/** What is kept longer is so by this much at a time, up to so many times, and by whole hours from then on. */
const LATER_MINUTES = 30;
const LATER_TIMES = 6;

/**
 * By how much later a window that is kept longer ends or begins at a time, minutes: whole steps of the box's clock and of the data. A window
 * that ended inside a step would be run to the end of it.
 */
export function laterMinutesOf(clockMinutes: number, stepMinutes: number): number {
  return LATER_MINUTES % clockMinutes === 0 && LATER_MINUTES % stepMinutes === 0 ? LATER_MINUTES : 60;
}

/**
 * The same with what is stored kept longer: a charge window that goes on into the dearer stretch after it (a box that charges gives
 * nothing), begun as it is or as early as it may be for no more, or a carry window that begins later. Where demand is charged for, a battery
 * that is empty before the hour that sets the peak has lowered nothing.
 *
 * @param reach near: so many half hours, begun as it is: of many one fits the weeks that it is found on by chance
 */
export function keptLonger(
  { runs, laterMinutes }: { readonly runs: readonly PriceRun[]; readonly laterMinutes: number },
  schedule: SheetSchedule,
  reach: 'near' | 'far' = 'far',
): SheetSchedule[] {
  const { charge, chargeToPercent, discharge } = schedule;
  const later = (minute: number, by: number) => (minute + by) % 1440;
  const steps = (length: number) => {
    const times = Array.from({ length: Math.ceil(length / laterMinutes) - 1 }, (_, k) => (k + 1) * laterMinutes);
    return times.filter((by, k) => k < LATER_TIMES || (reach === 'far' && by % 60 === 0));
  };
  if (discharge !== null)
    return steps(minutesOf(discharge)).map((by) => ({
      ...schedule,
      discharge: { ...discharge, fromMinute: later(discharge.fromMinute, by) },
    }));
  if (charge === null || chargeToPercent === 0 || charge.fromMinute === charge.toMinute) return [];
  const filling = fillingOf(runs, charge);
  const next = runs.find(({ fromMinute }) => fromMinute === filling.toMinute % 1440);
  const last = runs.find((run) => inWindow(run, (filling.toMinute + 1439) % 1440));
  if (next === undefined || last === undefined || next.price < last.price + 1e-9) return [];
  // Begun as early as may be it lasts longer before the dear hours too.
  const earliest =
    reach === 'near' ? undefined : movedWindows(runs, filling).find(({ toMinute }) => toMinute === filling.toMinute);
  return [filling, ...(earliest === undefined ? [] : [earliest])].flatMap((window) =>
    steps(minutesOf(next)).map((by) => ({
      ...schedule,
      charge: { ...window, toMinute: later(window.toMinute, by) },
    })),
  );
}

/** A charge window without what it goes on into a dearer stretch, where it fills no more and keeps what it has; itself where it doesn't. */
function fillingOf(runs: readonly PriceRun[], charge: ClockWindow): ClockWindow {
  const first = runs.find((run) => inWindow(run, charge.fromMinute));
  const last = runs.find((run) => inWindow(run, (charge.toMinute + 1439) % 1440));
  if (last === undefined || first === undefined || last === first) return charge;
  if (last.toMinute % 1440 === charge.toMinute % 1440 || last.price < first.price + 1e-9) return charge;
  return { ...charge, toMinute: last.fromMinute };
}

const minutesOf = ({ fromMinute, toMinute }: ClockWindow) => (toMinute - fromMinute + 1440) % 1440 || 1440;

/** A window is moved by so much at a time. */
const STEP_HOURS = 2;

/** Hours of a window that is moved, beside one to the end of its price. */
const MOVED_HOURS = [2, 4, 6];

/**
 * Other windows in the hours around a charge window whose price is no higher than what it charges at: begun every two hours from the first of
 * them on, for some hours or to the last. None around one of the whole day, nor where no hour is dearer. One that goes on into a dearer stretch
 * ends there as it did.
 */
export function movedWindows(runs: readonly PriceRun[], charge: ClockWindow): ClockWindow[] {
  const filling = fillingOf(runs, charge);
  if (filling !== charge)
    return movedWindows(runs, filling)
      .filter(({ toMinute }) => toMinute === filling.toMinute)
      .map(({ fromMinute }) => ({ fromMinute, toMinute: charge.toMinute }));
  const priceAt = (minute: number) =>
    runs.find((run) => inWindow(run, (minute + 1440) % 1440))?.price ?? Number.POSITIVE_INFINITY;
  let from = charge.fromMinute;
  let length = (charge.toMinute - from + 1440) % 1440 || 1440;
  let dearest = 0;
  for (let m = 0; m < length; m++) dearest = Math.max(dearest, priceAt(from + m));
  const isNoDearer = (minute: number) => priceAt(minute) <= dearest + 1e-9;
  for (; length < 1440 && isNoDearer(from - 1); length++) from = (from + 1439) % 1440;
  while (length < 1440 && isNoDearer(from + length)) length++;
  if (length === 1440) return [];
  const windows: ClockWindow[] = [];
  for (let later = 0; later < length; later += STEP_HOURS * 60)
    for (const hours of [...MOVED_HOURS, 24]) {
      if (hours < 24 && hours * 60 >= length - later) continue;
      const to = from + Math.min(length, later + hours * 60);
      windows.push({ fromMinute: (from + later) % 1440, toMinute: to % 1440 });
    }
  return windows.filter(({ fromMinute, toMinute }) => fromMinute !== charge.fromMinute || toMinute !== charge.toMinute);
}

/** The day's stretches of one price, as they mostly are on a slot's days. */
export function priceRunsOf(axis: Axis, tariff: CompiledTariff, members: Int32Array, clockMinutes: number): PriceRun[] {
  const steps = Math.round(1440 / clockMinutes);
  const sums = new Float64Array(steps);
  const counts = new Float64Array(steps);
  for (const i of members) {
    const step = Math.floor(axis.calendar.minuteOfDay[i]! / clockMinutes);
    sums[step] = sums[step]! + tariff.importPricePerKwh[i]!;
    counts[step] = counts[step]! + 1;
  }
  const price = Array.from(sums, (sum, k) => (counts[k]! > 0 ? sum / counts[k]! : Number.NaN));
  for (let k = 1; k < steps; k++) if (Number.isNaN(price[k]!)) price[k] = price[k - 1]!;
  const spread = Math.max(...price) - Math.min(...price);
  const runs: { fromMinute: number; toMinute: number; price: number }[] = [];
  for (let k = 0; k < steps; k++) {
    const last = runs[runs.length - 1];
    if (last !== undefined && Math.abs(last.price - price[k]!) <= 0.05 * spread)
      last.toMinute = ((k + 1) * clockMinutes) % 1440;
    else runs.push({ fromMinute: k * clockMinutes, toMinute: ((k + 1) * clockMinutes) % 1440, price: price[k]! });
  }
  // The first and the last are one where the price holds over midnight.
  if (runs.length > 1 && Math.abs(runs[0]!.price - runs[runs.length - 1]!.price) <= 0.05 * spread) {
    runs[0]!.fromMinute = runs[runs.length - 1]!.fromMinute;
    runs.pop();
  }
  return runs.length > 8
    ? runs.sort((a, b) => a.price - b.price).filter((_, k) => k < 4 || k >= runs.length - 4)
    : runs;
}
