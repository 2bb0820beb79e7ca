import * as z from 'zod';
import { type ClockWindow, followSheet, type SettingsSheet, type SheetSchedule } from '../dispatch/index.ts';
import { reserveKwhOf } from '../dispatch/inside.ts';
import { checkDocument, fields, InputError, type InputIssue } from '../input/index.ts';
import { summarizeBackup } from '../outage/index.ts';
import { perYear, type Study } from '../site/index.ts';
import { evaluate, withPlant } from '../trial/index.ts';
import { startEnergyCharge } from '../trial/inside.ts';
import type { SettingsReport } from './settings-schema.ts';
import { type SheetReserve, setByHand } from './sheet-reserve.ts';

const clock = z
  .string()
  .regex(/^(([01]\d|2[0-3]):[0-5]\d|24:00)$/)
  .describe('On the home’s clock: "23:00".');

/**
 * In percent. A share of 1 typed in its place would be read as next to nothing, so that a number up to 1 is asked about; "1 %" with its
 * sign is meant.
 */
const percent = z.unknown().transform((value, context): number => {
  const fault = (code: string, message: string, hint?: string) => {
    context.addIssue({ code: 'custom', message, params: { code, ...(hint === undefined ? {} : { hint }) } });
    return z.NEVER;
  };
  const signed = typeof value === 'string' ? /^(\d+(?:\.\d+)?) ?%$/.exec(value.trim()) : null;
  const stated = signed === null ? value : Number(signed[1]);
  if (typeof stated !== 'number' || Number.isNaN(stated))
    return fault('wrong-type', 'percent: a number of 0 to 100, or text such as "20 %"');
  if (stated < 0 || stated > 100) return fault('out-of-range', 'percent of 0 to 100');
  if (signed !== null || stated === 0 || stated > 1) return stated;
  const meant = Number((100 * stated).toPrecision(12));
  return fault(
    'out-of-range',
    'percent: 0, or more than 1 up to 100',
    `write ${meant} for ${meant} %, or "${stated} %" with its sign where so little is meant`,
  );
});

/** A charging power above what the plant takes is held to it; so many times it is none that a box can be set to, kW. */
const MOST_TIMES = 10;
const MOST_KW = 100;

const allMonths = Array.from({ length: 12 }, (_, m) => m + 1);

/** A box's present settings, as somebody reads them off it. */
const triedSheetSchema = fields({
  format: z.literal('duskbank.sheet/1').optional(),
  reservePercent: percent.optional(),
  chargeKw: z.number().min(0.001).max(1_000_000).optional(),
  schedules: z
    .array(
      fields({
        months: z.array(z.int().min(1).max(12)).min(1).default(allMonths),
        days: z.enum(['every day', 'weekdays', 'weekends']).default('every day'),
        charge: fields({ from: clock, to: clock, toPercent: percent.default(100) }).optional(),
        carry: fields({ from: clock, to: clock }).optional(),
      }),
    )
    .min(1)
    .max(48),
});

/** Settings to be judged: a JSON or YAML document, and the file that it came from. */
export interface TriedDocument {
  readonly document: unknown;
  readonly file?: string;
}

/**
 * A box's settings as they are, read as a sheet.
 * @throws InputError on what is no sheet, charging that the site forbids, and less than all with a medical circuit
 */
export function readTriedSheet(
  { home: { plant }, island }: Study,
  { document, file }: TriedDocument,
  reserve: SheetReserve,
): SettingsSheet {
  const checked = checkDocument(triedSheetSchema, document, file);
  if (!checked.ok) throw new InputError(checked.issues);
  const { reservePercent = reserve.reservePercent, chargeKw = plant.chargeLimitKw, schedules } = checked.value;
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
        received: String(chargeKw),
        expected: `a power in kW: ${takes}`,
        hint: inWatts
          ? `is this in W? Then write ${Number((chargeKw / 1000).toPrecision(12))}`
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
  return {
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
}

/**
 * What a box's settings as they are would have saved and left for an outage.
 * @param sheetHours what the printed sheet leaves in nine of ten starts, h
 */
export function judgeTriedSheet(
  study: Study,
  sheet: SettingsSheet,
  reserve: SheetReserve,
  base: number,
  sheetHours: number | null,
): NonNullable<SettingsReport['tried']> {
  const { home, island } = study;
  const { plant, axis } = home;
  // The box keeps what it is told to keep, not what the site would have it keep; below the shutdown level it stops.
  const floorKwh = Math.max(plant.shutdownKwh, reserveKwhOf(sheet, plant));
  const at = withPlant(home, { ...plant, floorKwh, startKwh: floorKwh, floorFromPast: false });
  const told = study.loadKnown && !island.medical;
  const { bill, backupHours } = evaluate(at, followSheet(sheet), ['bill', 'backupHours']);
  // A fuller reserve than the site's was filled once.
  const total =
    bill.total +
    startEnergyCharge({ plant: { ...at.plant, floorKwh: Math.min(plant.startKwh, floorKwh) }, tariff: home.tariff });
  const savings = study.savingsWithheld === undefined ? base - total : null;
  const { dated: _, ...entered } = sheet;
  return {
    sheet: entered,
    reserveByHand: setByHand(reserve),
    bill: { total },
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(axis),
    hours: told ? summarizeBackup(axis, backupHours!).allHours.p10 : null,
    sheetHours: told ? sheetHours : null,
  };
}

/** Minutes of a window; 24:00 is the next midnight, and a window that ends where it begins is the whole day. */
function windowOf({ from, to }: { readonly from: string; readonly to: string }): ClockWindow {
  const minutes = (time: string) => (60 * Number(time.slice(0, 2)) + Number(time.slice(3))) % 1440;
  return { fromMinute: minutes(from), toMinute: minutes(to) };
}
