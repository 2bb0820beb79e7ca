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
    plant: plantPartSchema,
    backupBasis: z.string().describe('What the backed-up load is, in words.'),
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

/** The results of `check`, as `--json` prints them. What isn't of the file's kind is null, as is what couldn't be read. */
export const checkReportSchema = z
  .object({
    format: formatField('duskbank.check/1'),
    version: z.string().describe('Version of Duskbank that made it.'),
    file: z.string().describe('The file, as it was named.'),
    kind: z
      .enum(['site', 'tariff', 'intervals', 'document'])
      .describe('What the file seems to be; a document is JSON or YAML without a format of ours.'),
    ok: z.boolean().describe('Whether no fault was found.'),
    provenance: provenanceSchema,
    site: siteSchema.nullable().describe('What a site file says, with all that it names.'),
    tariff: z
      .object({
        name: z.string().describe('Its name.'),
        ...moneyShape,
      })
      .nullable()
      .describe('What a tariff file says; `duskbank tariff` says more.'),
    intervals: intervalsSchema.nullable().describe('What a file of readings says; `duskbank inspect` says more.'),
    faults: z.array(issueSchema).describe('What is wrong.'),
  })
  .describe('Results of duskbank check.');

/** Results of `check`: see {@link checkReportSchema}. */
export type CheckReport = DeepReadonly<z.output<typeof checkReportSchema>>;
