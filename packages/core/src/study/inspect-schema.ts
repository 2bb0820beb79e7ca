import * as z from 'zod';
import {
  channelField,
  dataSchema,
  findingSchema,
  issueSchema,
  layoutSchema,
  whereSchema,
} from './meter-parts-schema.ts';
import { axisSchema, type DeepReadonly, formatField, provenanceSchema } from './report-parts-schema.ts';

const kwhByChannel = z.object({
  import: z.number().optional().describe('Bought, kWh; absent where it isn’t in the data.'),
  export: z.number().optional().describe('Sold, kWh; absent where it isn’t in the data.'),
  load: z.number().optional().describe('Load, kWh; absent where it isn’t in the data.'),
  solar: z.number().optional().describe('Solar, kWh; absent where it isn’t in the data.'),
});
const share = (what: string) => z.number().min(0).max(1).nullable().describe(what);
const count = (what: string) => z.int().min(0).describe(what);

const pictureSchema = z
  .object({
    channel: channelField,
    daysPerColumn: z.int().min(1).describe('Days that a column stands for.'),
    topKw: z.number().describe('Mean power that counts as the top, kW: 98 % of the cells stay under it.'),
    rows: z
      .array(z.string())
      .length(24)
      .describe(
        'An hour of the day a row, a character a column: 0 to 4 is the fifth of `topKw` in which the mean lies, “.” mostly no reading, a space no interval.',
      ),
    monthStarts: z
      .array(
        z.object({ column: count('The column, from 0.'), month: z.int().min(1).max(12).describe('1 for January.') }),
      )
      .describe('Columns in which a month begins.'),
  })
  .describe('The data as a picture.');

const faultSchema = z
  .object({
    code: z.string().describe('Stable, kebab-case.'),
    severity: z.literal('warning').describe('It bears on how far the data can be trusted.'),
    where: whereSchema,
    data: dataSchema,
    message: z.string().describe('`evidence` and `meaning` in one.'),
    confidence: z.enum(['sure', 'likely', 'possible']).describe('How sure it is.'),
    evidence: z.string().describe('What in the data shows it.'),
    meaning: z.string().describe('What it most often means, and what to look at.'),
    opensPanel: z.boolean().describe('Whether looking at it means opening a panel, a licensed person’s work.'),
    fix: z
      .object({
        flag: z.string().describe('The flag of `inspect` that corrects it.'),
        adjustment: z
          .object({
            flipGrid: z.boolean().optional().describe('Import becomes export and the other way.'),
            swapSolarAndGrid: z.boolean().optional().describe('The two have each other’s transformers.'),
            scale: kwhByChannel
              .extend({
                import: z.number().optional().describe('Factor of import.'),
                export: z.number().optional().describe('Factor of export.'),
                load: z.number().optional().describe('Factor of load.'),
                solar: z.number().optional().describe('Factor of solar.'),
              })
              .optional()
              .describe('Factors by channel.'),
            shiftMinutes: z.number().optional().describe('Added to every time, minutes.'),
            solarInLoad: z.boolean().optional().describe('Solar is taken off load.'),
          })
          .describe('The same for a site file: `adjust` of a meter file.'),
      })
      .optional()
      .describe('The correction that the evidence speaks for.'),
    count: count('Intervals concerned.'),
  })
  .describe('A sign that the meter or monitor measures wrongly.');

const repairsSchema = z.object({
  filledIntervals: count('Intervals filled in any channel.'),
  filled: z
    .array(
      z.object({
        channel: channelField,
        firstInterval: count('First interval of the gap.'),
        intervals: count('Its length.'),
        energyKwh: z.number().describe('Energy filled in, kWh.'),
        spreadKwh: z
          .array(z.number())
          .length(2)
          .describe('What a tenth and nine tenths of the like days stayed under over the same hours, kWh.'),
        likeDays: count('Like days that the medians rest on, at the fewest.'),
        missedByKwh: z
          .number()
          .optional()
          .describe(
            'Of gaps above two weeks: how far the same filling was off on metered stretches of that length, at most, kWh.',
          ),
      }),
    )
    .describe('Gaps that were filled.'),
  left: z
    .array(
      z.object({
        channel: channelField,
        firstInterval: count('First interval of the gap.'),
        intervals: count('Its length.'),
        reason: z.enum(['too-long', 'too-few-like-days', 'too-much']).describe('Why it stayed.'),
      }),
    )
    .describe('Gaps that stayed.'),
});

/** The results of `inspect`, as `--json` prints them. Without data that can be trusted only files and issues are there. */
export const inspectReportSchema = z
  .object({
    format: formatField('duskbank.inspect/1'),
    version: z.string().describe('Version of Duskbank that made it.'),
    ok: z.boolean().describe('Whether there are data that can be trusted.'),
    provenance: provenanceSchema,
    files: z
      .array(
        z.object({
          file: z.string().describe('The file, as it was named.'),
          layout: layoutSchema,
          findings: z.array(findingSchema).describe('What was noticed in it, the gravest first.'),
        }),
      )
      .describe('The files that could be read.'),
    findings: z.array(findingSchema).describe('What was noticed on joining them.'),
    issues: z.array(issueSchema).describe('Why there are no data that can be trusted; empty where there are.'),
    axis: axisSchema.nullable().describe('The span of the data; null without any.'),
    totalsKwh: kwhByChannel.nullable().describe('Sums over the axis.'),
    estimatesMarked: z.boolean().describe('Whether the data say which intervals are estimates, or gaps were filled.'),
    estimatedShare: share('Share of the intervals that hold an estimate.'),
    estimatedShareOfDemandDays: share('The same on the days that hold each month’s highest import.'),
    months: z
      .array(
        z.object({
          month: z.string().describe('"2026-01".'),
          kwh: kwhByChannel.describe('Sums of the month.'),
          gaps: count('Intervals without a value in any channel.'),
          estimated: count('Intervals with an estimate.'),
        }),
      )
      .describe('By month of the home’s clock.'),
    pictures: z.array(pictureSchema),
    faults: z.array(faultSchema),
    gaps: z
      .array(issueSchema)
      .describe(
        'Gaps too long to be filled unasked, a channel each: a study stops at them. The hint names the ways out.',
      ),
    repairs: repairsSchema.nullable().describe('Gaps filled; null where that wasn’t asked for.'),
  })
  .describe('Results of duskbank inspect.');

/** Results of `inspect`: see {@link inspectReportSchema}. */
export type InspectReport = DeepReadonly<z.output<typeof inspectReportSchema>>;
