import * as z from 'zod';
import { isZone } from '../axis/index.ts';
import { economicsSchema } from '../economics/index.ts';
import { fields } from '../input/index.ts';
import { meterSourceSchema } from '../meter/inside.ts';
import { backupSchema } from '../outage/index.ts';
import { plantSchema, serviceSchema } from '../plant/index.ts';
import { accountSchema, dateField } from '../tariff/index.ts';
import { plannedSolarSchema } from './planned-solar.ts';

/** The format that this version reads; its number rises when old files would be misread. */
export const SITE_FORMAT = 'duskbank.site/1';

/** A site file: one home, its data, tariff and plant. Each section's schema lives with what it describes. */
export const siteSchema = fields({
  $schema: z.string().optional().describe('For editors: where the JSON Schema of this file lies.'),
  format: z.literal(SITE_FORMAT).describe('What this file is.'),
  name: z.string().min(1).max(120).describe('What the home is called in results.'),
  zone: z
    .string()
    .refine(isZone, {
      error: 'an IANA time zone such as "America/Denver"',
      params: { code: 'unknown-zone', hint: 'an offset such as "UTC-7" has no clock changes: name the zone instead' },
    })
    .describe('IANA time zone whose clock the home and its tariff follow.'),
  location: fields({
    latitudeDeg: z.number().min(-90).max(90).describe('Degrees north.'),
    longitudeDeg: z.number().min(-180).max(180).describe('Degrees east.'),
  })
    .describe('Where the home stands: lets the clock of solar data be checked against the sun.')
    .optional(),
  meter: meterSourceSchema,
  tariff: z.string().min(1).describe('The tariff file, relative to this one.'),
  account: accountSchema.optional(),
  startsOn: dateField
    .optional()
    .describe(
      'Day from which the plan holds: battery, planned solar, a switch of tariff. Payback, lock-in and a tariff’s end are counted from it. Default: the day after the data.',
    ),
  plannedSolar: plannedSolarSchema.optional(),
  plant: plantSchema
    .optional()
    .describe(
      'The battery, its inverter and how they are wired. Left out, the home has none yet: bills, tariffs and the load in an outage are answered all the same.',
    ),
  service: serviceSchema.optional(),
  backup: backupSchema.describe('What stays on when the grid fails, and how the island behaves.').optional(),
  economics: economicsSchema.describe('What the battery costs, for a simple payback.').optional(),
  dispatch: fields({
    peakShaveTargetKw: z
      .number()
      .min(0)
      .max(10_000)
      .describe('Import that peak-shave holds, kW; learned from past billing periods where not given.')
      .optional(),
    sumForHoursPerYear: z
      .number()
      .min(0)
      .max(1_000_000)
      .describe(
        'Money a year that settings may cost more than the cheapest where they last longer in an outage; 2 % of the savings where not given, at least 0.1 % of the bill without its fixed charges.',
      )
      .optional(),
  })
    .describe('Settings of the strategies.')
    .optional(),
})
  .superRefine(({ plant, backup }, context) => {
    const share = backup?.load?.share;
    const reach = typeof plant?.reach === 'object' && 'share' in plant.reach ? plant.reach.share : undefined;
    if (share === undefined || reach === undefined || share <= reach + 1e-9) return;
    context.addIssue({
      code: 'custom',
      path: ['backup', 'load', 'share'],
      params: {
        code: 'contradiction',
        received: `${share}, and the battery reaches ${reach}`,
        hint: 'when the grid is down the battery carries what hangs behind the transfer equipment, and no more',
      },
      message: `at most plant.reach.share, ${reach}`,
    });
  })
  .describe(
    'A site file of Duskbank: one home, its metered data, tariff, battery if it has one, and what should stay on in an outage.',
  );

/** A site file, checked. */
export type Site = z.output<typeof siteSchema>;
