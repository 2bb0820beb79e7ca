import { nearestName, showName } from '@duskbank/core/input';
import { siteSchema } from '@duskbank/core/site';
import { reportSchemas, sheetFileSchema } from '@duskbank/core/study';
import { tariffSchema } from '@duskbank/core/tariff';
import * as z from 'zod';
import { inputFault } from '../io/fail.ts';
import { printJson } from '../io/output.ts';

const FILES: Readonly<Record<string, z.ZodType>> = {
  site: siteSchema,
  tariff: tariffSchema,
  sheet: sheetFileSchema,
};
const REPORTS: Readonly<Record<string, z.ZodType>> = reportSchemas;

/** Prints the JSON Schema (draft 2020-12) of a file format of ours, or of what a command prints with --json. */
export function run(kind: string): void {
  const kinds = [...Object.keys(FILES), ...Object.keys(REPORTS)];
  if (!kinds.includes(kind)) {
    const near = nearestName(kind, kinds);
    throw inputFault({
      code: 'not-allowed',
      where: {},
      received: `the kind "${showName(kind)}"`,
      expected: `one of ${kinds.join(', ')}`,
      ...(near === undefined ? {} : { hint: `did you mean "${near}"?` }),
    });
  }
  const file = FILES[kind];
  printJson(
    file === undefined ? z.toJSONSchema(REPORTS[kind]!, { io: 'output' }) : z.toJSONSchema(file, { io: 'input' }),
  );
}
