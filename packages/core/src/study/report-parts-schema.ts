import * as z from 'zod';
import { INPUT_ROLES } from '../site/index.ts';
import { factSchema } from './meter-parts-schema.ts';

/** What a schema puts out, for readers only. */
export type DeepReadonly<T> = T extends readonly (infer Item)[]
  ? readonly DeepReadonly<Item>[]
  : T extends object
    ? { readonly [Key in keyof T]: DeepReadonly<T[Key]> }
    : T;

/** A name that may not be empty. */
export const nameField = (what: string) => z.string().min(1).describe(what);

/** The `format` of a report. */
export const formatField = <Format extends string>(format: Format) =>
  z.literal(format).describe('What this is; its number rises when readers would misread it.');

/** The span of a report, with its dates on the home’s clock. */
export const axisSchema = z
  .object({
    start: z.iso.datetime().describe('Start of the first interval, UTC.'),
    end: z.iso.datetime().describe('End of the last interval, UTC.'),
    zone: z.string().describe('IANA time zone.'),
    stepMinutes: z.int().min(5).max(60).describe('Length of an interval.'),
    meteredStepMinutes: z
      .int()
      .max(60)
      .optional()
      .describe('The same of the data as metered, where they were split: hours of a tariff begin or end within it.'),
    intervals: z.int().min(1).describe('How many there are.'),
    firstDay: z.iso.date().describe('Date of the first interval on the home’s clock.'),
    lastDay: z.iso.date().describe('Date of the last interval on the home’s clock.'),
    localDays: z.int().min(1).describe('Dates from the first to the last; those at the ends may be cut.'),
    spanDays: z.number().gt(0).describe('Its length in days of 24 h.'),
    perYear: z
      .number()
      .gt(0)
      .describe(
        'What a sum over the axis is multiplied with to be one a year, in every field that says so: 1 ÷ years where the data are whole years, else 365.25 ÷ spanDays.',
      ),
    isYear: z
      .boolean()
      .describe(
        'Whether it covers 330 days or more: then screens and sentences print money a year, else over these days.',
      ),
  })
  .describe('The span that everything is summed over.');

const setBy = z.enum(['battery', 'inverter', 'breaker', 'cord']);

/** The battery of a report, all units together. */
export const plantPartSchema = z
  .object({
    units: z.int().min(1).describe('Units whose energy and power are pooled.'),
    modulesPerUnit: z.int().min(0).describe('Added modules on each unit.'),
    capacityKwh: z.number().gt(0).describe('Usable energy, kWh.'),
    floorKwh: z.number().min(0).describe('Reserve floor that stands all year, kWh: the reserve of `settings`.'),
    floorRises: z.boolean().describe('Whether the site keeps more than that at some dates: months, planned outages.'),
    dischargeKw: z.number().gt(0).describe('Most output at AC, kW.'),
    dischargeSetBy: setBy.describe('What sets it.'),
    chargeKw: z.number().gt(0).describe('Most charging power at AC, kW.'),
    chargeSetBy: setBy.describe('What sets it.'),
    hoursAtFullOutput: z.number().min(0).describe('Hours that full output lasts, from full to the shutdown level.'),
    hoursToFill: z.number().min(0).describe('Hours that filling takes, from the shutdown level.'),
  })
  .describe('The battery: energy, power and what sets it.');

/** Circuits that work harder in a storm. */
export const stormDutySchema = z.object({
  circuits: z
    .array(
      z.object({
        circuit: nameField('The circuit.'),
        share: z.number().min(0).max(1).describe('Share of its hours in which it then runs.'),
        watts: z.number().min(0).describe('Its mean draw then, W.'),
      }),
    )
    .describe('Circuits that work harder in a storm.'),
});

/** Of outages, by what a transfer by hand leaves out. */
export const unattendedShareField = z
  .number()
  .min(0)
  .max(1)
  .nullable()
  .describe(
    'Share of all starts with nobody home to change over by hand: no hours hold for them. Null where it isn’t stated, or no circuit minds.',
  );

/** A storm that is coming: what a battery filled for it carries, with the circuits as hard at work as a storm makes them. */
export const stormReadySchema = z.object({
  fillHours: z
    .number()
    .min(0)
    .nullable()
    .describe(
      'Hours that filling takes from the standing reserve, at the longest, with the power that the headline’s sheet enters; null where only sun can fill it.',
    ),
  hours: z
    .number()
    .min(0)
    .nullable()
    .describe(
      'From full, in 9 of 10 starts of the storm months, else of all months, without those that are too cold to fill it; null where the data hold none of them, or a circuit is medical.',
    ),
  planningHours: z
    .number()
    .min(0)
    .describe(
      'From full, worst start of the storm months, of all where the site states none, the data hold none or a circuit is medical, no sun, 80 % of capacity.',
    ),
  duty: stormDutySchema
    .nullable()
    .describe('Circuits that work harder in a storm, as they are counted in all hours of it; null where none does.'),
  unattendedShare: unattendedShareField,
  months: z.array(z.int().min(1).max(12)).nullable().describe('The storm months that the site states.'),
  unseenMonths: z
    .array(z.int().min(1).max(12))
    .optional()
    .describe('Storm months that the data hold nothing of: no hours are known of them. Left out where there are none.'),
  tooColdMonths: z
    .array(z.int().min(1).max(12))
    .optional()
    .describe('Months of the year in which the cells are too cold to fill at all; left out where there are none.'),
  cold: z
    .object({
      months: z.array(z.int().min(1).max(12)).describe('Storm months, else months, that are too cold to fill it.'),
      hours: z
        .number()
        .min(0)
        .nullable()
        .describe(
          'From what the headline’s run has left, in 9 of 10 starts of these months; null where the data hold none of them, or a circuit is medical.',
        ),
      held: z.boolean().describe('Whether that run holds a full battery through them.'),
    })
    .optional()
    .describe('How long what is left lasts where it can’t be filled; left out where there are no such months.'),
});

