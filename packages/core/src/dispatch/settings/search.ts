import type { Axis } from '../../axis/index.ts';
import { anAxis } from '../../axis/inside.ts';
import { both, bytes, check, flag, number, oneOf, optional, record } from '../../input/door.ts';
import { type Flows, makeFlows, makeLevels, type PlantOnAxis, type Quantity } from '../../plant/index.ts';
import {
  aPlantOnAxis,
  clearFlows,
  executeLevels,
  resetLevels,
  someFlows,
  startState,
  storesSomething,
} from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { aCompiledTariff } from '../../tariff/inside.ts';
import { checkSameAxis, layHome } from '../home.ts';
import { enter, isOurs } from '../identity.ts';
import type { Strategy } from '../strategy.ts';
import { type Controller, candidatesOf, membersOf, slotsOf, spansOf } from './candidates.ts';
import {
  aReservePlan,
  aSheet,
  fillFromSheets,
  followSchedule,
  percentUp,
  type ReservePlan,
  reserveLevelsKwh,
  type SettingsSheet,
  type SheetSchedule,
} from './sheet.ts';

/** Sheets found on all data, and on odd and even weeks alone. */
export interface FoundSheets {
  readonly all: SettingsSheet;
  readonly odd: SettingsSheet;
  readonly even: SettingsSheet;
}

const aController = record<Controller>({
  windowsPerDay: number({ whole: true, least: 0, most: 2 }),
  seasons: number({ whole: true, least: 1, most: 12 }),
  weekends: flag,
  clockMinutes: oneOf([5, 10, 15, 20, 30, 60], 'out-of-range'),
});

const foundSheets = record<FoundSheets>({ all: aSheet, odd: aSheet, even: aSheet });

/** A window is entered where it saves at least this share of the energy cost without one: less is chance. */
const WORTH_ENTERING = 0.0005;

/**
 * The best settings that a controller allows, by trying them: each schedule's windows from the edges of the tariff's
 * own prices, charge targets in fifths. Each schedule is judged by the energy cost of the weeks it was searched on;
 * demand charges and other bent parts of a bill are not weighed here, and are in the bill that follows.
 *
 * @param planned what is kept for an outage, dated reserves included; left out: the plant's floor, its highest where it
 * varies
 * @throws InputError on a tariff of another axis, on a controller that no box has, and on a reserve out of range
 */
export function searchSettings(
  onAxis: PlantOnAxis,
  tariff: CompiledTariff,
  controller: Controller,
  planned?: ReservePlan,
): FoundSheets {
  check(
    { onAxis, tariff, controller, reserve: planned },
    {
      onAxis: both(aPlantOnAxis, storesSomething),
      tariff: aCompiledTariff,
      controller: aController,
      reserve: optional(aReservePlan),
    },
  );
  checkSameAxis(onAxis.axis, tariff);
  const reserve = planned ?? floorReserve(onAxis);
  const { axis, gridCharging } = onAxis;
  const n = axis.intervals;
  const { minuteOfDay } = axis.calendar;
  const rated = { capacityKwh: highest(onAxis.capacityKwh) };
  const head = {
    ...reserve,
    gridChargeKw: gridCharging ? highest(onAxis.chargeLimitKwh) / onAxis.stepHours : 0,
  };
  const reserveKwh = reserveLevelsKwh(reserve, axis, rated);
  const levels = makeLevels(n);
  const flows = makeFlows(n);
  const parity = weekParity(axis);
  const found: SheetSchedule[][] = [[], [], []];
  for (const slot of slotsOf(axis, tariff, controller)) {
    const members = membersOf(axis, slot);
    if (members.length === 0) continue;
    // The season alone is run, the slot's days as the candidate says, its other days as they are without windows.
    resetLevels(levels).serveDownToKwh.set(reserveKwh);
    levels.gridChargeToKwh.set(reserveKwh);
    const spans = spansOf(axis, slot.months);
    let withoutWindows: readonly number[] | undefined;
    const best: { cost: number; schedule: SheetSchedule }[] = [0, 1, 2].map(() => ({
      cost: Number.POSITIVE_INFINITY,
      schedule: slot,
    }));
    for (const candidate of candidatesOf(axis, tariff, controller, gridCharging, slot, members)) {
      for (const i of members) followSchedule(candidate, rated, reserveKwh[i]!, minuteOfDay[i]!, levels, i);
      const costs = [0, 0, 0];
      clearFlows(flows);
      for (const [from, to] of spans) {
        executeLevels(onAxis, levels, from, to, startState(onAxis), flows);
        const part = costsOf(tariff, flows, parity, from, to);
        for (let k = 0; k < 3; k++) costs[k]! += part[k]!;
      }
      withoutWindows ??= costs;
      const windows = (candidate.charge === null ? 0 : 1) + (candidate.discharge === null ? 0 : 1);
      for (let k = 0; k < 3; k++) {
        const cost = costs[k]! + windows * WORTH_ENTERING * Math.abs(withoutWindows[k]!);
        if (cost < best[k]!.cost - 1e-9) best[k] = { cost, schedule: candidate };
      }
    }
    for (let k = 0; k < 3; k++) found[k]!.push(best[k]!.schedule);
  }
  return {
    all: { ...head, schedules: merged(found[0]!) },
    odd: { ...head, schedules: merged(found[1]!) },
    even: { ...head, schedules: merged(found[2]!) },
  };
}

