import * as z from 'zod';
import { fields } from '../../input/index.ts';
import { dateField, nameField } from './time.ts';

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
