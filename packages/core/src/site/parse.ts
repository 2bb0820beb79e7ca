import { bySchema } from '../input/by-schema.ts';
import { check, optional, type Rule, text, unlessMadeHere, vouchFor } from '../input/door.ts';
import { checkDocument, InputError, showValue } from '../input/index.ts';
import { frozen } from '../input/own-copy.ts';
import { SITE_FORMAT, type Site, siteSchema } from './schema.ts';

/**
 * Checks a site document (from JSON or YAML) and fills in defaults. What comes of it is frozen.
 *
 * @param document any value
 * @param file name to show in messages
 * @throws InputError with every fault found, each with its path in the document
 */
export function parseSite(document: unknown, file?: string): Site {
  check({ file }, { file: optional(text) });
  const stated = (document as { format?: unknown } | null | undefined)?.format;
  if (typeof stated === 'string' && stated !== SITE_FORMAT) {
    const isSite = /^duskbank\.site\/\d+$/.test(stated);
    throw new InputError([
      {
        code: isSite ? 'unknown-version' : 'wrong-format',
        where: { file, path: ['format'] },
        received: showValue(stated),
        expected: `"${SITE_FORMAT}"`,
        hint: isSite
          ? 'this file was written for another version of Duskbank: use that version'
          : 'this is no site file: give one, such as "duskbank init" writes',
      },
    ]);
  }
  const checked = checkDocument(siteSchema, document, file);
  if (!checked.ok) throw new InputError(checked.issues);
  return vouchFor('site', frozen(checked.value));
}

/** A site that {@link parseSite} gave, or a copy of one. */
export const aSite: Rule = unlessMadeHere('site', (value, path, looking) => bySchema(siteSchema)(value, path, looking));
