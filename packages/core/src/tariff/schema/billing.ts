import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { ROUNDING_MODES, ROUNDING_PLACES } from '../vocabulary.ts';
import { dateField } from './time.ts';

export const billingSchema = fields({
  by: z
    .enum(['calendar-month', 'cycle-day', 'read-dates'])
    .default('calendar-month')
    .describe('How bills follow one another. The account’s `readDates` come first where it has them.'),
  day: z.int().min(1).max(31).optional().describe('For "cycle-day": the day of the month that a bill starts on.'),
  dates: z.array(dateField).min(2).optional().describe('For "read-dates": the first day of each bill, in order.'),
  monthDays: z
    .number()
    .min(28)
    .max(31)
    .optional()
    .describe(
      'Monthly amounts and blocks are scaled by days ÷ this. Left out: a billing period is the whole months that it lies within five days of, 61 days two; others go by days ÷ 30.4375.',
    ),
  monthDecimals: z.int().min(0).max(6).optional().describe('With `monthDays`: decimals that the scale is rounded to.'),
}).describe('Billing periods.');

export const roundingSchema = fields({
  at: z
    .enum(ROUNDING_PLACES)
    .default('line')
    .describe('Where money is rounded: each line, the bill’s total, or nowhere.'),
  mode: z
    .enum(ROUNDING_MODES)
    .default('half-up')
    .describe('How: halves away from zero, halves to even, towards zero, away from zero.'),
  decimals: z.int().min(0).max(6).optional().describe('Decimals kept; the currency’s own where left out.'),
  energyDecimals: z
    .int()
    .min(0)
    .max(6)
    .default(6)
    .describe('Decimals of kWh and kW that are billed; 0 where the utility bills whole kWh.'),
}).describe('The rounding rule.');
