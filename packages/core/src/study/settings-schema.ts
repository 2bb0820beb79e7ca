import * as z from 'zod';
import {
  apartSchema,
  cautionsSchema,
  type DeepReadonly,
  differsSchema,
  formatField,
  medicalField,
  moneyShape,
  nameField,
  savingsWithheldField,
  studyShape,
  unattendedShareField,
  warningsSchema,
} from './report-parts-schema.ts';

const money = z.number();
const minute = (what: string) =>
  z.int().min(0).max(1439).describe(`${what}, minutes since midnight on the home’s clock.`);

const windowSchema = z.object({
  fromMinute: minute('Its start'),
  toMinute: minute('Its end; before its start where it runs over midnight'),
});

const percent = (what: string) => z.number().min(0).max(100).describe(what);
const local = (what: string) => z.string().describe(`${what}, local: "2026-08-12T09:00".`);

const datedSchema = z.object({
  reason: z.enum(['months', 'planned-outage']).describe('The site’s floor in some months, or a planned outage.'),
  when: z
    .union([
      z.object({
        months: z.array(z.int().min(1).max(12)).min(1).describe('Every year, in their order: [12, 1, 2].'),
        leadHours: z
          .int()
          .min(0)
          .optional()
          .describe(
            'Whole hours before the first of them at which it is set, so that it is filled by then; left out where the grid may not fill it.',
          ),
      }),
      z.object({ from: local('From'), to: local('Until') }),
    ])
    .describe('When it is set, and when it is over.'),
  reservePercent: percent('The reserve to set, % of usable energy.'),
  thenPercent: percent('The reserve to set when it is over, %.'),
  inFigures: z.boolean().describe('Whether the data reach it, so that it is carried out in the figures.'),
  outage: z
    .object({
      from: local('When the grid goes down'),
      to: local('When it is due back'),
      noticeHours: z.number().gt(0).describe('How long before it is known, h.'),
      fillHours: z.number().min(0).describe('Hours that filling takes at the charging limit.'),
      verdict: z
        .enum(['in-time', 'too-late', 'no-grid-charging', 'too-cold', 'after-another', 'cold-since-another'])
        .describe(
          'Whether the notice is long enough to fill up; "too-cold": but for cells too cold to charge; "after-another": but for an outage shortly before; "cold-since-another": but for cells too cold to charge since an outage before.',
        ),
    })
    .nullable()
    .describe('The planned outage; null for months.'),
  coldMonths: z
    .array(z.int().min(1).max(12))
    .min(1)
    .optional()
    .describe(
      'Of its months those that the site doesn’t ask it for: they are too cold to fill it later. Left out where there are none.',
    ),
  heldInCold: z
    .literal(true)
    .optional()
    .describe(
      'All of it is kept since its months are too cold to charge, and it costs little enough; the site doesn’t ask for it. Left out elsewhere.',
    ),
});

const schedulesSchema = z
  .array(
    z.object({
      months: z.array(z.int().min(1).max(12)).min(1).describe('1 for January.'),
      days: z.enum(['every day', 'weekdays', 'weekends']).describe('Monday to Friday, Saturday and Sunday, or all.'),
      charge: windowSchema.nullable().describe('Charge from the grid in here; null for never.'),
      chargeToPercent: z.number().min(0).max(100).describe('Up to here, % of usable energy; 0 without a window.'),
      discharge: windowSchema.nullable().describe('Carry load in here alone; null for whenever there is load.'),
    }),
  )
  .min(1)
  .describe('The first that fits an interval’s month and day holds.');

const judgedSchema = z.object({
  bill: z
    .object({
      total: money.describe('Everything that the home pays over the axis.'),
      startEnergy: money.describe('What the energy cost that it starts with above the floor, once: part of the total.'),
      boughtOnce: money.describe(
        'What of the total was bought once, so that no later year has it: startEnergy, and the first filling up to what the run, once there, never falls under again.',
      ),
    })
    .describe('Its bill. Where savings are null it is of data in doubt: not to be taken from another.'),
  savings: money.nullable().describe('baseline.bill.total − bill.total; null where a basis withholds it.'),
  savingsPerYear: money.nullable().describe('The same a year: × axis.perYear.'),
  basis: z.string().describe('What it was run on, and what that has seen.'),
});

