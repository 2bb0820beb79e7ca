import * as z from 'zod';
import { type DeepReadonly, formatField, moneyShape, studyShape } from './report-parts-schema.ts';

const price = (what: string) => z.number().describe(`${what}, money a kWh, unrounded.`);
const energyKwh = (what: string) => z.number().min(0).describe(`${what}, kWh.`);

/** The results of `explain`, as `--json` prints them. Energy is of the one interval, kWh at AC. */
export const explainReportSchema = z
  .object({
    format: formatField('duskbank.explain/1'),
    ...studyShape,
    basis: z.string().describe('“modelled, not metered”, and what the worth of stored energy knows.'),
    strategy: z.string().describe('The strategy that ran the battery.'),
    ...moneyShape,
    loadKnown: z
      .boolean()
      .describe(
        'False where solar isn’t metered: load and solar below are then what was bought and sold, and `hiddenKwh` besides.',
      ),
    interval: z
      .object({
        start: z.iso.datetime().describe('Its start, UTC.'),
        end: z.iso.datetime().describe('Its end, UTC.'),
        index: z.int().min(0).describe('Which one of the axis.'),
      })
      .describe('The interval that holds the moment asked about.'),
    price: z
      .object({
        importPerKwh: price('Bought, in the block that the bill ended in, with riders and taxes'),
        exportPerKwh: price('Sold, in the block that the bill ended in, with riders and taxes'),
        statedImportPerKwh: price('Bought, before riders and taxes, as `tariff` prints it'),
        statedExportPerKwh: price('Sold, before riders and taxes'),
        window: z.string().describe('The tariff’s window.'),
        blocks: z
          .array(
            z.object({
              charge: z.string().describe('The charge’s name.'),
              counts: z
                .enum(['import', 'export', 'netted'])
                .describe('What fills the blocks: energy bought, energy sold, or bought less sold.'),
              per: z.enum(['bill', 'day']).describe('Whether they start anew each bill or each day.'),
              fromKwh: z.array(z.number().min(0)).min(2).describe('Where each block begins, kWh of the bill or day.'),
              pricesPerKwh: z
                .array(z.number())
                .min(2)
                .describe('Price of a kWh in each block, all other charges in it, money a kWh, unrounded.'),
              block: z.int().min(1).describe('The block that the interval was in, counted from 1.'),
              beforeKwh: energyKwh('What had filled the blocks before it'),
              endBlock: z
                .int()
                .min(1)
                .describe('The block that the bill or day ended in: one more kWh at any time of it falls there.'),
              endKwh: energyKwh('What had filled them by then'),
            }),
          )
          .describe('Where charges have blocks: the one that the interval was in.'),
      })
      .describe('What a kWh costs and sells for then.'),
    flows: z
      .object({
        loadKwh: energyKwh('The home’s load'),
        solarKwh: energyKwh('Solar'),
        hiddenKwh: z
          .number()
          .min(0)
          .optional()
          .describe(
            'Of both, what is taken as used behind the meter and no meter measured, kWh; absent where nothing is taken so.',
          ),
        importKwh: energyKwh('Bought'),
        exportKwh: energyKwh('Sold'),
        chargeKwh: energyKwh('Into the battery'),
        dischargeKwh: energyKwh('Out of the battery'),
        curtailedKwh: energyKwh('Solar neither used, stored nor sold'),
        unservedKwh: energyKwh('Load that neither grid nor battery could carry'),
      })
      .describe('What went where.'),
    stored: z
      .object({
        startKwh: energyKwh('Stored at the start'),
        endKwh: energyKwh('Stored at the end'),
        floorKwh: energyKwh('Reserve floor; with a medical circuit all of it'),
        capacityKwh: energyKwh('Usable energy'),
      })
      .describe('Stored energy, on the battery’s side.'),
    valueOfStoredKwh: price('Saved by one more kWh stored at the start, everything after it known and done best'),
    now: z
      .object({
        boughtCosts: price('Bought and stored'),
        surplusCosts: price('Stored from own surplus, its sale forgone; under buy-all bought at the meter of the load'),
        servingSaves: price('Carrying load'),
        sellingEarns: price('Sold; under buy-all nothing'),
      })
      .describe('What a stored kWh costs or brings then: where each lies against its value decides.'),
    nextPeak: z
      .object({
        start: z.iso.datetime().describe('Its start, UTC.'),
        importPerKwh: price('Bought in it'),
        window: z.string().describe('The tariff’s window.'),
      })
      .nullable()
      .describe('The next on-peak window to begin within a week; null where none does.'),
    forecast: z
      .object({
        loadKwh: energyKwh('A day’s load'),
        solarKwh: energyKwh('A day’s sun'),
        days: z.int().min(1).describe('How many past days it is the mean of.'),
      })
      .nullable()
      .describe('The day as the past would have it; null on the first day.'),
    limits: z.array(z.string()).describe('Limits that the interval ran into, in words.'),
    bestInHindsight: z
      .object({ chargeKwh: energyKwh('Into the battery'), dischargeKwh: energyKwh('Out of the battery') })
      .describe('What would have been best from the same stored energy on.'),
    words: z.array(z.string()).min(1).describe('The same in sentences.'),
  })
  .describe('Results of duskbank explain.');

/** Results of `explain`: see {@link explainReportSchema}. */
export type ExplainReport = DeepReadonly<z.output<typeof explainReportSchema>>;
