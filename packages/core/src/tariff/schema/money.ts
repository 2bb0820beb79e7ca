import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { CHARGE_KINDS } from '../vocabulary.ts';
import { nameField, namesField } from './time.ts';

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
        upToAmps: z.number().min(0.001).optional().describe('Class of service, amperes; the last one has none.'),
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
