import type * as z from 'zod';
import type { Axis } from '../axis/index.ts';
import { type ClockWindow, followSheet, hold, type SettingsSheet, type SheetSchedule } from '../dispatch/index.ts';
import { reserveKwhOf } from '../dispatch/inside.ts';
import { checkDocument, InputError, type InputIssue } from '../input/index.ts';
import { type BackupSummary, backupHours as hoursOfBackup, summarizeBackup } from '../outage/index.ts';
import { isEvening } from '../outage/inside.ts';
import { perYear, type Study } from '../site/index.ts';
import { type Case, evaluate } from '../trial/index.ts';
import { startingFull } from '../trial/inside.ts';
import { quoteName, showValue } from '../words/quote.ts';
import { isIslandKnown } from './island-known.ts';
import type { SettingsReport } from './settings-schema.ts';
import { sheetFileSchema } from './sheet-file-schema.ts';
import { reserveInMonths, type SheetReserve, setByHand } from './sheet-reserve.ts';
import { standingAt } from './standing.ts';
import { seasonLoad, stormNineInTen } from './storm.ts';
import { controllerOf } from './strategies.ts';

/** A charging power above what the plant takes is held to it; so many times it is none that a box can be set to, kW. */
const MOST_TIMES = 10;
const MOST_KW = 100;

/** Settings to be judged: a JSON or YAML document, and the file that it came from. */
export interface TriedDocument {
  readonly document: unknown;
  readonly file?: string;
}

/** Settings as a box has them. */
interface TriedSheet {
  readonly sheet: SettingsSheet;
  /** Charging power as it was given, kW, which may be more than the plant takes; null where none was. */
  readonly givenChargeKw: number | null;
  /** Reserves of some months, as they were given. */
  readonly reserveByMonth: readonly { readonly months: readonly number[]; readonly percent: number }[];
}

/**
 * A box's settings as they are, read as a sheet.
 * @throws InputError on what is no sheet, charging that the site forbids, and less than all with a medical circuit
 */
export function readTriedSheet(study: Study, { document, file }: TriedDocument, reserve: SheetReserve): TriedSheet {
  const { home, island } = study;
  const { plant, axis } = home;
  const checked = checkDocument(sheetFileSchema, document, file);
  if (!checked.ok) throw new InputError(checked.issues.map(withForm));
  const { reservePercent = reserve.reservePercent, chargeKw = plant.chargeLimitKw, schedules } = checked.value;
  const { reserveByMonth = [] } = checked.value;
  const issue = (one: Pick<InputIssue, 'code' | 'received' | 'expected' | 'hint'>, ...path: (string | number)[]) =>
    new InputError([{ ...one, where: { file, path } }]);
  const mostKw = Math.min(MOST_TIMES * plant.chargeLimitKw, Math.max(MOST_KW, plant.chargeLimitKw));
  if (checked.value.chargeKw !== undefined && chargeKw > mostKw && plant.chargeLimitKw > 0) {
    const takes = `the plant takes ${Number(plant.chargeLimitKw.toPrecision(4))} kW`;
    // Below a twentieth of what the plant takes, watts are no likelier than a slip.
    const inWatts = chargeKw / 1000 >= plant.chargeLimitKw / 20;
    throw issue(
      {
        code: 'out-of-range',
        received: showValue(chargeKw),
        expected: `a power in kW: ${takes}`,
        hint: inWatts
          ? `is this in W? Then write ${showValue(Number((chargeKw / 1000).toPrecision(4)))}`
          : `${takes}: write what the box is set to, or leave it out`,
      },
      'chargeKw',
    );
  }
  const charging = schedules.findIndex(({ charge }) => charge !== undefined && charge.toPercent > reservePercent);
  if (charging >= 0 && !plant.gridCharging)
    throw issue(
      {
        code: 'not-allowed',
        received: 'a window that charges from the grid',
        expected: 'none: the site forbids it',
        hint: 'state "gridCharging": true in the site’s plant where the box does charge from the grid',
      },
      'schedules',
      charging,
      'charge',
    );
  if (island.medical && reservePercent < 100)
    throw issue(
      {
        code: 'not-allowed',
        received: `${reservePercent} % kept for an outage`,
        expected: '100 %: a circuit is life-supporting or medical',
        hint: 'what any other settings save, they spend of what that circuit may need',
      },
      'reservePercent',
    );
  for (const [s, schedule] of schedules.entries())
    for (const window of ['charge', 'carry'] as const)
      for (const end of ['from', 'to'] as const) {
        const time = schedule[window]?.[end];
        if (time === undefined || beginsStep(axis, minuteOf(time))) continue;
        throw issue(
          {
            code: 'not-allowed',
            received: `${end} "${time}"`,
            expected: `a time at which a step of ${axis.stepMinutes} minutes begins, in which the home is reckoned`,
            hint: 'the data don’t say what was used on either side of it: try the times before and after, or take data of shorter steps',
          },
          'schedules',
          s,
          window,
        );
      }
  const beyond = beyondBox(study, schedules);
  if (beyond !== undefined) {
    const { path, ...one } = beyond;
    throw issue(one, 'schedules', ...path);
  }
  const sheet = {
    reservePercent,
    gridChargeKw: plant.gridCharging ? Math.min(chargeKw, plant.chargeLimitKw) : 0,
    schedules: schedules.map(
      ({ months, days, charge, carry }): SheetSchedule => ({
        months,
        days,
        charge: charge === undefined ? null : windowOf(charge),
        chargeToPercent: charge?.toPercent ?? 0,
        discharge: carry === undefined ? null : windowOf(carry),
      }),
    ),
    // Set by hand at the same dates as the sheet's, so that the two differ by what is typed in alone.
    dated: reserve.dated,
  };
  return { sheet, givenChargeKw: checked.value.chargeKw ?? null, reserveByMonth };
}