/** What a report rests on, so that it can be made again and set beside another. */
export const provenanceSchema = z
  .object({
    version: z.string().describe('Version of Duskbank that made it.'),
    tariffs: z
      .array(
        z.object({
          name: z.string().describe('Its name.'),
          versions: z
            .array(
              z.object({
                from: z.iso
                  .date()
                  .nullable()
                  .describe('Its first day; null where the file states none: the first version.'),
                note: z.string().optional().describe('What changed, as the file has it.'),
              }),
            )
            .min(1)
            .describe('Its versions that hold in the time of the report, the first one first.'),
        }),
      )
      .describe('The tariffs: the home’s, then those set beside it; none where the report needs none.'),
    inputs: z
      .array(
        z.object({
          role: z.enum(INPUT_ROLES).describe('What it was read for.'),
          path: z
            .string()
            .describe('Its path as it was written where it is named; of an absolute path the file’s own name.'),
          bytes: z.int().min(0).describe('Its length.'),
          sha256: z
            .string()
            .regex(/^[0-9a-f]{64}$/)
            .nullable()
            .describe('SHA-256 of its bytes; null where the host has no way to reckon it.'),
        }),
      )
      .describe('The files that were read, in that order; none where a program gave the data itself.'),
    assumptions: z
      .array(
        z.object({
          file: z.enum(['site', 'tariff']).describe('The file that leaves it out.'),
          field: z.string().describe('Address of the field in it.'),
          value: z.unknown().describe('What was taken: a value as the file might hold it, or words.'),
        }),
      )
      .describe('What the files leave out and was taken.'),
  })
  .describe('What the report rests on: with it two reports can be told apart, or one made again.');

/** Why a start is dark at once. */
export const overloadField = z
  .object({
    drawnKw: z.number().min(0).describe('What the backed-up load draws then, kW.'),
    givenKw: z.number().min(0).describe('What the battery gives at the most, kW.'),
  })
  .nullable()
  .describe('Where that start is dark at once since more is drawn than given, however full the battery is.');

/** What every report of a home on its axis begins with, after its format. */
export const studyShape = {
  version: z.string().describe('Version of Duskbank that made it.'),
  site: z.string().describe('The home’s name.'),
  axis: axisSchema,
  plant: plantPartSchema,
  provenance: provenanceSchema,
};

/** The money of a report. */
export const moneyShape = {
  currency: z
    .string()
    .regex(/^[A-Z]{3}$/)
    .describe('ISO 4217 code of all money here.'),
  currencyDecimals: z.int().min(0).max(6).describe('Decimals that its money is printed with.'),
};

/** Why a report gives no savings. */
export const savingsWithheldField = z
  .string()
  .nullable()
  .describe('Why savings are withheld, in words; null where they aren’t.');

/** Whether a circuit of the home is medical. */
export const medicalField = z.boolean().describe('A circuit is life-supporting or medical.');

/** Up to where hours of backup are counted. */
export const capHoursField = z.number().gt(0).describe('Hours of backup are counted up to here.');

/** How many of the listed circuits hours of backup are of. */
export const carriedField = z
  .object({
    circuits: z
      .int()
      .min(0)
      .describe('Circuits that the equipment carries together: hours of backup are theirs alone.'),
    listed: z.int().min(1).describe('Circuits that the site lists.'),
  })
  .nullable()
  .describe('What of the list is carried; null where the backed-up load isn’t a list of circuits.');

/** The warnings of any result. */
export const warningsSchema = z
  .array(
    factSchema.extend({
      circuits: z.array(z.string()).optional().describe('The circuits concerned, of warnings about circuits.'),
    }),
  )
  .describe('What bears on how far the results can be trusted.');

/** The cautions of a result about outages or circuits. */
export const cautionsSchema = z
  .array(
    factSchema.extend({
      code: z.enum(['medical', 'wiring', 'generator', 'power-returns', 'estimate']).describe('Stable, kebab-case.'),
      text: z.string().describe('The same as `message`.'),
    }),
  )
  .min(1)
  .describe('The gravest first.');

/** A step of the way from today's bill to the plan. */
export const stepSchema = z.object({
  step: z.enum(['today', 'best-tariff', 'planned-solar', 'battery']).describe('What comes on top here.'),
  tariff: z.string().describe('The tariff of the bill.'),
  strategy: z.string().nullable().describe('What runs the battery; null without one.'),
  total: z.number().describe('The bill after this step, to the currency’s last decimal.'),
  change: z.number().describe('total − total of the step before: the changes sum to the cent.'),
});

/** What settings are judged apart on. */
export const apartSchema = z
  .enum(['weeks', 'billing-periods', 'nothing'])
  .describe(
    'What the halves are made of: odd and even weeks, or odd and even billing periods, where a bill of less than a year has terms over these. Nothing: both halves run the one sheet found on all of the data, which lasts longer than what they find for themselves, for no more than a tie.',
  );

/** Whether money judged apart is another than that of the printed sheet. */
export const differsSchema = z
  .boolean()
  .describe(
    'Whether this differs from what is judged on the other half by more than counts as a tie: `dispatch.sumForHoursPerYear`, else 2 % of what the cheapest sheet saves or 0.1 % of the bill. False where savings are withheld.',
  );

/** Whose wiring rules hold for a home. */
export const wiringRulesField = z
  .enum(['us', 'local'])
  .describe(
    'Whose wiring rules hold: those of the United States where its zone tells that it stands there or in one of its territories, else local ones.',
  );
