import type { FoundSheets, SettingsSheet } from '../dispatch/index.ts';
import { type Apart, tieOf } from '../dispatch/inside.ts';
import { perYear, type Study, spanDays } from '../site/index.ts';
import { coversYear } from '../site/inside.ts';
import { fixedTotal } from '../tariff/inside.ts';
import type { Outcome } from '../trial/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import type { StrategyResult } from './compare-schema.ts';
import { type SheetReserve, sheetReserve } from './sheet-reserve.ts';
import { controllerOf } from './strategies.ts';

export const IN_SAMPLE_BASIS = 'the one sheet found on the whole past, replayed on that same past, which it has seen';

/** What settings were judged apart on: nothing where both halves run the one sheet that was found on all of the data. */
export function judgedOn({ alike, apart }: FoundSheets): Apart | 'nothing' {
  return alike === true ? 'nothing' : apart;
}

/** How searched settings were judged. */
export const unseenBasis = (apart: Apart | 'nothing') =>
  ({
    weeks: 'each week run with the settings found on the other weeks, odd and even exchanged',
    'billing-periods': 'each billing period run with the settings found on the other periods, odd and even exchanged',
    nothing: IN_SAMPLE_BASIS,
  })[apart];

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

/** Told where the cleverer controller keeps less of the reserve floor than the sheet does: its money is left out. */
export function missesFloor({ shortfallIntervals, shortfallKwh }: Outcome): Fact {
  return fact(STUDY_WORDS, 'rolling-misses-floor', 'warning', {
    intervals: shortfallIntervals,
    mostKwh: shortfallKwh,
  });
}

/** Told where the site's box follows published prices: what the sheet is for then. */
export function followsPrices({ site }: Pick<Study, 'site'>): Fact[] {
  return site.plant?.controller?.follows === undefined
    ? []
    : [fact(STUDY_WORDS, 'box-follows-prices', 'warning', {}, { path: ['plant', 'controller', 'follows'] })];
}

/**
 * What may be given up a year for hours of backup: what the site states; else what a search of settings has reckoned with, from what
 * its cheapest sheet saves; without one the same share of what one saves and of the bill.
 */
export function tieAYear(
  { home: { axis, tariff }, site }: Study,
  billWithout: number,
  savings: number,
  sheets: FoundSheets | null,
): number {
  const searched = sheets?.lights?.most ?? tieOf(billWithout - fixedTotal(tariff), savings);
  return site.dispatch?.sumForHoursPerYear ?? searched * perYear(axis);
}

/**
 * Whether a printed sheet saves another sum on the data that it was found on than it was judged to save on others: another by
 * more than counts as a tie.
 */
export function differsFromJudged(
  study: Study,
  billWithout: number,
  judged: number,
  seen: number,
  sheets: FoundSheets | null,
): boolean {
  return Math.abs(judged - seen) * perYear(study.home.axis) > tieAYear(study, billWithout, judged, sheets);
}

/** Longer by less than this share is no remark. */
const WORTH_SAYING = 0.05;

/**
 * The row that a home can run which keeps the lights on longest, where that is longer than the headline's and costs at most a tie more.
 *
 * @param givenUp what the headline's sheet itself costs more than the cheapest for its hours, over the data: so much of the tie is spent
 */
export function lastsLonger(
  study: Study,
  rows: readonly StrategyResult[],
  headline: string | undefined,
  billWithout: number,
  givenUp: number,
): Fact[] {
  const counted = rows.find(({ strategy }) => strategy === headline);
  if (counted === undefined || counted.batterySavings === null || counted.backupHours === null) return [];
  const { axis, tariff } = study.home;
  const scale = perYear(axis);
  const { batterySavings, backupHours } = counted;
  const tie = counted.inSample?.tiePerYear ?? tieAYear(study, billWithout, batterySavings, null);
  const hoursOf = (row: StrategyResult) => row.backupHours?.p10 ?? 0;
  let longest = counted;
  const left = tie - scale * givenUp;
  for (const row of rows)
    if (row.role === 'rule' && scale * (batterySavings - (row.batterySavings ?? Number.NEGATIVE_INFINITY)) <= left)
      if (hoursOf(row) > hoursOf(longest)) longest = row;
  if (longest === counted || hoursOf(longest) < (1 + WORTH_SAYING) * backupHours.p10) return [];
  return [
    fact(STUDY_WORDS, 'row-lasts-longer', 'warning', {
      strategy: longest.strategy,
      hours: hoursOf(longest),
      moreSavedPerYear: scale * (longest.batterySavings! - batterySavings),
      headline: counted.strategy,
      headlineHours: backupHours.p10,
      mostPerYear: tie,
      shortDays: coversYear(axis) ? null : spanDays(axis),
      currency: tariff.currency,
      currencyDecimals: tariff.currencyDecimals,
    }),
  ];
}

/** What the search of settings leaves out, or couldn't do; what its reserve is held for. */
export function settingsWarnings(
  study: Study,
  { schedules }: Pick<SettingsSheet, 'schedules'>,
  reserve: SheetReserve = sheetReserve(study),
): Fact[] {
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
  const windows = schedules.some(({ charge, discharge }) => charge !== null || discharge !== null);
  if (months.length > 0 && reserve.reservePercent < 100)
    warnings.push(fact(STUDY_WORDS, 'settings-months-unseen', 'warning', { months, windows }));
  if (axis.calendar.days.length < 14) warnings.push(fact(STUDY_WORDS, 'settings-unjudged', 'warning', {}));
  return warnings;
}