/**
 * What a box's settings as they are would have saved and left for an outage.
 * @param printed what the printed sheet leaves in nine of ten starts, h; null where it isn't told
 * @param printedStorm the same in nine of ten starts of the storm months
 */
export function judgeTriedSheet(
  study: Study,
  { sheet: typed, givenChargeKw, reserveByMonth }: TriedSheet,
  reserve: SheetReserve,
  base: number,
  printed: BackupSummary | null,
  printedStorm: number | null,
): NonNullable<SettingsReport['tried']> {
  const { home, island } = study;
  const { plant, axis } = home;
  // The box keeps what it is told to keep, not what the site would have it keep; below the shutdown level it stops. Told
  // what the printed sheet tells it, it is the same box.
  const floorKwh = Math.max(plant.shutdownKwh, reserveKwhOf(typed, plant));
  const inMonths = reserveByMonth
    .filter(({ percent }) => percent > typed.reservePercent)
    .flatMap(({ months, percent }) => reserveInMonths(study, typed, months, percent, typed.gridChargeKw));
  const sheet = { ...typed, dated: [...typed.dated, ...inMonths] };
  const asPrinted = sheet.reservePercent === reserve.reservePercent && inMonths.length === 0;
  const { at, filling } = asPrinted
    ? { at: home, filling: 0 }
    : standingAt(study, reserve, floorKwh / plant.capacityKwh, inMonths);
  const told = isIslandKnown(study) && !island.medical;
  const { bill, backupHours, boughtOnce, flows } = evaluate(at, followSheet(sheet), [
    'bill',
    'backupHours',
    'boughtOnce',
    'flows',
  ]);
  // With all kept nothing is left to decide: it is what `hold` does, and costs the same. Else a fuller reserve than the site's
  // was filled once.
  const holding = sheet.reservePercent === 100 && !asPrinted ? evaluate(home, hold, ['bill', 'boughtOnce']) : undefined;
  const total = holding?.bill.total ?? bill.total + filling;
  const savings = study.savingsWithheld === undefined ? base - total : null;
  const { dated: _, ...entered } = sheet;
  const lasting = told ? summarizeBackup(axis, backupHours!) : null;
  const hasEvenings = axis.calendar.minuteOfDay.some((_, i) => isEvening(axis, i));
  const eveningsOf = (one: BackupSummary | null) => (told && hasEvenings ? (one?.weekdayEvenings.p10 ?? null) : null);
  return {
    sheet: entered,
    givenChargeKw,
    reserveByMonth: reserveByMonth.map(({ months, percent }) => ({ months: [...months], percent })),
    reserveByHand: setByHand(reserve),
    bill: { total, boughtOnce: holding?.boughtOnce ?? boughtOnce + filling },
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(axis),
    hours: lasting?.allHours.p10 ?? null,
    eveningHours: eveningsOf(lasting),
    sheetHours: told ? (printed?.allHours.p10 ?? null) : null,
    sheetEveningHours: eveningsOf(printed),
    stormHours: stormHoursOf(study, at, sheet, flows.socKwh),
    sheetStormHours: printedStorm,
    hardAtWork: seasonLoad(study).harder.map(({ circuit }) => circuit),
    stormMonths: study.site.backup?.stormMonths ?? null,
    goalHours: study.site.backup?.goalHours ?? null,
  };
}

