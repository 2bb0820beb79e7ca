import type { Fact, Where } from '../words/fact.ts';
import { list, number, oneOf, optional, type Rule, record, text } from './door.ts';

const textOrNumber: Rule = (value, path, looking) =>
  (typeof value === 'number' ? number() : text)(value, path, looking);

const aPath = list(textOrNumber);

/** A fact, as the makers of warnings give it. */
export const aFact = record<Fact>({
  code: text,
  severity: oneOf(['hazard', 'error', 'warning', 'question', 'note']),
  where: record<Where>({
    file: optional(text),
    line: optional(number({ whole: true, least: 1 })),
    column: optional(textOrNumber),
    path: optional(aPath),
    name: optional(text),
    sheet: optional(text),
    cell: optional(text),
    namedIn: optional(record<NonNullable<Where['namedIn']>>({ file: text, path: aPath })),
  }),
  data: record<Fact['data']>({}),
  message: text,
});
