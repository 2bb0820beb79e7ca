import * as z from 'zod';
import { fields } from '../input/index.ts';
import { outputSchema } from './carry.ts';
import { circuitsSchema } from './circuits.ts';
import { reserveSchema } from './floors.ts';
import { panelSchema } from './panel.ts';
import { reliabilitySchema } from './reliability.ts';

const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$|^24:00$/, 'a local time such as "06:30"');
const month = z.int().min(1).max(12);

/** What stays on when the grid fails: one form only. */
const backupLoadSchema = fields({
  share: z
    .number()
    .min(0.001)
    .max(1)
    .optional()
    .describe('Backed-up load as a share of the metered load in every interval, at most 1.'),
  watts: z
    .number()
    .min(0.001)
    .max(100_000)
    .optional()
    .describe('Backed-up load as a constant draw, W, day and night (1,000 W for one hour is 1 kWh).'),
}).superRefine((load, context) => {
  if ((load.share === undefined) === (load.watts === undefined))
    context.addIssue({
      code: 'custom',
      params: { code: 'one-of', hint: 'keep one of the two' },
      message: 'either "share" or "watts"',
    });
});

const transferSchema = fields({
  kind: z
    .enum(['automatic', 'manual'])
    .describe('"automatic": switches over by itself. "manual": somebody at home must do it.'),
  seconds: z.number().min(0).max(3600).optional().describe('How long the switch-over takes, s.'),
  away: fields({
    from: clock.describe('When nobody is home any more, such as "08:00".'),
    to: clock.describe('When somebody is back, such as "17:00"; before `from` for a stretch over midnight.'),
    days: z.enum(['weekdays', 'all']).optional().describe('Left out: weekdays.'),
  })
    .optional()
    .describe('When nobody is home to switch over by hand; left out: it may be at any hour.'),
});

const coldSchema = fields({
  limitC: z.number().min(-40).max(40).describe('Cell temperature below which the battery refuses to charge, °C.'),
  lowsC: z
    .array(z.number().min(-60).max(60))
    .length(12)
    .describe('Lowest temperature where the battery stands, month by month from January, °C.'),
});

const marginSchema = fields({
  fadeShare: z.number().min(0).lt(1).optional().describe('Usable energy lost to age, as a share; left out: none.'),
  gaugeShare: z
    .number()
    .min(0)
    .lt(1)
    .optional()
    .describe('How far the state-of-charge gauge may read too high, as a share of usable energy; left out: none.'),
});

/** The site's `backup` section: what the battery must carry when the grid fails, and how the island behaves. */
export const backupSchema = fields({
  load: backupLoadSchema
    .optional()
    .describe(
      'What stays on in an outage; left out: the circuits, or without those all the load that the battery reaches.',
    ),
  circuits: circuitsSchema.optional().describe('The circuits on the island, by name.'),
  output: outputSchema.optional().describe('How the equipment feeds the two legs, and its short surge output.'),
  panel: panelSchema.optional().describe('Panel ratings to check the circuits against.'),
  solarOnIsland: z
    .boolean()
    .optional()
    .describe(
      'Whether solar keeps running with the battery when the grid is down; left out: only where it shares the battery’s inverter (DC-coupled), the lower answer.',
    ),
  solarLimitKw: z
    .number()
    .min(0.001)
    .optional()
    .describe('Most solar that the battery’s inverter accepts on the island, kW AC; left out: no limit.'),
  atFull: z
    .enum(['taper', 'trip'])
    .optional()
    .describe(
      'What solar does when the battery is full: "taper" down to the load, or "trip" off and come back; left out: taper.',
    ),
  reconnectMinutes: z.number().min(0.001).max(60).optional().describe('How long tripped solar stays off; left out: 5.'),
  restartKwh: z
    .number()
    .min(0.001)
    .max(100)
    .optional()
    .describe(
      'Energy that the equipment holds under its shutdown level to wake up from sun after it has run empty, kWh; left out: none, so that an empty battery stays dark until the grid returns.',
    ),
  cold: coldSchema
    .optional()
    .describe(
      'No charging, from the grid or from the sun, in months whose lows reach the cells’ limit: on all days as in outages.',
    ),
  margin: marginSchema.optional().describe('Energy that may not be there when it is needed.'),
  transfer: transferSchema
    .optional()
    .describe('How the home changes over to the battery; left out: unknown, so by hand.'),
  reserve: reserveSchema
    .optional()
    .describe('Reserve floors that move with month, hour, expected load or planned outages.'),
  stormMonths: z.array(month).min(1).max(12).optional().describe('Months in which long outages are likely, 1 to 12.'),
  goalHours: z
    .number()
    .min(0.001)
    .max(336)
    .optional()
    .describe('How long the backed-up load should last, h; left out: 8.'),
  reliability: reliabilitySchema.optional().describe('How often and how long the grid fails.'),
});

/** The `backup` section, checked. */
export type Backup = z.output<typeof backupSchema>;
