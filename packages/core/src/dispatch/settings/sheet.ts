import type { Axis } from '../../axis/index.ts';
import { instantAtLocal, localMs } from '../../axis/inside.ts';
import { check, list, number, oneOf, optional, type Rule, record, report } from '../../input/door.ts';
import type { Levels } from '../../plant/index.ts';
import { enter, isOurs } from '../identity.ts';
import type { Planner, Strategy, StrategyView } from '../strategy.ts';

/** A stretch of the local day, minutes since midnight; `to` may lie before `from`, over midnight. */
export interface ClockWindow {
  readonly fromMinute: number;
  readonly toMinute: number;
}

/** One schedule of a settings sheet: what the box does on some months' weekdays or weekends. */
export interface SheetSchedule {
  /** 1 … 12. */
  readonly months: readonly number[];
  readonly days: 'every day' | 'weekdays' | 'weekends';
  /** Charge from the grid in here, up to `chargeToPercent`. */
  readonly charge: ClockWindow | null;
  readonly chargeToPercent: number;
  /** Discharge in here alone; null: whenever there is load. */
  readonly discharge: ClockWindow | null;
}

/** A reserve that somebody sets by hand for a while; the standing one comes back after it. */
export interface DatedReserve {
  /** % of usable energy; at least the standing reserve. */
  readonly reservePercent: number;
  /** Months of every year, 1 … 12, and so many hours before the first of them, for filling; or once, from one local time up to another: "2026-08-12T09:00". */
  readonly when:
    | { readonly months: readonly number[]; readonly leadHours?: number }
    | { readonly from: string; readonly to: string };
}

/** What a box keeps for an outage: one number that stands, and what is set by hand in its place at some dates. */
export interface ReservePlan {
  /** Energy kept for an outage all year, % of usable energy. */
  readonly reservePercent: number;
  readonly dated: readonly DatedReserve[];
}

/** What to enter on the box. Outside its windows it stores own surplus and carries load: self-consumption. */
export interface SettingsSheet extends ReservePlan {
  /** Grid charging power, kW. */
  readonly gridChargeKw: number;
  readonly schedules: readonly SheetSchedule[];
}

/** A box with a sheet entered. */
export interface SheetFollower extends Strategy {
  readonly sheet: SettingsSheet;
}

/** What a box counts its percentages of: the usable energy that it was set up with, kWh. */
interface Rated {
  readonly capacityKwh: number;
}

/** Under this a stated power is the plant's own: it is typed in to the watt. */
const WATT = 0.001;

/** Whether a sheet's charging power is less than what the plant takes anyway. */
export function limitsPower(gridChargeKw: number, chargeLimitKw: number): boolean {
  return gridChargeKw < chargeLimitKw - WATT;
}

/** Whether a minute of the day lies in a window. */
export function inWindow(window: ClockWindow, minute: number): boolean {
  const { fromMinute, toMinute } = window;
  return fromMinute < toMinute ? minute >= fromMinute && minute < toMinute : minute >= fromMinute || minute < toMinute;
}

/** What a schedule enters, as a key: the same for two that differ in their months and days alone. */
export function settingsOf({ charge, chargeToPercent, discharge }: SheetSchedule): string {
  const clockOf = (window: ClockWindow | null) => window && [window.fromMinute, window.toMinute];
  return JSON.stringify([clockOf(charge), chargeToPercent, clockOf(discharge)]);
}

/** Whether a schedule holds in interval `i`. */
export function holdsIn(axis: Axis, schedule: SheetSchedule, i: number): boolean {
  const { month, weekday } = axis.calendar;
  if (!schedule.months.includes(month[i]!)) return false;
  if (schedule.days === 'every day') return true;
  return weekday[i]! >= 6 === (schedule.days === 'weekends');
}

/** Fills the levels of one interval as the box would: nothing below `reserveKwh` is spent, and what lacks is bought. */
export function followSchedule(
  schedule: SheetSchedule,
  plant: Rated,
  reserveKwh: number,
  minute: number,
  levels: Levels,
  i: number,
): void {
  const charging = schedule.charge !== null && inWindow(schedule.charge, minute);
  const discharging = !charging && (schedule.discharge === null || inWindow(schedule.discharge, minute));
  levels.solarChargeToKwh[i] = Number.POSITIVE_INFINITY;
  levels.gridChargeToKwh[i] = charging
    ? Math.max(reserveKwh, (schedule.chargeToPercent / 100) * plant.capacityKwh)
    : reserveKwh;
  levels.serveDownToKwh[i] = discharging ? reserveKwh : Number.POSITIVE_INFINITY;
  levels.exportDownToKwh[i] = Number.POSITIVE_INFINITY;
}

/** Energy that a sheet keeps for an outage all year, kWh. */
export function reserveKwhOf(plan: Pick<ReservePlan, 'reservePercent'>, plant: Rated): number {
  return (plan.reservePercent / 100) * plant.capacityKwh;
}

/** A level in whole percents: up, so that it is not undercut (1e-9: a share such as 0.07 × 100 is no 8). */
export function percentUp(kwh: number, capacityKwh: number): number {
  return Math.max(0, Math.min(100, Math.ceil((100 * kwh) / capacityKwh - 1e-9)));
}

