import type { FoundSheets } from '../dispatch/index.ts';
import type { Apart } from '../dispatch/inside.ts';
import type { Study } from '../site/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import { type SheetReserve, sheetReserve } from './sheet-reserve.ts';
import { controllerOf } from './strategies.ts';

/** How searched settings were judged. */
export const unseenBasis = (apart: Apart) =>
  apart === 'weeks'
    ? 'each week run with the settings found on the other weeks, odd and even exchanged'
    : 'each billing period run with the settings found on the other periods, odd and even exchanged';
export const IN_SAMPLE_BASIS = 'the one sheet found on the whole past, replayed on that same past, which it has seen';

/** The field of a site that states the hours to keep. */
const KEEP_HOURS = { path: ['backup', 'reserve', 'keepHours'] };

/** Told where the site states no box: the plainest is assumed. */
export function assumedBox(study: Study): Fact[] {
  const { stated, controller } = controllerOf(study);
  if (stated) return [];
  const { windowsPerDay, clockMinutes } = controller;
  return [
    fact(
      STUDY_WORDS,
      'controller-assumed',
      'warning',
      { windowsPerDay, clockMinutes },
      { path: ['plant', 'controller'] },
    ),
  ];
}

/** Told where windows were found, and none are told. */
export function failedWindows(sheets: FoundSheets): Fact[] {
  return sheets.windowsFailed ? [fact(STUDY_WORDS, 'windows-failed', 'warning', { apart: sheets.apart })] : [];
}

/** What the search of settings leaves out, or couldn't do; what its reserve is held for. */
export function settingsWarnings(study: Study, reserve: SheetReserve = sheetReserve(study)): Fact[] {
  const { axis, plant } = study.home;
  const warnings: Fact[] = [];
  if (reserve.setBy === 'medical')
    warnings.push(fact(STUDY_WORDS, 'reserve-full-medical', 'warning', {}, { path: ['backup', 'circuits'] }));
  if (reserve.setBy === 'no-history') warnings.push(fact(STUDY_WORDS, 'reserve-no-history', 'warning', {}, KEEP_HOURS));
  const { keepHours } = reserve;
  if (keepHours !== null && keepHours.mostKwh > plant.capacityKwh)
    warnings.push(
      fact(
        STUDY_WORDS,
        'keep-hours-beyond-battery',
        'warning',
        { hours: keepHours.hours, mostKwh: keepHours.mostKwh, capacityKwh: plant.capacityKwh },
        KEEP_HOURS,
      ),
    );
  const seen = new Set(axis.calendar.month);
  const months = Array.from({ length: 12 }, (_, m) => m + 1).filter((month) => !seen.has(month));
  if (months.length > 0 && reserve.reservePercent < 100)
    warnings.push(fact(STUDY_WORDS, 'settings-months-unseen', 'warning', { months }));
  if (axis.calendar.days.length < 14) warnings.push(fact(STUDY_WORDS, 'settings-unjudged', 'warning', {}));
  return warnings;
}
