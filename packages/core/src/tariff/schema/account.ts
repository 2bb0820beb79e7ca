import * as z from 'zod';
import { firstNotAfter } from '../../axis/civil-day.ts';
import { fields } from '../../input/index.ts';
import { dateField, nameField } from './time.ts';

/** What a bill needs to know of the home, apart from its energy. */
export const accountSchema = fields({
  readDates: z
    .array(dateField)
    .min(2)
    .superRefine((dates, context) => {
      const at = firstNotAfter(dates);
      if (at > 0)
        context.addIssue({
          code: 'custom',
          path: [at],
          params: { code: 'not-rising', hint: 'order the dates' },
          message: `a date after ${dates[at - 1]}`,
        });
    })
    .optional()
    .describe('Meter readings: the first day of each bill, in order.'),
  cycleDay: z.int().min(1).max(31).optional().describe('Day of the month that bills start on.'),
  serviceAmps: z.number().min(0.001).max(1e5).optional().describe('Size of the service, A.'),
  serviceKva: z.number().min(0.001).max(1e5).optional().describe('Size of the service, kVA.'),
  contractKw: z.number().min(0).max(1e6).optional().describe('Contracted demand, kW.'),
  powerFactor: z
    .number()
    .min(0.001)
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
