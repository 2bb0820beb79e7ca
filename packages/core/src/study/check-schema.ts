import * as z from 'zod';
import { channelField, findingSchema, issueSchema, layoutSchema } from './meter-parts-schema.ts';
import {
  axisSchema,
  type DeepReadonly,
  formatField,
  moneyShape,
  plantPartSchema,
  provenanceSchema,
  warningsSchema,
} from './report-parts-schema.ts';

const kwh = (what: string) => z.number().min(0).describe(what);
const share = (what: string) => z.number().min(0).max(1).describe(what);

const siteSchema = z
  .object({
    name: z.string().describe('The home’s name.'),
    axis: axisSchema,
    loadKnown: z
      .boolean()
      .describe('False where solar wasn’t metered: then load is the net import, and solar the surplus.'),
    loadKwh: kwh('The home’s load over the axis.'),
    solarKwh: kwh('Its metered solar.'),
    estimatedOwnUseKwh: z
      .number()
      .min(0)
      .optional()
      .describe(
        'Solar that studies take as used behind the meter, which no meter measured: in neither of the two above. Absent where nothing is taken so.',
      ),
    plannedSolar: z
      .object({
        solarKwh: kwh('What it would give over the axis.'),
        basis: z.string().describe('Where its production comes from, in words.'),
      })
      .nullable()
      .describe('Solar that the site plans; null where it plans none.'),
    estimatedShare: share('Share of the intervals that hold an estimate.'),
    tariff: z.string().describe('Name of its tariff.'),
    ...moneyShape,
    billingPeriods: z.int().min(1).describe('Billing periods that the data touch.'),
    peakWindows: z.array(z.string()).describe('Names of the tariff’s on-peak windows.'),
    plant: plantPartSchema.nullable().describe('Its battery; null where the site states none.'),
    backupBasis: z
      .string()
      .nullable()
      .describe('What the backed-up load is, in words; null where there is no battery to carry it.'),
    warnings: warningsSchema,
  })
  .describe('A site file: the home with all that it names.');

const intervalsSchema = z
  .object({
    layout: layoutSchema,
    axis: axisSchema.nullable().describe('The span of the data; null where none can be trusted.'),
    channels: z
      .array(
        z.object({
          channel: channelField,
          kwh: z.number().describe('Its sum, kWh.'),
          gaps: z.int().min(0).describe('Intervals without a value.'),
        }),
      )
      .describe('What the data hold; empty where none can be trusted.'),
    findings: z.array(findingSchema).describe('What was noticed, the gravest first.'),
  })
  .describe('A file of readings.');

const pricesSchema = z
  .object({
    file: z.string().describe('The file, as it is named.'),
    firstDay: z.iso.date().describe('Its first day.'),
    lastDay: z.iso.date().describe('Its last day.'),
    stepMinutes: z.number().describe('Minutes that each price holds.'),
    prices: z.int().min(0).describe('How many prices there are.'),
    missing: z.int().min(0).describe('Steps without one.'),
    leastPerKwh: z.number().nullable().describe('The lowest, money a kWh as the file or its unit says.'),
    meanPerKwh: z.number().nullable().describe('Their mean.'),
    mostPerKwh: z.number().nullable().describe('The highest.'),
  })
  .describe('A file of prices.');

/** The results of `check`, as `--json` prints them. What isn't of the file's kind is null, as is what couldn't be read. */
export const checkReportSchema = z
  .object({
    format: formatField('duskbank.check/1'),
    version: z.string().describe('Version of Duskbank that made it.'),
    file: z.string().describe('The file, as it was named.'),
    kind: z
      .enum(['site', 'tariff', 'intervals', 'prices', 'document'])
      .describe('What the file seems to be; a document is JSON or YAML without a format of ours.'),
    ok: z.boolean().describe('Whether no fault was found.'),
    provenance: provenanceSchema,
    site: siteSchema.nullable().describe('What a site file says, with all that it names.'),
    tariff: z
      .object({
        name: z.string().describe('Its name.'),
        ...moneyShape,
        warnings: warningsSchema,
      })
      .nullable()
      .describe('What a tariff file says; `duskbank tariff` says more.'),
    intervals: intervalsSchema.nullable().describe('What a file of readings says; `duskbank inspect` says more.'),
    prices: z
      .array(pricesSchema)
      .min(1)
      .nullable()
      .describe('What a file of prices says, or each of those that a tariff file names.'),
    faults: z.array(issueSchema).describe('What is wrong.'),
  })
  .describe('Results of duskbank check.');

/** Results of `check`: see {@link checkReportSchema}. */
export type CheckReport = DeepReadonly<z.output<typeof checkReportSchema>>;
