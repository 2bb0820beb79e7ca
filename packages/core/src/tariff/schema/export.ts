import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { priceField, pricingShape } from './energy.ts';
import { nameField } from './time.ts';

const common = {
  name: nameField.default('Export credit').describe('The credit’s name on the bill.'),
  limitKw: z.number().min(0).max(1e6).optional().describe('Power that may be exported at most, kW.'),
};

const trueUpMonthField = z
  .int()
  .min(1)
  .max(12)
  .optional()
  .describe('Month whose bill settles the year: what is left then is cashed out. Left out: never.');

export const exportSchema = z
  .discriminatedUnion(
    'kind',
    [
      fields({ kind: z.literal('none').describe('Exported energy earns nothing.'), limitKw: common.limitKw }),
      fields({
        kind: z.literal('net-billing').describe('Exported energy is credited at a price of its own.'),
        ...common,
        ...pricingShape,
        carry: z
          .enum(['none', 'money'])
          .default('none')
          .describe('"money": credit beyond a bill’s charges carries over. "none": it is paid out.'),
        offsets: z
          .enum(['energy', 'all'])
          .default('energy')
          .describe('With carry: what credit may pay for, charges per kWh or the whole bill.'),
        trueUpMonth: trueUpMonthField,
        settleShare: z
          .number()
          .min(0)
          .max(1)
          .default(0)
          .describe('Share of leftover credit that is paid out at the true-up; 0: it is lost.'),
      }),
      fields({
        kind: z
          .literal('net-metering')
          .describe('Export offsets import kWh by kWh; charges marked `nonBypassable` fall on import all the same.'),
        ...common,
        within: z
          .enum(['window', 'period'])
          .default('window')
          .describe(
            'Offset within each window (the tariff’s, a charge’s own, a price of a table), or with one price for all hours over the whole period.',
          ),
        carry: z
          .enum(['none', 'kwh', 'money'])
          .default('none')
          .describe('Surplus carries over in kWh, in money at the retail price, or settles with each bill.'),
        offsets: z
          .enum(['energy', 'all'])
          .default('energy')
          .describe('With carry in money: what credit may pay for, charges per kWh or the whole bill.'),
        trueUpMonth: trueUpMonthField,
        surplusPerKwh: priceField.default(0).describe('What a kWh of surplus earns where it settles.'),
        settleShare: z
          .number()
          .min(0)
          .max(1)
          .default(0)
          .describe('With carry in money: share of leftover credit paid out at the true-up.'),
      }),
      fields({
        kind: z
          .literal('buy-all')
          .describe('Buy-all, sell-all: the home buys its whole load and sells all its solar, on two meters.'),
        ...common,
        ...pricingShape,
      }),
    ],
    { error: 'an object whose "kind" is one of none, net-billing, net-metering, buy-all' },
  )
  .describe('What exported energy earns.');
