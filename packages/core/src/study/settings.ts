import {
  type ClockWindow,
  type Controller,
  followSheet,
  none,
  rolling,
  type SheetSchedule,
  searchedSettings,
} from '../dispatch/index.ts';
import { reserveKwhOf } from '../dispatch/inside.ts';
import { check } from '../input/door.ts';
import { cautionsFor } from '../outage/inside.ts';
import { deliverableKwh } from '../plant/inside.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy } from '../site/inside.ts';
import { evaluate, type Outcome } from '../trial/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import { againstWords } from './bills.ts';
import { moneyParts, studyParts } from './report-parts.ts';
import { IN_SAMPLE_BASIS, settingsWarnings, UNSEEN_BASIS } from './settings-basis.ts';
import type { SettingsReport } from './settings-schema.ts';
import { byHandWords, sheetReserve } from './sheet-reserve.ts';

/** The plainest box, taken where the site states none. */
const PLAINEST: Controller = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };

/**
 * Searches what the stated controller allows: what to enter on the box, what it saves, how far that can be trusted.
 * @throws InputError on a study that is not sound
 */
export function settings(study: Study): SettingsReport {
  check({ study }, { study: aStudy });
  const { home, site, island } = study;
  const { tariff, axis, plant } = home;
  const stated = site.plant.controller;
  const controller = stated ?? PLAINEST;
  const reserve = sheetReserve(study);
  const warnings: Fact[] = [...study.warnings, ...settingsWarnings(study, reserve)];
  if (stated === undefined)
    warnings.unshift(fact(STUDY_WORDS, 'controller-assumed', 'warning', {}, { path: ['plant', 'controller'] }));
  const searched = evaluate(home, searchedSettings(controller, { reserve }), ['bill', 'sheets']);
  const found = searched.sheets!.all;
  const base = evaluate(home, none, ['bill']).bill.total;
  const withheld = study.savingsWithheld !== undefined;
  const judged = ({ bill: { total } }: Outcome<'bill'>, basis: string) => {
    const savings = base - total;
    return { total, savings, savingsPerYear: savings * perYear(axis), basis };
  };
  const shown = ({ total, savings, savingsPerYear, basis }: ReturnType<typeof judged>) => ({
    bill: { total },
    savings: withheld ? null : savings,
    savingsPerYear: withheld ? null : savingsPerYear,
    basis,
  });
  const byHand = byHandWords(reserve);
  const expected = judged(searched, `${UNSEEN_BASIS}${byHand}`);
  // A yardstick that spends what the medical circuit may need is none.
  const planned = withheld || island.medical ? undefined : judged(evaluate(home, rolling(), ['bill']), '');
  if (!withheld && expected.savings < 0 && reserve.setBy !== 'medical')
    warnings.unshift(fact(STUDY_WORDS, 'settings-lose-money', 'warning', { reservePercent: reserve.reservePercent }));
  const heldKwh = reserveKwhOf(found, plant);
  return {
    format: 'duskbank.settings/1',
    ...studyParts(study),
    basis: `modelled, not metered: past intervals replayed with the battery; savings against ${againstWords(study)}`,
    tariff: tariff.name,
    against: againstWords(study),
    ...moneyParts(tariff),
    withPlannedSolar: study.plannedSolar !== undefined,
    savingsWithheld: study.savingsWithheld ?? null,
    controller,
    controllerStated: stated !== undefined,
    sheet: {
      reservePercent: reserve.reservePercent,
      gridChargeKw: found.gridChargeKw,
      schedules: found.schedules.map(scheduleOf),
      dated: reserve.dated,
    },
    reserve: {
      setBy: reserve.setBy,
      keepHours: reserve.keepHours,
      // A floor that moves because of `backup.reserve` is told by `setBy` and the dated reserves.
      floorVaries: site.backup?.reserve === undefined && typeof plant.floorKwh !== 'number',
      stormMonths: reserve.setBy === 'medical' ? [] : (site.backup?.stormMonths ?? []),
      heldKwh,
      deliverableKwh: deliverableKwh(plant, heldKwh),
    },
    baseline: { bill: { total: base } },
    expected: shown(expected),
    inSample: shown(judged(evaluate(home, followSheet(found), ['bill']), `${IN_SAMPLE_BASIS}${byHand}`)),
    rolling:
      planned === undefined
        ? null
        : {
            bill: { total: planned.total },
            savings: planned.savings,
            savingsPerYear: planned.savingsPerYear,
            lostPerYear: planned.savingsPerYear - expected.savingsPerYear,
          },
    medical: island.medical,
    cautions: cautionsFor({ medical: island.medical, panels: false }),
    warnings,
  };
}

/** A schedule as it is entered, without what the search keeps in its windows. */
function scheduleOf({ months, days, charge, chargeToPercent, discharge }: SheetSchedule): SheetSchedule {
  const clock = (window: ClockWindow | null) =>
    window === null ? null : { fromMinute: window.fromMinute, toMinute: window.toMinute };
  return { months, days, charge: clock(charge), chargeToPercent, discharge: clock(discharge) };
}
