import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { CHARGE_KINDS, ROUNDING_MODES, ROUNDING_PLACES } from '../vocabulary.ts';
import { dateField, nameField, namesField } from './time.ts';

const moneyField = z.number().min(-1e9).max(1e9);

const onField = namesField.describe(
  `What it falls on: "all", kinds of lines (${CHARGE_KINDS.map((kind) => `"${kind}"`).join(', ')}), ` +
    'suppliers, or names of lines. Only lines before it count.',
);

export const fixedSchema = fields({
  name: nameField.describe('The charge’s name on the bill.'),
  supplier: nameField.optional().describe('Who bills it.'),
  amount: moneyField.optional().describe('Money for each unit of `per`.'),
  per: z
    .enum(['day', 'month', 'bill', 'kva-month', 'year'])
    .default('month')
    .describe(
      'What the amount is for: a day, a billing month (shared by days where a part counts), a bill (never shared), ' +
        'a kVA of the account’s `serviceKva` and month, a year (365 days).',
    ),
  byServiceSize: z
    .array(
      fields({
        upToAmps: z.number().positive().optional().describe('Class of service, amperes; the last one has none.'),
        amount: moneyField.describe('Money for each unit of `per`.'),
      }),
    )
    .min(1)
    .optional()
    .describe('Amounts by the account’s `serviceAmps`, in place of one amount.'),
  seasons: namesField.optional().describe('Seasons that the charge holds in; left out: all.'),
  programme: nameField.optional().describe('Only for homes in this programme.'),
}).describe('A charge or credit that doesn’t depend on energy.');

export const percentSchema = fields({
  name: nameField.describe('Its name on the bill.'),
  percent: z.number().min(-100).max(1000).describe('Percent; negative for a discount.'),
  on: onField.default('all'),
  programme: nameField.optional().describe('Only for homes in this programme.'),
}).describe('A percentage on other lines.');

export const minimumBillSchema = fields({
  name: nameField.default('Minimum bill').describe('The name of the top-up on the bill.'),
  amount: z.number().min(0).max(1e9).describe('What the lines under it come to at least.'),
  per: z.enum(['month', 'day', 'bill']).default('month').describe('What the amount is for.'),
  on: onField.default('all'),
}).describe('Where the lines under it come to less, the bill is topped up.');

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
    .describe('Monthly amounts and blocks are scaled by days ÷ this. Left out: a billing period is one month.'),
  monthDecimals: z.int().min(0).max(6).optional().describe('With `monthDays`: decimals that the scale is rounded to.'),
}).describe('Billing periods.');

export const lifeSchema = fields({
  closedFrom: dateField.optional().describe('New customers are refused from this date on.'),
  endsOn: dateField.optional().describe('Last day on which anybody is billed on it.'),
  successor: nameField.optional().describe('Name of the tariff that customers go to then.'),
  successorFile: z
    .string()
    .min(1)
    .optional()
    .describe('Its tariff file, relative to this one: payback and what changes if nothing is done then follow it.'),
  lockInMonths: z
    .int()
    .min(0)
    .max(120)
    .optional()
    .describe('Months that a customer stays at least after switching to it.'),
  earliestSwitch: dateField.optional().describe('First date on which a customer of it may leave.'),
  billProtectionMonths: z
    .int()
    .min(0)
    .max(36)
    .optional()
    .describe('For so many months after switching, what it costs above the former tariff is credited.'),
  eligibility: z.array(z.string().max(400)).max(20).optional().describe('Who may have it, in the utility’s words.'),
}).describe('What will become of the tariff, and who may have it.');

/** What a bill needs to know of the home, apart from its energy. */
export const accountSchema = fields({
  readDates: z.array(dateField).min(2).optional().describe('Meter readings: the first day of each bill, in order.'),
  cycleDay: z.int().min(1).max(31).optional().describe('Day of the month that bills start on.'),
  serviceAmps: z.number().positive().max(1e5).optional().describe('Size of the service, A.'),
  serviceKva: z.number().positive().max(1e5).optional().describe('Size of the service, kVA.'),
  contractKw: z.number().min(0).max(1e6).optional().describe('Contracted demand, kW.'),
  powerFactor: z
    .number()
    .positive()
    .max(1)
    .optional()
    .describe('Power factor that kVA are reckoned with; 1 where left out.'),
  baselineZone: nameField.optional().describe('Zone of the baseline allowance.'),
  programmes: z.array(nameField).optional().describe('Programmes that the home is in.'),
  earlierPeaksKw: z
    .array(z.number().min(0))
    .max(36)
    .optional()
    .describe('Highest billed kW of the billing periods before the data, the latest first: for ratchets.'),
  carriedKwh: z.number().min(0).optional().describe('Net-metering surplus carried into the data, kWh.'),
  carriedMoney: z.number().min(0).optional().describe('Credit carried into the data.'),
}).describe('The home’s account with its utility.');
