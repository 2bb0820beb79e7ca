import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { WINDOW_KINDS } from '../vocabulary.ts';
import { clockField, dateField, daysField, hoursShape, monthsField, nameField, namesField } from './time.ts';

export const priceField = z.number().min(-1e7).max(1e7);

const boundField = z.number().min(0.001).max(1e9);

export const blockSchema = fields({
  upToKwh: boundField
    .optional()
    .describe('The block’s upper end, kWh a billing month; shared by days where only a part of the month counts.'),
  upToKwhPerDay: boundField.optional().describe('The block’s upper end, kWh a day, times the days.'),
  upToBaseline: boundField
    .optional()
    .describe('The block’s upper end as a multiple of the baseline: 1 is the baseline, 4 is 400 % of it.'),
  pricePerKwh: priceField.describe('What a kWh in the block costs.'),
}).describe('A block of energy. The last one has no upper end.');

export const blocksField = z.array(blockSchema).min(1).max(20);

const windowPriceShape = {
  pricePerKwh: priceField.optional().describe('Price of a kWh in the window.'),
  blocks: blocksField.optional().describe('Blocks within the window, in place of one price.'),
};

export const windowSchema = fields({
  name: nameField.describe('The window’s name, such as "on-peak". Several entries may share one.'),
  ...hoursShape,
  otherwise: z
    .literal(true)
    .optional()
    .describe('The window holds whenever no other one does, within its seasons, months and days.'),
  kind: z
    .enum(WINDOW_KINDS)
    .optional()
    .describe('How dispatch should see the window. Left out, it follows from the prices of the season.'),
  ...windowPriceShape,
}).describe('A named stretch of the day. Together the windows hold each minute of each kind of day once.');

export const seriesSchema = fields({
  file: z
    .string()
    .min(1)
    .describe('Name of a file of prices per kWh, one row an hour or finer; its path is read from the tariff’s own.'),
  multiplier: z.number().min(-1000).max(1000).default(1).describe('The series’ price is multiplied by this first.'),
  adderPerKwh: priceField.default(0).describe('Added to every price after that.'),
  known: z
    .enum(['day-ahead', 'published'])
    .default('day-ahead')
    .describe('When prices are known: "day-ahead" (from 13:00 the day before) or "published" (long before).'),
}).describe('A price series from a file. Negative prices are allowed.');

const tableRowSchema = fields({
  months: monthsField.optional().describe('Months that the row holds in, 1 … 12; left out: all.'),
  days: daysField.optional().describe('Days that the row holds on; left out: all.'),
  pricesByHour: z.array(priceField).length(24).describe('24 prices, from midnight on.'),
});

/** The forms that a price per kWh may take; exactly one is given. */
export const pricingShape = {
  pricePerKwh: priceField.optional().describe('One price for all.'),
  byWindow: z.record(z.string(), priceField).optional().describe('A price for each of the tariff’s windows, by name.'),
  windows: z.array(windowSchema).min(1).max(100).optional().describe('Windows of its own, with their prices.'),
  table: z
    .array(tableRowSchema)
    .min(1)
    .max(100)
    .optional()
    .describe('Prices by month, kind of day and hour: each month and kind of day is in one row.'),
  blocks: blocksField.optional().describe('Blocks of the energy that the charge counts.'),
  resets: z
    .enum(['billing-period', 'day'])
    .optional()
    .describe('When blocks start anew; "billing-period" where left out. With "day" the ends are in kWh a day.'),
  series: seriesSchema.optional(),
};

export const energyChargeSchema = fields({
  name: nameField.describe('The charge’s name on the bill.'),
  supplier: nameField.optional().describe('Who bills it, where delivery and supply come from two companies.'),
  ...pricingShape,
  seasons: namesField.optional().describe('Seasons that the charge holds in; left out: all.'),
  inWindows: namesField.optional().describe('Only energy in these windows of the tariff counts; left out: all.'),
  nonBypassable: z
    .literal(true)
    .optional()
    .describe('Falls on all imported energy, also where net metering offsets the rest.'),
  programme: nameField.optional().describe('Only for homes in this programme.'),
}).describe('A charge, rider or credit per kWh of import.');

export const baselineSchema = fields({
  kwhPerDay: z.number().min(0.001).max(1e6).describe('The baseline allowance, kWh a day.'),
  seasons: namesField.optional().describe('Seasons that it holds in; left out: all.'),
  zone: nameField.optional().describe('Only for homes in this baseline zone.'),
}).describe('The allowance that blocks given by `upToBaseline` are multiples of.');

export const eventSchema = fields({
  name: nameField.describe('The event’s name on the bill.'),
  dates: z.array(dateField).min(1).max(1000).describe('Dates that it was called on.'),
  from: clockField.describe('Clock time that it begins at.'),
  to: clockField.describe('Clock time that it ends at, later on the same day.'),
  pricePerKwh: priceField.optional().describe('Critical peak: replaces the price of the windows.'),
  adderPerKwh: priceField.optional().describe('Critical peak: comes on top of the price of the windows.'),
  rebatePerKwh: priceField.min(0).optional().describe('Peak rebate: paid for each kWh used less than usual.'),
  baselineKwh: z.number().min(0).optional().describe('For a rebate: the usual use in one event, kWh, where stated.'),
  baselineDays: z
    .int()
    .min(1)
    .max(60)
    .optional()
    .describe(
      'For a rebate: usual use is the mean of the same hours on so many days before: weekdays that are neither ' +
        'holidays nor events.',
    ),
}).describe('Hours called at short notice: dearer energy, or pay for using less.');
