import { check, optional, text, vouchFor } from '../input/door.ts';
import { checkDocument, InputError, showValue } from '../input/index.ts';
import { frozen } from '../input/own-copy.ts';
import { resolveTariff } from './resolve/tariff.ts';
import { TARIFF_FORMAT, tariffSchema } from './schema/tariff.ts';
import type { Tariff } from './tariff.ts';

/**
 * Reads a tariff file's document (parsed JSON or YAML), checks its form and its sense, and resolves it. It is frozen.
 *
 * @param file name to show in messages
 * @throws InputError with every fault: path, value, what was expected and the cure
 */
export function parseTariff(document: unknown, file?: string): Tariff {
  check({ file }, { file: optional(text) });
  const stated = (document as { format?: unknown } | null | undefined)?.format;
  if (typeof stated === 'string' && stated !== TARIFF_FORMAT) {
    const isTariff = /^duskbank\.tariff\/\d+$/.test(stated);
    throw new InputError([
      {
        code: isTariff ? 'unknown-version' : 'wrong-format',
        where: { file, path: ['format'] },
        received: showValue(stated),
        expected: `"${TARIFF_FORMAT}"`,
        hint: isTariff
          ? 'this file was written for another version of Duskbank: use that version'
          : 'this is no tariff file: a site names its tariff file in "tariff"',
      },
    ]);
  }
  const checked = checkDocument(tariffSchema, document, file);
  if (!checked.ok) throw new InputError(checked.issues);
  const { tariff, issues } = resolveTariff(checked.value, file);
  if (issues.length > 0) throw new InputError(issues);
  return vouchFor('tariff', frozen(tariff));
}
