import * as z from 'zod';
import { fields } from '../input/index.ts';
import { meterFileSchema } from '../meter/inside.ts';

/** The site's `plannedSolar`: what a new array would give, from a file or as more of what is metered. */
export const plannedSolarSchema = fields({
  file: z
    .union([z.string().min(1), meterFileSchema])
    .optional()
    .describe(
      'Interval file of the planned array’s production at AC, over the span of the metered data: a path, or a path with what is stated about the file, as in `meter.files`. Its values are solar unless stated otherwise.',
    ),
  scaleOfExisting: z
    .number()
    .min(0.001)
    .max(100)
    .optional()
    .describe(
      'Production added, as a multiple of the metered solar: 0.5 adds half as much again, 1.5 adds one and a half times as much. Needs a metered solar column.',
    ),
})
  .superRefine((planned, context) => {
    if ((planned.file === undefined) === (planned.scaleOfExisting === undefined))
      context.addIssue({
        code: 'custom',
        path: [],
        params: { code: planned.file === undefined ? 'missing' : 'not-together' },
        message: 'one of "file" and "scaleOfExisting"',
      });
  })
  .describe(
    'Solar that would be added to what is metered, by one of the two fields; its gain is shown apart from the battery’s.',
  );
