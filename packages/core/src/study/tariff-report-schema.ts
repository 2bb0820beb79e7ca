import * as z from 'zod';
import { type DeepReadonly, formatField, moneyShape, provenanceSchema, warningsSchema } from './report-parts-schema.ts';

const day = (what: string) => z.iso.date().describe(what);

/** A day in half-hours, or in steps as short as 5 minutes. */
const [FEWEST, MOST] = [48, 288];

const weekSchema = z
  .object({
    flow: z
      .enum(['import', 'export'])
      .describe(
        'Import: what one more kWh costs, riders and taxes included, before blocks and other terms. Export: what it earns.',
      ),
    season: z.string().describe('The season.'),
    months: z.array(z.int().min(1).max(12)).min(1).describe('Months that have this week, 1 for January.'),
    stepMinutes: z
      .int()
      .min(5)
      .max(30)
      .describe(
        'How long a step of the week is: half an hour, shorter where hours of the tariff begin or end within it.',
      ),
    pricePerKwh: z
      .array(z.array(z.number()).min(FEWEST).max(MOST))
      .length(7)
      .describe('Money a kWh, from Monday to Sunday, step by step from midnight.'),
    statedPerKwh: z
      .array(z.array(z.number()).min(FEWEST).max(MOST))
      .length(7)
      .describe('The same before riders and taxes: the sum of what the file states, as the sentences say it.'),
    window: z.array(z.array(z.string()).min(FEWEST).max(MOST)).length(7).describe('Name of the window of each step.'),
    blocks: z
      .object({
        sets: z
          .array(
            z.array(
              z.object({
                charge: z.string().describe('The charge’s name.'),
                later: z
                  .array(
                    z.object({
                      above: z.string().describe('The end of the block before, such as “60 kWh a month”.'),
                      addedPerKwh: z
                        .number()
                        .describe('What a kWh costs (or earns) more than in the first block, before riders and taxes.'),
                    }),
                  )
                  .min(1)
                  .describe('The blocks after the first.'),
              }),
            ),
          )
          .min(1)
          .describe('Blocks that hours stand in together, each set once.'),
        set: z
          .array(z.array(z.int().min(-1)).min(FEWEST).max(MOST))
          .length(7)
          .describe('The set of each step, counted from 0; −1: no blocks.'),
      })
      .optional()
      .describe('Where charges have blocks: the prices above are those of the first ones, and what later ones add.'),
  })
  .describe('A week of prices.');

/** The results of `tariff`, as `--json` prints them. What is absent from the tariff's file is absent here. */
export const tariffReportSchema = z
  .object({
    format: formatField('duskbank.tariff-description/1'),
    provenance: provenanceSchema,
    date: day('The day that is asked about.'),
    name: z.string().describe('The tariff’s name.'),
    utility: z.string().optional().describe('The utility.'),
    ...moneyShape,
    version: z
      .object({
        from: z.iso.date().optional().describe('Its first day; absent for the first version.'),
        note: z.string().optional().describe('What changed.'),
      })
      .describe('The tariff’s version that holds on that day. (The version of Duskbank is in `provenance`.)'),
    sections: z
      .array(
        z.object({
          title: z.string().describe('The subject.'),
          lines: z.array(z.string()).describe('Plain sentences, without the full stop.'),
        }),
      )
      .describe('What the tariff says, by subject.'),
    weeks: z.array(weekSchema).describe('A week of prices for each season, import first.'),
    seriesLeftOut: z
      .array(z.string())
      .describe('Files of price series, which the weeks leave out: they hold what a kWh costs beside them.'),
    ended: z
      .object({
        on: day('Its last day.'),
        successor: z.string().optional().describe('The tariff that followed, where the file says.'),
      })
      .optional()
      .describe('Where the tariff’s life was over by that day.'),
    nextChange: z
      .object({ date: day('From when.'), what: z.string().describe('What changes, in words.') })
      .optional()
      .describe('What changes next within a year; absent where nothing does, and once the tariff has ended.'),
    warnings: warningsSchema,
  })
  .describe('Results of duskbank tariff.');

/** Results of `tariff`: see {@link tariffReportSchema}. */
export type TariffReport = DeepReadonly<z.output<typeof tariffReportSchema>>;
