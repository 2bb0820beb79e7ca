import type { Study, Warning } from '../site/index.ts';
import { type SheetReserve, sheetReserve } from './sheet-reserve.ts';

/** How searched settings were judged. */
export const UNSEEN_BASIS = 'each week run with the settings found on the other weeks, odd and even exchanged';
export const IN_SAMPLE_BASIS = 'the one sheet found on the whole past, replayed on that same past, which it has seen';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** What the search of settings leaves out, or couldn't do; what its reserve is held for. */
export function settingsWarnings(study: Study, reserve: SheetReserve = sheetReserve(study)): Warning[] {
  const { axis, plant, tariff } = study.home;
  const warnings: Warning[] = [];
  if (reserve.setBy === 'medical')
    warnings.push({
      code: 'reserve-full-medical',
      message:
        'the settings keep the battery full, for the circuit that is life-supporting or medical: they save nothing on the bill',
    });
  if (reserve.setBy === 'no-history')
    warnings.push({
      code: 'reserve-no-history',
      message:
        'the data are too short to say what the hours to keep take: the settings keep the battery full until a week of load is there to tell',
    });
  const { keepHours } = reserve;
  if (keepHours !== null && keepHours.mostKwh > plant.capacityKwh)
    warnings.push({
      code: 'keep-hours-beyond-battery',
      message: `${keepHours.hours} h of the backed-up load take up to ${keepHours.mostKwh.toFixed(1)} kWh stored, more than the ${plant.capacityKwh.toFixed(1)} kWh of this battery: the settings keep it full, and even that is too little at times`,
    });
  if (tariff.terms.some((term) => term.kind === 'demand'))
    warnings.push({
      code: 'demand-not-weighed',
      message: 'the search for settings weighs energy prices only; the demand charge is in the bill, not in the choice',
    });
  const seen = new Set(axis.calendar.month);
  const unseen = MONTHS.filter((_, m) => !seen.has(m + 1));
  if (unseen.length > 0 && reserve.reservePercent < 100)
    warnings.push({
      code: 'settings-months-unseen',
      message: `the data hold no ${unseen.join(', ')}: the clock windows were not found for these months, whose prices and use may differ. Leave the windows off then, and run this again once there are data of them`,
    });
  if (axis.calendar.days.length < 14)
    warnings.push({
      code: 'settings-unjudged',
      message:
        'under two weeks of data: there is hardly another week to judge settings on, and what they save is a guess',
    });
  return warnings;
}
