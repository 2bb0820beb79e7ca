import { both, bytes, callable, check, flag, number, oneOf, optional, record } from '../../input/door.ts';
import type { PlantOnAxis } from '../../plant/index.ts';
import { aPlantOnAxis, highest, storesSomething } from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { aCompiledTariff } from '../../tariff/inside.ts';
import { checkSameAxis, layHome } from '../home.ts';
import { enter, isOurs } from '../identity.ts';
import type { Strategy } from '../strategy.ts';
import {
  besideTarget,
  type Controller,
  candidatesOf,
  keptLonger,
  laterMinutesOf,
  membersOf,
  priceRunsOf,
  slotsOf,
  spansOf,
} from './candidates.ts';
import { chooseSheets, type HeldChoice, type LightsChoice } from './choose.ts';
import { type Apart, apartOf, halvesOf } from './halves.ts';
import { leastOf } from './pool.ts';
import {
  aReservePlan,
  aSheet,
  percentUp,
  planSheets,
  type ReservePlan,
  type SettingsSheet,
  type SheetSchedule,
  settingsOf,
} from './sheet.ts';
import { HALVES, type Half, type Run, type Tried, Tries } from './tries.ts';
import { tryElsewhere, weeksOf } from './weeks.ts';
import type { SettingsWishes } from './wishes.ts';

/** Charging powers that are tried beside the most, as shares of it, where demand is charged for. */
const SLOWER = [1 / 2, 1 / 3, 1 / 5];

/** Sheets found on all data, and on the odd and the even half of them alone. */
export interface FoundSheets {
  readonly all: SettingsSheet;
  readonly odd: SettingsSheet;
  readonly even: SettingsSheet;
  /** What the halves are made of. */
  readonly apart: Apart;
  /** Windows were found, and did worse than none at all in the half that they were not found on: so none are told. */
  readonly windowsFailed: boolean;
  /** Both halves run the first, found on all of the data, since it lasts longer for a tie: so nothing was judged apart. */
  readonly alike?: true;
  /** Of the first, where hours of backup were weighed. */
  readonly lights?: LightsChoice;
  /** Beside the first, where it is about as cheap and lasts longer on the evenings that the wishes name. */
  readonly evenings?: SettingsSheet;
  /** What the hours of the first are weighed against, where hours were weighed: the cheapest sheet. */
  readonly cheapest?: SettingsSheet;
}

const aController = record<Controller>({
  windowsPerDay: number({ whole: true, least: 0, most: 2 }),
  seasons: number({ whole: true, least: 1, most: 12 }),
  weekends: flag,
  clockMinutes: oneOf([5, 10, 15, 20, 30, 60], 'out-of-range'),
});

const money = number({ least: 0 });

const foundSheets = record<FoundSheets>({
  all: aSheet,
  odd: aSheet,
  even: aSheet,
  apart: oneOf(['weeks', 'billing-periods']),
  windowsFailed: flag,
  alike: optional(flag),
  evenings: optional(aSheet),
  cheapest: optional(aSheet),
  lights: optional(
    record<LightsChoice>({
      hours: money,
      cheapestHours: money,
      evenings: optional(record<NonNullable<LightsChoice['evenings']>>({ hours: money, cheapestHours: money })),
      givenUp: number(),
      wear: number(),
      most: money,
      held: optional(record<HeldChoice>({ taken: flag, cost: money, hours: money, hoursWithout: money })),
    }),
  ),
});

const WISHES = {
  hoursOf: optional(callable),
  evenings: optional(bytes()),
  most: optional(money),
  wearOfFull: optional(money),
  onTry: optional(callable),
  datedAt: optional(callable),
  heldAt: optional(callable),
};
const someWishes = record<SettingsWishes>(WISHES);

