import { nearestName, showName } from '@duskbank/core/input';
import { siteSchema } from '@duskbank/core/site';
import { tariffSchema } from '@duskbank/core/tariff';
import * as z from 'zod';
import { inputFault } from '../io/fail.ts';
import { printJson } from '../io/output.ts';

const SCHEMAS: Record<string, z.ZodType> = { site: siteSchema, tariff: tariffSchema };

/** Prints the JSON Schema (draft 2020-12) of a file format of ours. */
export function run(kind: string): void {
  const schema = SCHEMAS[kind];
  if (schema === undefined) {
    const near = nearestName(kind, Object.keys(SCHEMAS));
    throw inputFault({
      code: 'not-allowed',
      where: {},
      received: `the kind "${showName(kind)}"`,
      expected: `one of ${Object.keys(SCHEMAS).join(', ')}`,
      ...(near === undefined ? {} : { hint: `did you mean "${near}"?` }),
    });
  }
  printJson(z.toJSONSchema(schema, { io: 'input' }));
}
