import { checkDocument, InputError, showValue } from '../input/index.ts';
import { SITE_FORMAT, type Site, siteSchema } from './schema.ts';

/**
 * Checks a site document (from JSON or YAML) and fills in defaults.
 *
 * @param document any value
 * @param file name to show in messages
 * @throws InputError with every fault found, each with its path in the document
 */
export function parseSite(document: unknown, file?: string): Site {
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
  return checked.value;
}