/**
 * Hours that a sheet leaves in nine of ten starts of the storm months, circuits as hard at work as a storm makes them, as `outage`
 * counts its wish; of all starts where the site states no such months. Null where hours aren't known or told.
 */
export function stormHoursOf(study: Study, of: Case, sheet: SettingsSheet, socKwh: Float64Array): number | null {
  const { island, home } = study;
  if (!isIslandKnown(study) || island.medical) return null;
  const { plant } = startingFull(of, followSheet(sheet));
  const { loadKwh } = seasonLoad(study);
  return stormNineInTen(study, hoursOfBackup({ axis: home.axis, plant, socKwh, ...island, loadKwh }));
}

/** What the box that the site states can't be told: windows a day, seasons, weekends of their own, times between its steps. */
function beyondBox(
  study: Study,
  schedules: z.output<typeof sheetFileSchema>['schedules'],
): (Pick<InputIssue, 'code' | 'received' | 'expected' | 'hint'> & { readonly path: (string | number)[] }) | undefined {
  const { controller, stated } = controllerOf(study);
  // Of a box that nobody has stated it isn't known what it can't do.
  if (!stated) return undefined;
  const { windowsPerDay, seasons, weekends, clockMinutes } = controller;
  const one = (field: string, received: string, expected: string, ...path: (string | number)[]) => ({
    code: 'not-allowed',
    received,
    expected: `${expected}: the site’s box ("plant.controller.${field}") can’t be told more`,
    hint: `leave out what it can’t hold; or state in the site’s plant.controller what the box does hold ("${field}")`,
    path,
  });
  const rows = schedules.map(({ months }) => [...new Set(months)].sort((a, b) => a - b).join(' '));
  const otherSeason = rows.findIndex((row, s) => new Set([...rows.slice(0, s), row]).size > seasons);
  if (otherSeason >= 0)
    return one('seasons', `${new Set(rows).size} sets of months`, `at most ${seasons}`, otherSeason, 'months');
  for (const [s, { days, charge, carry }] of schedules.entries()) {
    const windows = (charge === undefined ? 0 : 1) + (carry === undefined ? 0 : 1);
    if (windows > windowsPerDay)
      return one(
        'windowsPerDay',
        `${windows === 1 ? '1 window' : `${windows} windows`} a day`,
        `at most ${windowsPerDay}`,
        s,
      );
    if (days !== 'every day' && !weekends) return one('weekends', quoteName(days), '"every day"', s, 'days');
    for (const [name, window] of Object.entries({ charge, carry }))
      for (const end of ['from', 'to'] as const)
        if (window !== undefined && minuteOf(window[end]) % clockMinutes !== 0)
          return one('clockMinutes', `${end} "${window[end]}"`, `a time in steps of ${clockMinutes} minutes`, s, name);
  }
  return undefined;
}

/** What is easily written otherwise, with the form that it has. */
function withForm(issue: InputIssue): InputIssue {
  const field = issue.where.path?.at(-1);
  if (issue.code === 'wrong-type' && (field === 'charge' || field === 'carry'))
    return { ...issue, hint: `write { from: "22:00", to: "07:00"${field === 'charge' ? ', toPercent: 100' : ''} }` };
  if (field === 'chargeTo')
    return { ...issue, hint: 'say it in the window: charge: { from: "22:00", to: "07:00", toPercent: 100 }' };
  return issue.hint === undefined
    ? { ...issue, hint: '"duskbank schema sheet" prints the format; docs/reference/sheet-file.md shows one' }
    : issue;
}

/** Minutes of a window; 24:00 is the next midnight, and a window that ends where it begins is the whole day. */
function windowOf({ from, to }: { readonly from: string; readonly to: string }): ClockWindow {
  return { fromMinute: minuteOf(from), toMinute: minuteOf(to) };
}

function minuteOf(time: string): number {
  return (60 * Number(time.slice(0, 2)) + Number(time.slice(3))) % 1440;
}

/** Whether a step of the axis begins at a minute of the day, at its first offset. */
function beginsStep({ stepMinutes, calendar }: Axis, minute: number): boolean {
  return (minute - calendar.minuteOfDay[0]!) % stepMinutes === 0;
}