/**
 * The best settings that a controller allows, by trying them: each schedule's windows from the edges of the tariff's
 * own prices, charge targets in fifths, then a tenth beside the best. Each is judged by the whole bill of the data that it
 * is searched on. Where demand is charged for, charging power is a choice too. Of sheets that cost about the same the one
 * that lasts longest in an outage is taken, where the wishes say how long that is.
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
  wishes: SettingsWishes = {},
): FoundSheets {
  check(
    { onAxis, tariff, controller, reserve: planned, wishes },
    {
      onAxis: both(aPlantOnAxis, storesSomething),
      tariff: aCompiledTariff,
      controller: aController,
      reserve: optional(aReservePlan),
      wishes: someWishes,
    },
  );
  checkSameAxis(onAxis.axis, tariff);
  const reserve = planned ?? floorReserve(onAxis);
  const { axis, gridCharging } = onAxis;
  const { windowsPerDay, clockMinutes } = controller;
  const laterMinutes = laterMinutesOf(clockMinutes, axis.stepMinutes);
  const slots = slotsOf(axis, tariff, controller)
    .map((slot) => ({ slot, members: membersOf(axis, slot), spans: spansOf(axis, slot.months) }))
    .filter(({ members }) => members.length > 0)
    .map((part) => ({ ...part, runs: priceRunsOf(axis, tariff, part.members, clockMinutes), laterMinutes }));
  const apart = apartOf(
    tariff,
    slots.map(({ members }) => members),
  );
  const tries = new Tries(onAxis, tariff, reserve, apart, slots, wishes);
  const mostKw = gridCharging ? highest(onAxis.chargeLimitKwh) / onAxis.stepHours : 0;
  // What lowers a peak must be there when it comes; and a box that draws power while it gives draws less in fewer hours.
  const paysToKeep = onAxis.conversionKwh > 0 || tariff.terms.some((term) => term.kind === 'demand');
  const pools = powersOf(tariff, mostKw).map((gridChargeKw) => {
    const tried: Tried[][] = [];
    return { gridChargeKw, tried, weeks: (half: Half) => weeksOf(slots, tried, half, windowsPerDay) };
  });
  // The plain candidate that is cheapest by energy prices alone, of each part of the year, by half.
  const ruled: Tried[][] = [];
  for (const part of slots) {
    const { slot, runs } = part;
    const { plain, more } = candidatesOf(runs, controller, gridCharging, slot);
    for (const pool of pools) {
      // Other days of the same season do what was found best for them: a weekend that fills for a Monday whose
      // own night fills anyway earns nothing.
      const found = pool.tried.map((tried, s) => ({ of: slots[s]!, schedule: leastOf(tried, 0).schedule }));
      tries.begin(
        part,
        found.filter(({ of }) => of.slot.months === slot.months),
        pool.gridChargeKw,
      );
      const tried = tries.all(plain, pool.gridChargeKw);
      if (pool === pools[0]) ruled.push(HALVES.map((half) => leastOf(tried, half, 'energy')));
      tried.push(...tries.all(more, pool.gridChargeKw));
      const best = new Set(HALVES.map((half) => leastOf(tried, half).schedule));
      for (const schedule of best)
        for (const beside of besideTarget(schedule)) tried.push(tries.one(beside, pool.gridChargeKw));
      if (paysToKeep)
        for (const schedule of new Set(HALVES.map((half) => leastOf(tried, half).schedule)))
          for (const kept of keptLonger(part, schedule, onAxis.conversionKwh > 0 ? 'far' : 'near'))
            tried.push(tries.one(kept, pool.gridChargeKw));
      pool.tried.push(tried);
    }
  }
  for (const { gridChargeKw, tried } of pools) tryElsewhere(tries, slots, gridChargeKw, windowsPerDay, tried);
  // Data of one week hold no odd one: what was found on all of them stands in.
  const parity = halvesOf(tariff, apart);
  const held = HALVES.filter((half) => half === 0 || parity.includes(half % 2));
  const {
    chosen: told,
    windowsFailed,
    isAlike,
    lights,
    evenings,
    cheapest,
  } = chooseSheets(tries, pools, ruled, held, wishes);
  const sheetOf = ({ gridChargeKw, set, held: isHeld }: Run): SettingsSheet => {
    const plan = tries.kept.planAt(gridChargeKw, isHeld);
    return { ...plan, gridChargeKw, schedules: merged(set.map(({ schedule }) => atLeast(schedule, plan))) };
  };
  const toldOf = (half: Half) => told[held.indexOf(half)] ?? told[0]!;
  const [all, odd, even] = HALVES.map((half) => sheetOf(toldOf(half))) as [SettingsSheet, SettingsSheet, SettingsSheet];
  const found = { all, odd, even, apart, windowsFailed, ...(isAlike ? { alike: true as const } : {}) };
  if (lights === undefined || cheapest === undefined) return found;
  return {
    ...found,
    lights,
    cheapest: sheetOf(cheapest),
    ...(evenings === undefined ? {} : { evenings: sheetOf(evenings) }),
  };
}

/** Charging powers to try, kW: the most that the plant takes, and less where demand is charged for. */
function powersOf({ terms }: CompiledTariff, mostKw: number): number[] {
  if (mostKw === 0 || terms.every((term) => term.kind !== 'demand')) return [mostKw];
  const less = SLOWER.map((share) => Math.round(10 * share * mostKw) / 10).filter((kw) => kw >= 0.1 && kw < mostKw);
  return [...new Set([mostKw, ...less])];
}

