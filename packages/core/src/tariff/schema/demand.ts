import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { hoursShape, nameField, namesField } from './time.ts';

const moneyField = z.number().min(-1e9).max(1e9);
const kwField = z.number().min(0).max(1e6);

export const demandSchema = fields({
  name: nameField.describe('The charge’s name on the bill.'),
  supplier: nameField.optional().describe('Who bills it.'),
  pricePerKw: moneyField.optional().describe('Price of a billed kW (or kVA) a billing month.'),
  pricePerKwDay: moneyField.optional().describe('Price of a billed kW (or kVA) a day, times the days of the period.'),
  steps: z
    .array(
      fields({
        upToKw: kwField.optional().describe('The class’s upper end, kW, itself included; the last one has none.'),
        amount: moneyField.describe('The fee of the class, a billing month.'),
      }),
    )
    .min(1)
    .max(50)
    .optional()
    .describe('Capacity steps: a fee by the class that the billed kW falls in, in place of a price.'),
  ...hoursShape,
  inWindows: namesField.optional().describe('Only power in these windows of the tariff counts; left out: all.'),
  averagingMinutes: z
    .literal([5, 15, 30, 60])
    .default(15)
    .describe('Power is averaged over this many minutes, from the full hour on.'),
  highestDays: z
    .int()
    .min(1)
    .max(31)
    .default(1)
    .describe('1: the maximum counts. n: the mean of the highest values of the n highest days.'),
  minimumKw: kwField.optional().describe('So many kW are billed at least.'),
  contractShare: z
    .number()
    .min(0)
    .max(1)
    .optional()
    .describe('At least this share of the contracted kW is billed (`contractKw` of the account).'),
  ratchet: fields({
    share: z.number().min(0.001).max(1).describe('Share of the earlier peak that is billed at least.'),
    months: z.int().min(1).max(36).describe('How many billing periods back the earlier peak is looked for.'),
    seasons: namesField.optional().describe('Only peaks of billing periods that end in these seasons count.'),
  })
    .optional()
    .describe('Ratchet: a high peak is billed in part for months after.'),
  unit: z.enum(['kW', 'kVA']).default('kW').describe('kVA are reckoned from kW with the account’s `powerFactor`.'),
}).describe('A charge on the highest power drawn from the grid.');
