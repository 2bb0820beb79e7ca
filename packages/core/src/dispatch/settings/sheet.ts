import type { Axis } from '../../axis/index.ts';
import { check, list, number, oneOf, type Rule, record } from '../../input/door.ts';
import type { Levels } from '../../plant/index.ts';
import { enter } from '../registry.ts';
import type { Strategy, StrategyView } from '../strategy.ts';

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

/** What to enter on the box. Outside its windows it stores own surplus and carries load: self-consumption. */
export interface SettingsSheet {
  /** Energy kept for an outage, % of usable energy. */
  readonly reservePercent: number;
  /** Grid charging power, kW. */
  readonly gridChargeKw: number;
  readonly schedules: readonly SheetSchedule[];
}

/** What a box counts its percentages of: the usable energy that it was set up with, kWh. */
interface Rated {
  readonly capacityKwh: number;
}

/** Whether a minute of the day lies in a window. */
export function inWindow(window: ClockWindow, minute: number): boolean {
  const { fromMinute, toMinute } = window;
  return fromMinute < toMinute ? minute >= fromMinute && minute < toMinute : minute >= fromMinute || minute < toMinute;
}

/** Whether a schedule holds in interval `i`. */
export function holdsIn(axis: Axis, schedule: SheetSchedule, i: number): boolean {
  const { month, weekday } = axis.calendar;
  if (!schedule.months.includes(month[i]!)) return false;
  if (schedule.days === 'every day') return true;
  return weekday[i]! >= 6 === (schedule.days === 'weekends');
}

/** Fills the levels of one interval as the box would, nothing below `reserveKwh` spent. */
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
    ? (schedule.chargeToPercent / 100) * plant.capacityKwh
    : Number.NEGATIVE_INFINITY;
  levels.serveDownToKwh[i] = discharging ? reserveKwh : Number.POSITIVE_INFINITY;
  levels.exportDownToKwh[i] = Number.POSITIVE_INFINITY;
}

/** Energy that a sheet keeps for an outage, kWh. */
export function reserveKwhOf(sheet: Pick<SettingsSheet, 'reservePercent'>, plant: Rated): number {
  return (sheet.reservePercent / 100) * plant.capacityKwh;
}

const aWindow = record<ClockWindow>({
  fromMinute: number({ whole: true, least: 0, most: 1440 }),
  toMinute: number({ whole: true, least: 0, most: 1440 }),
});

const windowOrNone: Rule = (value, path, looking) => {
  if (value !== null) aWindow(value, path, looking);
};

/** What is entered on a box. */
export const aSheet = record<SettingsSheet>({
  reservePercent: number({ least: 0, most: 100 }),
  gridChargeKw: number({ least: 0, infinite: true }),
  schedules: list(
    record<SheetSchedule>({
      months: list(number({ whole: true, least: 1, most: 12 })),
      days: oneOf(['every day', 'weekdays', 'weekends']),
      charge: windowOrNone,
      chargeToPercent: number({ least: 0, most: 100 }),
      discharge: windowOrNone,
    }),
  ),
});

/**
 * The box with a sheet entered: clock times and percentages, nothing else.
 * @throws InputError on what no box takes
 */
export function followSheet(sheet: SettingsSheet): Strategy {
  check({ sheet }, { sheet: aSheet });
  return enter({
    name: 'settings',
    knowledge: 'causal',
    role: 'settings',
    begin: (view: StrategyView) => ({
      plan: (_from: number, _socKwh: number, levels: Levels) => fillFromSheets(view, () => sheet, levels),
    }),
  });
}

/** Fills a whole axis, each interval from the sheet that is entered then; self-consumption where it says nothing. */
export function fillFromSheets(
  { axis, plant }: Pick<StrategyView, 'axis' | 'plant'>,
  sheetIn: (i: number) => SettingsSheet,
  levels: Levels,
): number {
  const { minuteOfDay } = axis.calendar;
  for (let i = 0; i < axis.intervals; i++) {
    const sheet = sheetIn(i);
    const reserveKwh = reserveKwhOf(sheet, plant);
    const schedule = sheet.schedules.find((candidate) => holdsIn(axis, candidate, i));
    if (schedule === undefined) levels.serveDownToKwh[i] = reserveKwh;
    else followSchedule(schedule, plant, reserveKwh, minuteOfDay[i]!, levels, i);
  }
  return axis.intervals;
}
