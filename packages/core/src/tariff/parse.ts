import { checkDocument, InputError } from '../input/index.ts';
import { resolveTariff } from './resolve.ts';
import { tariffSchema } from './schema/tariff.ts';
import type { Tariff } from './tariff.ts';

/**
 * Reads a tariff file's document (parsed JSON or YAML), checks its form and its sense, and resolves it.
 *
 * @param file name to show in messages
 * @throws InputError with every fault: path, value, what was expected and the cure
 */
export function parseTariff(document: unknown, file?: string): Tariff {
  const checked = checkDocument(tariffSchema, document, file);
  if (!checked.ok) throw new InputError(checked.issues);
  const { tariff, issues } = resolveTariff(checked.value, file);
  if (issues.length > 0) throw new InputError(issues);
  return tariff;
}