/** A charge target as the box carries it out: what it keeps for an outage is filled too. */
function atLeast(schedule: SheetSchedule, { reservePercent }: ReservePlan): SheetSchedule {
  const { charge, chargeToPercent } = schedule;
  // Held all day and filled from the sun alone it has none.
  if (charge === null || chargeToPercent === 0 || chargeToPercent >= reservePercent) return schedule;
  return { ...schedule, chargeToPercent: reservePercent };
}

/** As few schedules as say the same: weekdays and weekends alike become every day, seasons alike one. */
function merged(schedules: readonly SheetSchedule[]): SheetSchedule[] {
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
  readonly wishes: SettingsWishes;
  /** Sheets that were searched before: nothing is searched then. */
  readonly found?: FoundSheets;
}

/** What {@link searchedSettings} may be told. */
interface SearchedSettingsOptions extends SettingsWishes {
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
 * What the box can be told, judged on what the search has not seen: the odd half of the data runs the sheet found on the even
 * one, the even half that found on the odd one. Halves are weeks, or billing periods where a bill has terms over these. One run of the whole axis, so that its bill is a bill like any
 * other, demand charges and blocks included. No yardstick, since a home can do it; declared as foresight, since a
 * half's sheet was found on later days too.
 *
 * @throws InputError on a controller, sheets or a reserve that no box has
 */
export function searchedSettings(controller: Controller, options: SearchedSettingsOptions = {}): SearchedSettings {
  check(
    { controller, options },
    {
      controller: aController,
      options: record<SearchedSettingsOptions>({
        reserve: optional(aReservePlan),
        found: optional(foundSheets),
        ...WISHES,
      }),
    },
  );
  const { reserve, found, ...wishes } = options;
  return enter<SearchedSettings>({
    name: 'settings',
    controller,
    ...(reserve === undefined ? {} : { reserve }),
    wishes,
    ...(found === undefined ? {} : { found }),
    knowledge: 'foresight',
    role: 'settings',
    begin(view) {
      const sheets = found ?? searchSettings(layHome(view), view.tariff, controller, reserve, wishes);
      const parity = halvesOf(view.tariff, sheets.apart);
      return planSheets(view, [sheets.odd, sheets.even], (i) => (parity[i] === 1 ? sheets.even : sheets.odd));
    },
  });
}

/** The plant's floor as one number: its highest, so that it is never undercut. */
function floorReserve({ floorKwh, capacityKwh }: Pick<PlantOnAxis, 'floorKwh' | 'capacityKwh'>): ReservePlan {
  return { reservePercent: percentUp(highest(floorKwh), highest(capacityKwh)), dated: [] };
}
