import * as z from 'zod';
import { fields } from '../input/index.ts';

const clock = z
  .string()
  .regex(/^(([01]\d|2[0-3]):[0-5]\d|24:00)$/, 'a time of the day, such as "23:00"')
  .describe('On the home’s clock: "23:00".');

/**
 * In percent. A share of 1 typed in its place would be read as next to nothing, so that a number up to 1 is asked about; "1 %" with its
 * sign is meant.
 */
const percent = z.unknown().transform((value, context): number => {
  const fault = (code: string, message: string, hint?: string) => {
    context.addIssue({ code: 'custom', message, params: { code, ...(hint === undefined ? {} : { hint }) } });
    return z.NEVER;
  };
  const signed = typeof value === 'string' ? /^(\d+(?:\.\d+)?) ?%$/.exec(value.trim()) : null;
  const stated = signed === null ? value : Number(signed[1]);
  if (typeof stated !== 'number' || Number.isNaN(stated))
    return fault('wrong-type', 'percent: a number of 0 to 100, or text such as "20 %"');
  if (stated < 0 || stated > 100) return fault('out-of-range', 'percent of 0 to 100');
  if (signed !== null || stated === 0 || stated > 1) return stated;
  const meant = Number((100 * stated).toPrecision(12));
  return fault(
    'out-of-range',
    'percent: 0, or more than 1 up to 100',
    // A share of less than a tenth of a percent is no share that a box keeps.
    stated < 0.001
      ? 'write 0, or a percentage above 1'
      : `write ${meant} for ${meant} %, or "${stated} %" with its sign where so little is meant`,
  );
});

/** What a percentage may be written as, for those who read the schema. */
const PERCENT = [
  { type: 'number' as const, minimum: 0, maximum: 100 },
  { type: 'string' as const, pattern: '^\\d+(?:\\.\\d+)? ?%$' },
];

const allMonths = Array.from({ length: 12 }, (_, m) => m + 1);

const windowOf = {
  from: clock.describe('Begins then, on the home’s clock: "23:00".'),
  to: clock.describe('Ends then: "05:00". The time of `from` again is the whole day.'),
};

/** A box's present settings, as somebody reads them off it: what `settings` judges with `--try`. */
export const sheetFileSchema = fields({
  format: z.literal('duskbank.sheet/1').optional().describe('Kind and major version of the file.'),
  reservePercent: percent
    .optional()
    .meta({ anyOf: PERCENT })
    .describe('Kept for an outage all year, % of usable energy: 20, or "20 %". Default: that of the printed sheet.'),
  reserveByMonth: z
    .array(
      fields({
        months: z.array(z.int().min(1).max(12)).min(1).describe('Months in which it is kept, by their numbers.'),
        percent: percent.meta({ anyOf: PERCENT }).describe('Kept in them, % of usable energy: 60, or "60 %".'),
      }),
    )
    .min(1)
    .max(12)
    .optional()
    .describe(
      'Reserves set by hand in some months, where they are more than what is kept then: each so long before its first month as filling takes, and back after the last.',
    ),
  chargeKw: z
    .number()
    .min(0.001)
    .max(1_000_000)
    .optional()
    .describe(
      'Charging power from the grid, kW AC; more than ten times what the plant takes, or than 100 kW, is refused. Default: all that the plant takes.',
    ),
  schedules: z
    .array(
      fields({
        months: z
          .array(z.int().min(1).max(12))
          .min(1)
          .default(allMonths)
          .describe('Months in which it holds, by their numbers. Default: all.'),
        days: z.enum(['every day', 'weekdays', 'weekends']).default('every day').describe('Days on which it holds.'),
        charge: fields({
          ...windowOf,
          toPercent: percent.default(100).meta({ anyOf: PERCENT }).describe('Charged up to here, % of usable energy.'),
        })
          .optional()
          .describe('The window in which it charges from the grid. Left out: from the sun alone.'),
        carry: fields(windowOf)
          .optional()
          .describe('The window in which the battery carries load. Left out: whenever there is load.'),
      }),
    )
    .min(1)
    .max(48)
    .describe('What the box does when. The first that fits a month and a day holds.'),
}).describe('Settings as a box has them.');
