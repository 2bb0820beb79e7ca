import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { billingSchema, roundingSchema } from './billing.ts';
import { demandSchema } from './demand.ts';
import { baselineSchema, energyChargeSchema, eventSchema, windowSchema } from './energy.ts';
import { exportSchema } from './export.ts';
import { lifeSchema } from './life.ts';
import { fixedSchema, minimumBillSchema, percentSchema } from './money.ts';
import { dateField, holidaySchema, nameField, seasonSchema } from './time.ts';

/** The format that this version reads; its number rises when old files would be misread. */
export const TARIFF_FORMAT = 'duskbank.tariff/1';

/** What may change from one version of a tariff to the next. */
const ratesShape = {
  holidays: z.array(holidaySchema).max(60).optional().describe('Days that count as holidays.'),
  seasons: z.array(seasonSchema).min(1).max(24).optional().describe('The seasons. Left out: the whole year is one.'),
  windows: z
    .array(windowSchema)
    .min(1)
    .max(200)
    .optional()
    .describe('Windows of the day, with the price of the charge "Energy" where they have one.'),
  energy: z.array(energyChargeSchema).max(50).optional().describe('Charges, riders and credits per kWh.'),
  baseline: z.array(baselineSchema).max(100).optional().describe('Baseline allowances.'),
  events: z.array(eventSchema).max(50).optional().describe('Critical-peak and peak-rebate events.'),
  demand: z.array(demandSchema).max(20).optional().describe('Charges on power.'),
  fixed: z.array(fixedSchema).max(50).optional().describe('Charges that don’t depend on energy.'),
  usageCredits: z
    .array(
      fields({
        name: nameField.describe('Its name on the bill.'),
        supplier: nameField.optional().describe('Who pays it.'),
        amount: z.number().min(-1e6).max(1e6).describe('Money off a bill; below 0 for a charge.'),
        leastKwh: z.number().min(0).max(1e9).describe('Least import of the bill that has it, kWh.'),
        belowKwh: z.number().min(0.001).max(1e9).optional().describe('Import from which it falls away again, kWh.'),
      })
        .refine(({ leastKwh, belowKwh = Number.POSITIVE_INFINITY }) => belowKwh > leastKwh, {
          path: ['belowKwh'],
          message: 'more than "leastKwh"',
          params: { code: 'out-of-range' },
        })
        .describe('A credit for using so much.'),
    )
    .max(20)
    .optional()
    .describe('Credits on bills whose import lies in a range. Never shared: the version on the bill’s last day pays.'),
  export: exportSchema.optional(),
  adjustments: z
    .array(percentSchema)
    .max(20)
    .optional()
    .describe('Riders and discounts in percent, in the order in which they are reckoned.'),
  minimumBill: minimumBillSchema.optional(),
  taxes: z.array(percentSchema).max(20).optional().describe('Taxes in percent, in order.'),
};

const versionSchema = fields({
  from: dateField.describe('First day that the version holds on.'),
  note: z.string().max(400).optional().describe('What changed.'),
  ...ratesShape,
}).describe('A later version: each field given here replaces the same field of the version before.');

/** The tariff file, `duskbank.tariff`: what a program or an editor checks one with. */
export const tariffSchema = fields({
  $schema: z.string().optional().describe('Where an editor finds the JSON Schema.'),
  format: z.literal(TARIFF_FORMAT).describe('Kind and major version of the file.'),
  name: nameField.describe('The tariff’s name, as the utility calls it.'),
  utility: nameField.optional().describe('The utility.'),
  notes: z
    .union([z.string().max(4000), z.array(z.string().max(4000)).max(50)])
    .optional()
    .describe('Anything worth knowing: sources, dates.'),
  currency: z.string().describe('ISO 4217 code of the money, such as "USD".'),
  unusualPrices: z
    .literal(true)
    .optional()
    .describe(
      'Prices per kWh or fixed charges are far from what homes usually pay in this currency, or what is exported costs money in every window, and all is right. Without it they are asked about, and savings are withheld where a kWh is unusual.',
    ),
  rounding: roundingSchema.optional(),
  billing: billingSchema.optional(),
  ...ratesShape,
  versions: z.array(versionSchema).max(100).optional().describe('Later versions, by date.'),
  life: lifeSchema.optional(),
}).describe('A Duskbank tariff file: what a utility charges a home, and what it pays for exported energy.');

/** A tariff file as it was read, checked for form. */
export type TariffDocument = z.output<typeof tariffSchema>;
export type TariffVersionDocument = z.output<typeof versionSchema>;
