import * as z from 'zod';

/** A date of a file, `2026-03-31`. */
export const dateField = z
  .string()
  .refine(
    (text) => {
      const match = /^(\d{4})-(\d\d)-(\d\d)$/.exec(text);
      if (match === null) return false;
      const date = new Date(Date.UTC(Number(match[1]), Number(match[2]) - 1, Number(match[3])));
      return date.toISOString().slice(0, 10) === text;
    },
    { error: 'a date that exists, such as "2026-03-31"', params: { code: 'not-a-date' } },
  )
  .meta({ pattern: '^\\d{4}-\\d{2}-\\d{2}$' });
