import * as z from 'zod';
import { factSchema } from './meter-parts-schema.ts';
import {
  axisSchema,
  type DeepReadonly,
  formatField,
  moneyShape,
  provenanceSchema,
  warningsSchema,
} from './report-parts-schema.ts';

const money = (what: string) => z.number().describe(what);
const day = (what: string) => z.iso.date().describe(what);

const lineSchema = z
  .object({
    name: z.string().describe('What the line says: the charge, its part, and the version where the period has two.'),
    kind: z
      .enum(['energy', 'export', 'demand', 'fixed', 'rebate', 'adjustment', 'minimum', 'tax', 'carry', 'rounding'])
      .describe('What it is.'),
    charge: z.string().describe('The charge, event, rider or tax, as the tariff file names it.'),
    part: z
      .string()
      .optional()
      .describe(
        'Which part of it, where it has several: a window, a block, a class of power, what becomes of a surplus.',
      ),
    supplier: z.string().optional().describe('Who bills it, where the tariff says.'),
    quantity: z.number().describe('How much of the unit.'),
    unit: z.string().describe('The unit: "kWh", "kW", "days" and the like.'),
    rate: z.number().describe('Money a unit.'),
    amount: money('quantity × rate, rounded where the tariff says.'),
  })
  .describe('One line of a bill.');

const reconciledSchema = z
  .object({
    start: day('First day of the bill.'),
    end: day('Its last day.'),
    actual: money('What was charged.'),
    ours: z.number().nullable().describe('Our bill over the same days; null where there is none.'),
    without: z
      .enum(['no-data', 'cut', 'overlap'])
      .nullable()
      .describe(
        'Why there is none: the data hold none of its days, or only a part of them, or other bills overlap them. It counts in no total then.',
      ),
    difference: z.number().nullable().describe('actual − ours.'),
    importKwh: z.number().nullable().describe('Energy bought in our bill.'),
    periods: z
      .int()
      .min(1)
      .nullable()
      .describe('Billing periods that our bill is the sum of, 12 for a year’s statement; null where there is none.'),
  })
  .describe('A bill that was charged, beside ours.');

/** The results of `bill`, as `--json` prints them. */
export const billReportSchema = z
  .object({
    format: formatField('duskbank.bill/1'),
    version: z.string().describe('Version of Duskbank that made it.'),
    site: z.string().describe('The home’s name.'),
    axis: axisSchema,
    provenance: provenanceSchema,
    tariff: z.string().describe('Name of the tariff.'),
    ...moneyShape,
    periods: z
      .array(
        z.object({
          start: day('First day of the billing period.'),
          end: day('Its last day.'),
          days: z.int().min(1).describe('Days of it that the data cover.'),
          fullDays: z.int().min(1).describe('All its days: more than those where the data begin or end inside it.'),
          lines: z.array(lineSchema),
          total: money('The exact sum of the amounts.'),
        }),
      )
      .describe('The bills, in order.'),
    total: money('The sum of all bills.'),
    baseline: z
      .object({ total: money('The sum of these bills.') })
      .describe(
        'The bills with what went both ways within one interval netted: what `compare` sets savings against. The same where no interval has both ways.',
      ),
    actual: z
      .object({
        bills: z.array(reconciledSchema).describe('The bills that were charged, by date.'),
        from: z
          .enum(['bills', 'meter-file', 'meter-file-bills'])
          .describe(
            'Where the charges come from: a file of bills, what the meter files say that each interval cost, or the bills that an ESPI feed tells.',
          ),
        total: z
          .object({
            bills: z.int().min(1).describe('How many bills it is of.'),
            actual: money('What was charged.'),
            ours: money('Our bills.'),
            difference: money('actual − ours.'),
            share: z.number().nullable().describe('difference ÷ |ours|; null where nothing was reckoned.'),
            furthest: z
              .object({
                start: day('First day of the bill.'),
                end: day('Its last day.'),
                ours: money('Our bill.'),
                difference: money('actual − ours.'),
                share: z.number().nullable().describe('difference ÷ |ours|; null where nothing was reckoned.'),
              })
              .describe(
                'The bill that is furthest off as a share of what was reckoned for it. Bills that are off both ways add up to little: savings are known no better than this.',
              ),
          })
          .nullable()
          .describe('All bills that stand beside ours; null where none does.'),
        verdict: z
          .enum(['exact', 'trust', 'energy-differs', 'near', 'off'])
          .nullable()
          .describe(
            'How far the tariff file can be trusted. "exact": every bill agrees to the cent. "trust": together within 0.2 %, each within 1 %. "energy-differs": the money would be one of these, but a bill states kWh that are more than 2 % from those of the data. "near": each within 2 % or two cents. "off": further apart. Shares are of what was reckoned.',
          ),
        causes: z
          .array(
            factSchema.extend({
              code: z.string().describe('Stable, kebab-case; two causes together are joined by "+".'),
            }),
          )
          .describe(
            'Likely causes of the differences, the likeliest first; none where every bill agrees to the cent, in its kWh too.',
          ),
        notes: z.array(z.string()).describe('What was read into the dates of these bills, in words.'),
      })
      .nullable()
      .describe('Beside the bills that were charged; null where none were given.'),
    warnings: warningsSchema,
  })
  .describe('Results of duskbank bill.');

/** Results of `bill`: see {@link billReportSchema}. */
export type BillReport = DeepReadonly<z.output<typeof billReportSchema>>;
