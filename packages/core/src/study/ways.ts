import {
  type FoundSheets,
  followSheet,
  none,
  type ReservePlan,
  type SettingsSheet,
  type Strategy,
  searchedSettings,
} from '../dispatch/index.ts';
import { isFollower, isSearched } from '../dispatch/inside.ts';
import { backupHours, summarizeBackup } from '../outage/index.ts';
import type { Plant } from '../plant/index.ts';
import { perYear, type Study } from '../site/index.ts';
import { type Abort, type Case, evaluate } from '../trial/index.ts';
import { startingFull } from '../trial/inside.ts';
import type { Way, Ways } from './hour-price.ts';
import { reserveInMonths, sheetReserve } from './sheet-reserve.ts';
import { standingAt } from './standing.ts';
import { type StormLoad, seasonLoad, stormNineInTen } from './storm.ts';

/** Charge targets, %, and standing floors that are tried. */
export const TENTHS = [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1];

/** What the home as it is may do to last longer: a reserve of the frontier, windows of the sheet that fill further, or both. */
export function waysOf(
  study: Study,
  ways: readonly Way[],
  own: number,
  strategy: Strategy,
  sheets: FoundSheets | null,
  signal: Abort | undefined,
): Ways {
  const { home } = study;
  const reserve = sheetReserve(study);
  const charging = sheets?.all.schedules.filter(
    ({ charge, chargeToPercent }) => charge !== null && chargeToPercent > 0,
  );
  const lowest = Math.min(100, ...(charging ?? []).map(({ chargeToPercent }) => chargeToPercent));
  const tenths = TENTHS.map((share) => Math.round(100 * share)).filter((percent) => percent > lowest);
  // A box that follows prices and a strategy of a program's own have no target to be raised.
  const targets = study.island.medical || sheets === null || !isSearched(strategy) ? [] : tenths;
  const base = evaluate(home, none, ['bill']).bill.total;
  const withheld = study.savingsWithheld !== undefined;
  const stormMonths = study.site.backup?.stormMonths;
  const season = seasonLoad(study);
  const made = new Map<string, Way>();
  const known = (key: string, make: () => Way): Way => {
    const way = made.get(key) ?? make();
    made.set(key, way);
    return way;
  };
  /** With what keeps a reserve, and with the sheet that this is once it is entered. */
  const wayWith = (
    floorShare: number,
    targetPercent: number | null,
    at: Case,
    filling: number,
    run: Strategy,
    entered: SettingsSheet | undefined,
  ): Way => {
    const { flows, ...judged } = evaluate(at, run, ['flows', 'bill', 'boughtOnce'], { signal });
    const { bill, boughtOnce } =
      entered === undefined || isFollower(run)
        ? judged
        : evaluate(at, followSheet(entered), ['bill', 'boughtOnce'], { signal });
    const { plant } = startingFull(at, run, entered);
    const held = { plant, socKwh: flows.socKwh };
    const hours = backupHours({ axis: home.axis, ...held, ...study.island });
    return {
      floorShare,
      targetPercent,
      row: {
        savingsPerYear: withheld ? null : (base - bill.total - filling) * perYear(home.axis),
        boughtOncePerYear: withheld ? null : (boughtOnce + filling) * perYear(home.axis),
        evenings: summarizeBackup(home.axis, hours).weekdayEvenings,
        stormHours: seasonHours(study, season, held, hours),
      },
    };
  };
  const run = (floorShare: number, targetPercent: number | null): Way =>
    known(`${floorShare} ${targetPercent}`, () => {
      const isOwn = floorShare === ways[own]!.floorShare;
      const { at, plan, filling } = isOwn
        ? { at: home, plan: reserve, filling: 0 }
        : standingAt(study, reserve, floorShare);
      const kept = sheets === null ? undefined : { ...sheets.all, reservePercent: plan.reservePercent };
      if (targetPercent === null)
        return wayWith(floorShare, null, at, filling, keepingPlan(strategy, plan, sheets), kept);
      const fuller = filledTo(kept!, targetPercent);
      return wayWith(floorShare, targetPercent, at, filling, followSheet(fuller), fuller);
    });
  const inStormMonths = (percent: number): Way =>
    known(`storm months ${percent}`, () => {
      const { all } = sheets!;
      const dated = reserveInMonths(study, all, stormMonths!, percent, all.gridChargeKw);
      const { floorShare } = ways[own]!;
      const { at, filling } = standingAt(study, reserve, floorShare, dated);
      const sheet = { ...all, dated: [...all.dated, ...dated] };
      return { ...wayWith(floorShare, null, at, filling, followSheet(sheet), sheet), dated };
    });
  // In data that are no whole year a season would be taken for all of it.
  const isSeason =
    stormMonths !== undefined && stormMonths.length < 12 && new Set(home.axis.calendar.month).size === 12;
  return {
    own: sheets === null ? ways[own]! : { ...ways[own]!, plan: sheets.all },
    reserves: ways.slice(own + 1),
    targets,
    run,
    inStormMonths: isSeason && sheets !== null && isSearched(strategy) && !study.island.medical ? inStormMonths : null,
  };
}

/** A sheet with its windows that charge from the grid filled up to so much at the least. */
function filledTo(sheet: SettingsSheet, percent: number): SettingsSheet {
  return {
    ...sheet,
    schedules: sheet.schedules.map((schedule) =>
      schedule.charge === null || schedule.chargeToPercent === 0
        ? schedule
        : { ...schedule, chargeToPercent: Math.max(percent, schedule.chargeToPercent) },
    ),
  };
}

/** Hours in nine of ten starts of the storm season; those of other days where no circuit works harder then. */
export function seasonHours(
  study: Study,
  { loadKwh, harder }: StormLoad,
  held: { readonly plant: Plant; readonly socKwh: Float64Array },
  ofOtherDays: Float64Array,
): number {
  const { home, island } = study;
  const hours = harder.length === 0 ? ofOtherDays : backupHours({ axis: home.axis, ...held, ...island, loadKwh });
  return stormNineInTen(study, hours);
}

/**
 * The sheets that were found, with another standing reserve: what somebody does who turns up that number alone. What they keep at
 * dates, a full battery through the cold too, they keep as before.
 */
export function keepingPlan(strategy: Strategy, reserve: ReservePlan, sheets: FoundSheets | null): Strategy {
  if (!isSearched(strategy)) return strategy;
  const { controller, wishes } = strategy;
  if (sheets === null) return searchedSettings(controller, { ...wishes, reserve });
  const { lights: _, evenings: __, cheapest: ___, ...rest } = sheets;
  const { reservePercent } = reserve;
  const kept = (sheet: SettingsSheet) => ({ ...sheet, reservePercent });
  const found = { ...rest, all: kept(sheets.all), odd: kept(sheets.odd), even: kept(sheets.even) };
  return searchedSettings(controller, { ...wishes, reserve, found });
}

/** What a sheet costs on all of the data, the filling of its reserve among it, and what of that was bought once; money. */
export function replayedOn(
  at: Case,
  sheet: SettingsSheet,
  filling: number,
  signal: Abort | undefined,
): { readonly cost: number; readonly once: number } {
  const { bill, boughtOnce } = evaluate(at, followSheet(sheet), ['bill', 'boughtOnce'], { signal });
  return { cost: bill.total + filling, once: boughtOnce + filling };
}
