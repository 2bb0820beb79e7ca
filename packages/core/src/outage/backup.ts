import * as z from 'zod';
import { fields } from '../input/index.ts';

/** What stays on when the grid fails: one form only. */
export const backupLoadSchema = fields({
  share: z
    .number()
    .gt(0)
    .max(1)
    .optional()
    .describe('backed-up load as a share of the metered load in every interval, more than 0, at most 1'),
  watts: z
    .number()
    .gt(0)
    .max(100_000)
    .optional()
    .describe('backed-up load as a constant draw, W, day and night (1,000 W for one hour is 1 kWh)'),
}).superRefine((load, context) => {
  if ((load.share === undefined) === (load.watts === undefined))
    context.addIssue({
      code: 'custom',
      params: { code: 'one-of', hint: 'keep one of the two' },
      message: 'either "share" or "watts"',
    });
});

/** The site's `backup` section: what the battery must carry when the grid fails, and how the island behaves. */
export const backupSchema = fields({
  load: backupLoadSchema
    .optional()
    .describe('what stays on in an outage; left out: all the load that the battery reaches'),
  solarOnIsland: z
    .boolean()
    .optional()
    .describe(
      'whether solar keeps running with the battery when the grid is down; left out: only where it shares the battery’s inverter (DC-coupled), the lower answer',
    ),
  solarLimitKw: z
    .number()
    .gt(0)
    .optional()
    .describe('most solar that the battery’s inverter accepts on the island, kW AC; left out: no limit'),
});

/** The `backup` section, checked. */
export type Backup = z.output<typeof backupSchema>;
