import {
  type Controller,
  followPrices,
  hold,
  none,
  optimum,
  peakShave,
  type ReservePlan,
  rolling,
  type SearchedSettings,
  type SettingsWishes,
  type Strategy,
  searchedSettings,
  selfConsumption,
  windowFill,
} from '../dispatch/index.ts';
import { isSearched, roleOf, someStrategies } from '../dispatch/inside.ts';
import { wearOf } from '../economics/index.ts';
import { wearOfFull } from '../economics/inside.ts';
import { check, flag, text } from '../input/door.ts';
import { InputError, type InputIssue, nearestName } from '../input/index.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy, plantOf } from '../site/inside.ts';
import { quoteName } from '../words/quote.ts';
import { canHoldInCold, sheetReserve } from './sheet-reserve.ts';

/** The plainest box, taken where the site states none. */
const PLAINEST: Controller = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };

/** What the site's box lets its owner enter, and whether the site states it. */
export function controllerOf({ site }: Pick<Study, 'site'>): { controller: Controller; stated: boolean } {
  const { controller } = plantOf(site);
  return { controller: controller ?? PLAINEST, stated: controller !== undefined };
}

/** A search of settings for the home: what it keeps for an outage, and what may be given up for hours of backup. */
export function searchedFor(study: Study, controller: Controller, reserve: ReservePlan): SearchedSettings {
  const { site, home } = study;
  const { axis } = home;
  const years = 1 / perYear(axis);
  const most = site.dispatch?.sumForHoursPerYear;
  const wearPerYear = wearOfFull(site.economics);
  return searchedSettings(controller, {
    reserve,
    ...datedBy(study),
    ...(most === undefined ? {} : { most: most * years }),
    ...(wearPerYear === undefined ? {} : { wearOfFull: wearPerYear * years }),
  });
}

/** Reserves by hand, which are set as far ahead as filling takes with the power that a search tries. */
function datedBy(study: Study): Pick<SettingsWishes, 'datedAt' | 'heldAt'> {
  return {
    datedAt: (gridChargeKw) => sheetReserve(study, { gridChargeKw }).dated,
    ...(canHoldInCold(study, sheetReserve(study))
      ? { heldAt: (gridChargeKw) => sheetReserve(study, { gridChargeKw, heldInCold: true }).dated }
      : {}),
  };
}

/**
 * The strategies that `compare` runs unless told otherwise. What a box can do is among them: the settings that the site's
 * controller can be told, or the plainest one where none is stated; or a plan made anew from published prices where it
 * follows those. The headline is of that.
 * @throws InputError on a study that is not sound
 */
export function standardStrategies(study: Study): Strategy[] {
  check({ study }, { study: aStudy });
  const targetKw = study.site.dispatch?.peakShaveTargetKw;
  const own =
    study.site.plant?.controller?.follows === undefined
      ? searchedFor(study, controllerOf(study).controller, sheetReserve(study))
      : followPrices();
  return [
    none,
    hold,
    selfConsumption,
    windowFill,
    peakShave(targetKw === undefined ? {} : { targetKw }),
    own,
    optimum(),
  ];
}

/**
 * The strategy of a name.
 * @throws InputError `not-allowed`, with the names that there are and the nearest of them
 */
export function strategyNamed(name: string, strategies: readonly Strategy[]): Strategy {
  check({ name, strategies }, { name: text, strategies: someStrategies });
  const found = strategies.find((strategy) => strategy.name === name);
  if (found !== undefined) return found;
  const known = strategies.map((strategy) => strategy.name);
  const near = nearestName(name, known);
  throw new InputError([
    {
      code: 'not-allowed',
      where: { path: ['strategy'] },
      received: quoteName(name),
      expected: `one of ${known.join(', ')}`,
      ...(name === 'settings'
        ? {
            hint: 'the site’s plant.controller follows published prices: "follow-prices" is what such a box does; "duskbank settings" prints a sheet for a box that takes clock windows',
          }
        : near === undefined
          ? {}
          : { hint: `did you mean "${near}"?` }),
    },
  ]);
}

/**
 * The strategies that make no cycle that earns less than it wears off.
 *
 * @throws InputError `missing` where the site states no price and cycle life; `out-of-range` where nothing is left of the price
 */
export function wearStrategies(study: Study, withRolling: boolean): Strategy[] {
  check({ study, withRolling }, { study: aStudy, withRolling: flag });
  const { economics } = study.site;
  const wear = wearOf(economics, study.home.plant);
  const fault = (issue: Pick<InputIssue, 'code' | 'received' | 'expected' | 'hint'>, ...path: string[]) =>
    new InputError([{ ...issue, where: { path: ['economics', ...path] } }]);
  if (wear === undefined)
    throw fault(
      {
        code: 'missing',
        received: 'nothing',
        expected: 'the price and the cycle life that wear is reckoned from',
        hint:
          economics === undefined
            ? 'add "economics": { "price": …, "covers": …, "cycleLife": 6000 }'
            : 'add the full cycles that the battery is warranted or tested for: "cycleLife": 6000',
      },
      ...(economics === undefined ? [] : ['cycleLife']),
    );
  if (wear.cost === 0)
    throw fault(
      {
        code: 'out-of-range',
        received: String(economics!.rebate),
        expected: 'less than the price: what costs nothing wears nothing off',
        hint: 'state "batteryPrice", what a battery costs when this one is worn',
      },
      'rebate',
    );
  const wearPerKwh = wear.perKwh;
  return [optimum(undefined, wearPerKwh), ...(withRolling ? [rolling({ wearPerKwh })] : [])];
}

/** Whether a strategy only measures what is possible: shown, never the headline or what pays the battery back. */
export function isYardstick(strategy: Strategy): boolean {
  const role = roleOf(strategy);
  return role === 'yardstick' || role === 'bound';
}

/**
 * The strategies that a home can run, of some: only settings where there are any, since those are what a box takes. With a
 * medical circuit only those that keep the battery full: searched settings, else `hold`.
 */
export function runnableOf({ island }: Pick<Study, 'island'>, strategies: readonly Strategy[]): Strategy[] {
  const settings = strategies.filter((strategy) =>
    island.medical ? isSearched(strategy) : roleOf(strategy) === 'settings',
  );
  if (settings.length > 0) return settings;
  return strategies.filter((strategy) => (island.medical ? strategy === hold : roleOf(strategy) === 'rule'));
}

/**
 * A search of settings keeps what the sheet keeps for an outage, unless it was told what to keep. With a medical circuit
 * it keeps all, whatever it was told.
 */
export function keepingReserve(study: Study, strategy: Strategy): Strategy {
  if (!isSearched(strategy) || (strategy.reserve !== undefined && !study.island.medical)) return strategy;
  return searchedSettings(strategy.controller, {
    ...strategy.wishes,
    ...datedBy(study),
    reserve: sheetReserve(study),
  });
}