/** The results of `settings`, as `--json` prints them. Bills are rounded as the tariff says. */
export const settingsReportSchema = z
  .object({
    format: formatField('duskbank.settings/1'),
    ...studyShape,
    basis: z.string().describe('“modelled, not metered”, and what savings are against.'),
    tariff: z.string().describe('Name of the tariff.'),
    against: z.string().describe('What savings are against, in words.'),
    ...moneyShape,
    withPlannedSolar: z
      .boolean()
      .describe('Whether the site plans solar: then all figures here are of the home with it.'),
    hasSolar: z
      .boolean()
      .describe(
        'Whether the home has solar, planned or not: metered, or seen in what it sells or in a load that isn’t known.',
      ),
    savingsWithheld: savingsWithheldField,
    controller: z
      .object({
        windowsPerDay: z.int().min(0).describe('Clock windows a day, for charging and discharging together.'),
        seasons: z.int().min(1).describe('Schedules over the year.'),
        weekends: z.boolean().describe('Whether weekends have a schedule of their own.'),
        clockMinutes: z.number().gt(0).describe('Step of its clock, minutes.'),
      })
      .describe('What the box lets its owner enter.'),
    controllerStated: z.boolean().describe('Whether the site states it; else the plainest is assumed.'),
    sheet: z
      .object({
        reservePercent: z
          .number()
          .min(0)
          .max(100)
          .describe(
            'Kept for an outage all year, % of usable energy: the standing part of the site’s floors, rounded up; 100 with a medical circuit.',
          ),
        gridChargeKw: z.number().min(0).describe('Charging power from the grid, kW AC; 0 where the site forbids it.'),
        chargeSetBy: z
          .enum(['battery', 'inverter', 'breaker', 'cord', 'choice'])
          .describe(
            'What keeps that power from being more: as `plant.chargeSetBy`, or the choice of less than the plant takes, so that charging sets no peak.',
          ),
        schedules: schedulesSchema,
        dated: z
          .array(datedSchema)
          .describe('Reserves to be set by hand, in the order of their dates; the higher of two that meet holds.'),
      })
      .describe('What to enter. Outside its windows the box stores own surplus and carries load.'),
    year: z
      .array(
        z.object({
          on: z.string().describe('The date, local; of what comes every year the next one.'),
          what: z
            .enum(['reserve', 'storm-season', 'full-charge', 'too-cold', 'clock-change', 'prices'])
            .describe(
              'A reserve to be set, the first of the storm months in which it can be filled, of those without a full charge for a week or more, of those that are too cold to charge, a clock change, prices that change.',
            ),
          dated: z.int().min(0).nullable().describe('Which of `sheet.dated`; null for all else.'),
          months: z.array(z.int().min(1).max(12)).nullable().describe('The months that it is about.'),
          hours: z.number().nullable().describe('By how much the clock goes forward, h; below 0 where it goes back.'),
        }),
      )
      .describe(
        'What is to be done or looked at by hand, in the order of one year: from today on, or from the plan’s stated start where that is later. What is over by then isn’t in it; what has begun by then stands at that day.',
      ),
    fullCharge: z
      .object({
        longestDays: z
          .int()
          .min(0)
          .describe('Longest run of days on which the printed sheet never reaches 99 % of usable energy.'),
        from: z.string().nullable().describe('Its first day; null where every day has a full charge.'),
        to: z.string().nullable().describe('Its last day.'),
        months: z.array(z.int().min(1).max(12)).describe('Months with days of a run of 7 days or more.'),
        warmDays: z.int().min(0).describe('The longest run of days that aren’t too cold to charge.'),
        warmMonths: z.array(z.int().min(1).max(12)).describe('Months with days of such a run of 7 days or more.'),
      })
      .describe('Whether the battery is ever full: gauges drift without.'),
    unattendedShare: unattendedShareField,
    lights: z
      .object({
        hours: z
          .number()
          .min(0)
          .describe(
            'Backup in nine of ten starts at any hour, h, of the printed sheet: what `outage` and `compare` have for "settings".',
          ),
        cheapestHours: z.number().min(0).describe('What the cheapest sheet would leave, h, on the same data.'),
        eveningHours: z
          .number()
          .min(0)
          .describe(
            'The printed sheet’s in nine of ten starts on weekday evenings, h; at any hour where the data hold none.',
          ),
        cheapestEveningHours: z.number().min(0).describe('The same of the cheapest sheet.'),
        givenUpPerYear: z
          .number()
          .min(0)
          .describe(
            'What it costs more a year than the cheapest, both replayed on all weeks of the data; wear of a fuller battery counted in where it is known.',
          ),
        mostPerYear: z.number().min(0).describe('The most that could be given up for hours, a year.'),
        wearCounted: z.boolean().describe('Whether the site states what wears a fuller battery.'),
        heldInCold: z
          .object({
            taken: z.boolean().describe('Whether the sheet does so, as a dated reserve: it costs little enough.'),
            costPerYear: z.number().min(0).describe('What the printed sheet costs more a year with it than without.'),
            hours: z.number().min(0).describe('Backup in nine of ten starts at any hour, h, where it is kept.'),
            hoursWithout: z.number().min(0).describe('The same where it is not.'),
          })
          .nullable()
          .describe(
            'Keeping all of it through months too cold to charge, filled before they begin; null where none are, or where it lasts no longer.',
          ),
      })
      .nullable()
      .describe('What was chosen between settings that cost about the same; null where hours aren’t known or told.'),
    service: z
      .object({
        highestKw: z.number().min(0).describe('The most that the home draws from the grid without a battery, kW.'),
        at: z.string().describe('When, on the home’s clock.'),
        whileChargingKw: z
          .number()
          .min(0)
          .nullable()
          .describe(
            'The most in the sheet’s windows that charge, were the battery charging with its power in all of them, kW; null where none does.',
          ),
        whileChargingAt: z.string().nullable().describe('When.'),
        limitKw: z
          .number()
          .min(0)
          .nullable()
          .describe('`service.importLimitKw` as the site states it; null where it doesn’t.'),
        mainContinuousKw: z
          .number()
          .min(0)
          .nullable()
          .describe('80 % of the main breaker of `backup.panel`, kW: for three hours or more; null where not stated.'),
        stepMinutes: z.int().min(1).describe('Minutes that these are means of: shorter peaks are higher.'),
      })
      .describe('What the sheet’s charging adds to what the service carries.'),
    reserve: z
      .object({
        setBy: z
          .enum(['floor', 'by-hour', 'keep-hours', 'no-history', 'medical'])
          .describe(
            'What makes the standing reserve what it is: the site’s floor; its floors by hour, the highest of the day; `keepHours`; data too short to know what those take; a medical circuit.',
          ),
        keepHours: z
          .object({
            hours: z.number().gt(0).describe('`backup.reserve.keepHours`.'),
            mostKwh: z
              .number()
              .min(0)
              .describe(
                'Stored energy for them in the hungriest stretch of the data, kWh; may be more than the battery holds.',
              ),
            usualPercent: z
              .number()
              .min(0)
              .max(100)
              .describe('The reserve that is enough for 9 of 10 stretches of so many hours of the data, %.'),
          })
          .nullable()
          .describe('What the hours to keep take; null where none are asked for, or the data are too short.'),
        floorVaries: z
          .boolean()
          .describe('Whether the plant’s own floor moves over the year: then the standing reserve is its highest.'),
        stormMonths: z
          .array(z.int().min(1).max(12))
          .describe(
            '`backup.stormMonths`: on a storm warning the reserve is set to 100 %, which no figure here holds.',
          ),
        heldKwh: z.number().min(0).describe('What the reserve percentage keeps stored.'),
        deliverableKwh: z
          .number()
          .min(0)
          .describe('What of it reaches loads: down to the shutdown level, after losses.'),
      })
      .describe('What the reserve is worth in an outage.'),
    baseline: z
      .object({ bill: z.object({ total: money.describe('Its bill over the axis.') }).describe('Its bill.') })
      .describe(
        'The home without a battery on the same tariff, with its solar (planned solar too, where the site plans it).',
      ),
    apart: apartSchema,
    expected: judgedSchema.describe(
      'What to count on: each half of the data run with the sheet found on the other half alone.',
    ),
    inSample: judgedSchema
      .extend({ differs: differsSchema })
      .describe('The printed sheet replayed on the past that it was searched on.'),
    tried: z
      .object({
        sheet: z
          .object({
            reservePercent: percent('Kept for an outage all year, % of usable energy.'),
            gridChargeKw: z.number().min(0).describe('Charging power from the grid, kW AC.'),
            schedules: schedulesSchema,
          })
          .describe('The settings as given.'),
        reserveByHand: z
          .boolean()
          .describe(
            'Whether the reserve is set by hand at the dates of `sheet.dated` here too: the figures hold that.',
          ),
        reserveByMonth: z
          .array(
            z.object({
              months: z.array(z.int().min(1).max(12)).describe('Months, 1 to 12.'),
              percent: percent('Kept in them, % of usable energy.'),
            }),
          )
          .describe('Reserves of some months, as given.'),
        givenChargeKw: z
          .number()
          .min(0)
          .nullable()
          .describe(
            'Charging power as given, kW; `sheet.gridChargeKw` is what of it the plant takes. Null where none was.',
          ),
        bill: z
          .object({
            total: money.describe('Its bill over the axis.'),
            boughtOnce: money.describe('What of it was bought once, so that no later year has it: the first filling.'),
          })
          .describe('Its bill.'),
        savings: money.nullable().describe('baseline.bill.total − bill.total; null where a basis withholds it.'),
        savingsPerYear: money.nullable().describe('The same a year: × axis.perYear.'),
        hours: z
          .number()
          .min(0)
          .nullable()
          .describe('Hours of backup in nine of ten starts at any hour; null where unknown or not told.'),
        eveningHours: z
          .number()
          .min(0)
          .nullable()
          .describe('The same of starts on weekday evenings; null where the data hold none too.'),
        sheetHours: z.number().min(0).nullable().describe('`hours` of the printed sheet on the same data.'),
        sheetEveningHours: z.number().min(0).nullable().describe('`eveningHours` of the printed sheet.'),
        stormHours: z
          .number()
          .min(0)
          .nullable()
          .describe(
            'Hours of backup in nine of ten starts of the storm months, with `hardAtWork`, as `outage` counts its wish; of all starts where no storm months are stated. Null where unknown or not told.',
          ),
        sheetStormHours: z.number().min(0).nullable().describe('`stormHours` of the printed sheet.'),
        hardAtWork: z
          .array(nameField('The circuit.'))
          .describe('Circuits that count as hard at work in them; none where no storm months are stated.'),
        stormMonths: z.array(z.int().min(1).max(12)).nullable().describe('The storm months that the site states.'),
        goalHours: z
          .number()
          .gt(0)
          .nullable()
          .describe('The hours wished for, `backup.goalHours`; null where not stated.'),
      })
      .nullable()
      .describe('Settings that were given to be judged, replayed on the same past; null where none were.'),
    rolling: z
      .object({
        bill: z.object({ total: money.describe('Its bill over the axis.') }).describe('Its bill.'),
        savings: money.describe('baseline.bill.total − bill.total.'),
        savingsPerYear: money.describe('The same a year: × axis.perYear.'),
        lostPerYear: money.describe('What the expected savings fall short of that, a year.'),
      })
      .nullable()
      .describe(
        'A yardstick, no promise: a controller that plans again every hour; null where savings are withheld or a circuit is medical, and where it keeps less of the reserve floor than the printed sheet.',
      ),
    medical: medicalField,
    cautions: cautionsSchema,
    warnings: warningsSchema,
  })
  .describe('Results of duskbank settings.');

/** Results of `settings`: see {@link settingsReportSchema}. */
export type SettingsReport = DeepReadonly<z.output<typeof settingsReportSchema>>;
