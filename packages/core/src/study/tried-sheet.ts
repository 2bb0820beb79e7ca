import type { Axis } from '../axis/index.ts';
import { type ClockWindow, followSheet, hold, type SettingsSheet, type SheetSchedule } from '../dispatch/index.ts';
import { reserveKwhOf } from '../dispatch/inside.ts';
import { checkDocument, InputError, type InputIssue } from '../input/index.ts';
import { type BackupSummary, summarizeBackup } from '../outage/index.ts';
import { isEvening } from '../outage/inside.ts';
import { perYear, type Study } from '../site/index.ts';
import { evaluate } from '../trial/index.ts';
import { showValue } from '../words/quote.ts';
import { isIslandKnown } from './island-known.ts';
import type { SettingsReport } from './settings-schema.ts';
import { sheetFileSchema } from './sheet-file-schema.ts';
import { reserveInMonths, type SheetReserve, setByHand } from './sheet-reserve.ts';
import { standingAt } from './standing.ts';

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
export function readTriedSheet(
  { home: { plant, axis }, island }: Study,
  { document, file }: TriedDocument,
  reserve: SheetReserve,
): TriedSheet {
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
 */
export function judgeTriedSheet(
  study: Study,
  { sheet: typed, givenChargeKw, reserveByMonth }: TriedSheet,
  reserve: SheetReserve,
  base: number,
  printed: BackupSummary | null,
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
  const { bill, backupHours, boughtOnce } = evaluate(at, followSheet(sheet), ['bill', 'backupHours', 'boughtOnce']);
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
  };
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