/** Energy kept for an outage in each interval, kWh: the standing reserve, or a dated one that is higher. */
export function reserveLevelsKwh(plan: ReservePlan, axis: Axis, plant: Rated): Float64Array {
  const { month } = axis.calendar;
  const levels = new Float64Array(axis.intervals).fill(reserveKwhOf(plan, plant));
  const stepMs = axis.stepMinutes * 60_000;
  const raise = (i: number, kwh: number) => {
    if (levels[i]! < kwh) levels[i] = kwh;
  };
  for (const dated of plan.dated) {
    const kwh = reserveKwhOf(dated, plant);
    const { when } = dated;
    if ('months' in when) {
      const lead = Math.ceil(((when.leadHours ?? 0) * 3_600_000) / stepMs - 1e-9);
      const holds = (i: number) => when.months.includes(month[Math.min(i, levels.length - 1)]!);
      for (let i = 0; i < levels.length; i++) if (holds(i) || holds(i + lead)) raise(i, kwh);
      continue;
    }
    // Every interval that the stretch touches.
    const at = (local: string) => (instantAtLocal(axis.zone, localMs(local)) - axis.startEpochMs) / stepMs;
    const end = Math.min(levels.length, Math.ceil(at(when.to)));
    for (let i = Math.max(0, Math.floor(at(when.from))); i < end; i++) raise(i, kwh);
  }
  return levels;
}

const aLocalTime: Rule = (value, path, looking) => {
  if (typeof value !== 'string' || Number.isNaN(localMs(value)))
    report(
      looking,
      path,
      value === undefined ? 'missing' : 'wrong-form',
      value,
      'a local time such as "2026-08-12T09:00"',
    );
};

const someMonths = list(number({ whole: true, least: 1, most: 12 }));

const aPercent = number({ least: 0, most: 100 });

const aDatedReserve = record<DatedReserve>({
  reservePercent: aPercent,
  when: (value, path, looking) => {
    const byMonths = typeof value === 'object' && value !== null && 'months' in value;
    (byMonths
      ? record({ months: someMonths, leadHours: optional(number({ least: 0, most: 8784 })) })
      : record({ from: aLocalTime, to: aLocalTime }))(value, path, looking);
  },
});

/** What a box keeps for an outage. */
export const aReservePlan = record<ReservePlan>({ reservePercent: aPercent, dated: list(aDatedReserve) });

const aWindow = record<ClockWindow>({
  fromMinute: number({ whole: true, least: 0, most: 1440 }),
  toMinute: number({ whole: true, least: 0, most: 1440 }),
});

const windowOrNone: Rule = (value, path, looking) => {
  if (value !== null) aWindow(value, path, looking);
};

/** What is entered on a box. */
export const aSheet = record<SettingsSheet>({
  reservePercent: aPercent,
  dated: list(aDatedReserve),
  gridChargeKw: number({ least: 0, infinite: true }),
  schedules: list(
    record<SheetSchedule>({
      months: someMonths,
      days: oneOf(['every day', 'weekdays', 'weekends']),
      charge: windowOrNone,
      chargeToPercent: aPercent,
      discharge: windowOrNone,
    }),
  ),
});

/**
 * The box with a sheet entered, and its dated reserves set by hand: clock times and percentages, nothing else.
 * @throws InputError on what no box takes
 */
export function followSheet(sheet: SettingsSheet): SheetFollower {
  check({ sheet }, { sheet: aSheet });
  return enter<SheetFollower>({
    name: 'settings',
    sheet,
    knowledge: 'causal',
    role: 'settings',
    begin: (view: StrategyView) => planSheets(view, [sheet], () => sheet),
  });
}

/**
 * The planner of a box that is told one sheet or, week by week, another: the whole axis is filled at once. All that it buys for
 * the battery it buys with the power that the sheet says, what the reserve lacks too.
 */
export function planSheets(
  { axis, plant }: Pick<StrategyView, 'axis' | 'plant'>,
  sheets: readonly SettingsSheet[],
  sheetIn: (i: number) => SettingsSheet,
): Planner {
  const reserveKwh = new Map(sheets.map((sheet) => [sheet, reserveLevelsKwh(sheet, axis, plant)]));
  return {
    plan(_from, _socKwh, levels) {
      const { minuteOfDay } = axis.calendar;
      for (let i = 0; i < axis.intervals; i++) {
        const sheet = sheetIn(i);
        const keptKwh = reserveKwh.get(sheet)![i]!;
        const schedule = sheet.schedules.find((candidate) => holdsIn(axis, candidate, i));
        if (schedule !== undefined) followSchedule(schedule, plant, keptKwh, minuteOfDay[i]!, levels, i);
        else {
          levels.serveDownToKwh[i] = keptKwh;
          levels.gridChargeToKwh[i] = keptKwh;
        }
        if (limitsPower(sheet.gridChargeKw, plant.chargeLimitKw)) levels.gridChargeKw[i] = sheet.gridChargeKw;
      }
      return axis.intervals;
    },
  };
}

/** What is entered on the box under a strategy, or printed where it is a search that has been done. */
export function isFollower(strategy: Strategy): strategy is SheetFollower {
  return isOurs(strategy) && 'sheet' in strategy;
}

/** Whether reserves of months, set by hand, keep all of it in the first interval: as they did before it. */
export function holdsAllAtStart(sheet: ReservePlan, axis: Axis, plant: Rated): boolean {
  const dated = sheet.dated.filter(({ when }) => 'months' in when);
  return reserveLevelsKwh({ ...sheet, dated }, axis, plant)[0]! >= plant.capacityKwh - 1e-9;
}
