import * as z from 'zod';
import { issueSchema } from './meter-parts-schema.ts';
import { type DeepReadonly, formatField } from './report-parts-schema.ts';

/** What every command prints with `--json` in place of its results where the input is refused. */
export const refusalSchema = z
  .object({
    format: formatField('duskbank.refusal/1'),
    version: z.string().describe('Version of Duskbank that refused it.'),
    faults: z.array(issueSchema).min(1).describe('What is wrong with the input: all that was found.'),
  })
  .describe('An input that is refused: there are no results.');

/** A refused input: see {@link refusalSchema}. */
export type Refusal = DeepReadonly<z.output<typeof refusalSchema>>;
