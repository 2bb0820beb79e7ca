import type * as z from 'zod';
import { checkDocument } from './document.ts';
import { type Rule, report } from './door.ts';
import { sameData } from './same-data.ts';

/** What a schema's check gives: every field in its range, every default filled in. */
export function bySchema(schema: z.ZodType): Rule {
  return (value, path, looking) => {
    const checked = checkDocument(schema, value, undefined, path);
    if (!checked.ok) looking.issues.push(...checked.issues);
    else if (!sameData(checked.value, value))
      report(looking, path, 'not-parsed', value, 'what the check of a file gives, with every default filled in');
  };
}