/** As few schedules as say the same: weekdays and weekends alike become every day, seasons alike one. */
function merged(schedules: readonly SheetSchedule[]): SheetSchedule[] {
  const settingsOf = ({ charge, chargeToPercent, discharge }: SheetSchedule) =>
    JSON.stringify([charge, chargeToPercent, discharge]);
  const daily: SheetSchedule[] = [];
  for (const schedule of schedules) {
    const twin = daily.findIndex(
      (other) => other.months.join() === schedule.months.join() && settingsOf(other) === settingsOf(schedule),
    );
    if (twin < 0) daily.push(schedule);
    else daily[twin] = { ...schedule, days: 'every day' };
  }
  const yearly: SheetSchedule[] = [];
  for (const schedule of daily) {
    const twin = yearly.findIndex(
      (other) => other.days === schedule.days && settingsOf(other) === settingsOf(schedule),
    );
    if (twin < 0) yearly.push(schedule);
    else yearly[twin] = { ...schedule, months: [...yearly[twin]!.months, ...schedule.months].sort((a, b) => a - b) };
  }
  return yearly;
}

/** A strategy that searches what its controller allows. */
export interface SearchedSettings extends Strategy {
  readonly controller: Controller;
  /** Absent: the plant's floor, its highest where it varies. */
  readonly reserve?: ReservePlan;
}

/** What {@link searchedSettings} may be told. */
interface SearchedSettingsOptions {
  /** What is kept for an outage, as in {@link searchSettings}. */
  readonly reserve?: ReservePlan;
  /** Sheets that were searched for this home before. */
  readonly found?: FoundSheets;
}

/** Whether a strategy is one that {@link searchedSettings} made. */
export function isSearched(strategy: Strategy): strategy is SearchedSettings {
  return isOurs(strategy) && 'controller' in strategy;
}

/**
 * What the box can be told, judged on what the search has not seen: in odd weeks it runs the sheet found on the even
 * ones, in even weeks that found on the odd ones. One run of the whole axis, so that its bill is a bill like any
 * other, demand charges and blocks included. No yardstick, since a home can do it; declared as foresight, since a
 * week's sheet was found on later weeks too.
 *
 * @throws InputError on a controller, sheets or a reserve that no box has
 */
export function searchedSettings(controller: Controller, options: SearchedSettingsOptions = {}): SearchedSettings {
  check(
    { controller, options },
    {
      controller: aController,
      options: record<SearchedSettingsOptions>({ reserve: optional(aReservePlan), found: optional(foundSheets) }),
    },
  );
  const { reserve, found } = options;
  return enter<SearchedSettings>({
    name: 'settings',
    controller,
    ...(reserve === undefined ? {} : { reserve }),
    knowledge: 'foresight',
    role: 'settings',
    begin(view) {
      const sheets = found ?? searchSettings(layHome(view), view.tariff, controller, reserve);
      const reserveKwh = reserveLevelsKwh(sheets.all, view.axis, view.plant);
      const parity = weekParity(view.axis);
      return {
        plan: (_from, _socKwh, levels) =>
          fillFromSheets(view, reserveKwh, (i) => (parity[i] === 1 ? sheets.even : sheets.odd), levels),
      };
    },
  });
}

/** The plant's floor as one number: its highest, so that it is never undercut. */
function floorReserve({ floorKwh, capacityKwh }: Pick<PlantOnAxis, 'floorKwh' | 'capacityKwh'>): ReservePlan {
  return { reservePercent: percentUp(highest(floorKwh), highest(capacityKwh)), dated: [] };
}

function highest(values: Quantity): number {
  if (typeof values === 'number') return values;
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}

/**
 * 1 in odd weeks of the axis, 0 in even ones.
 * @throws InputError on anything but an axis
 */
export function weekParity(axis: Axis): Uint8Array {
  check({ axis }, { axis: anAxis });
  const { day, days } = axis.calendar;
  const first = days[0]!.civilDay;
  return Uint8Array.from(day, (d) => Math.floor((days[d]!.civilDay - first) / 7) % 2);
}

/**
 * Energy at its prices over `[from, to)`: in all weeks, in odd ones, in even ones.
 * @throws InputError on flows or a parity of another length, and on a stretch that the axis doesn't hold
 */
export function energyCosts(
  tariff: CompiledTariff,
  flows: Flows,
  parity: Uint8Array,
  from = 0,
  to = tariff?.axis?.intervals ?? 0,
): [number, number, number] {
  check({ tariff, flows, parity }, { tariff: aCompiledTariff, flows: someFlows, parity: bytes({ least: 0, most: 1 }) });
  check({ from }, { from: number({ whole: true, least: 0, most: parity.length }) });
  check({ to }, { to: number({ whole: true, least: from, most: parity.length }) });
  return costsOf(tariff, flows, parity, from, to);
}

function costsOf(
  tariff: CompiledTariff,
  flows: Flows,
  parity: Uint8Array,
  from: number,
  to: number,
): [number, number, number] {
  const { importPricePerKwh, exportPricePerKwh } = tariff;
  const { importKwh, exportKwh } = flows;
  const costs: [number, number, number] = [0, 0, 0];
  // Week by week, so that the inner loop only adds.
  for (let start = from; start < to; ) {
    const week = parity[start]!;
    let bought = 0;
    let sold = 0;
    let i = start;
    for (; i < to && parity[i] === week; i++) {
      bought += importKwh[i]! * importPricePerKwh[i]!;
      sold += exportKwh[i]! * exportPricePerKwh[i]!;
    }
    costs[week === 1 ? 1 : 2] += bought - sold;
    start = i;
  }
  costs[0] = costs[1] + costs[2];
  return costs;
}
