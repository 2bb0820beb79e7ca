import { InputError } from '../input/issue.ts';
import type { Clause } from '../words/causes.ts';
import { parseTariff } from './parse.ts';
import type { Tariff } from './tariff.ts';

const NAME = 'Missing from the file';

/** Where a charge that is missing is written in a tariff file, and how; undefined for what is no charge of its own. */
function entryOf({ code, data }: Clause): readonly [key: string, entry: object] | undefined {
  switch (code) {
    case 'rider':
      return ['energy', { name: NAME, pricePerKwh: data.pricePerKwh }];
    case 'fixed-per-bill':
      return ['fixed', { name: NAME, amount: data.amountPerBill, per: 'bill' }];
    case 'fixed-per-day':
      return ['fixed', { name: NAME, amount: data.amountPerDay, per: 'day' }];
    case 'tax':
      return ['taxes', { name: NAME, percent: 100 * data.share }];
    case 'tax-on-energy':
      return ['adjustments', { name: NAME, percent: 100 * data.share, on: ['energy'] }];
    default:
      return undefined;
  }
}

/** A tariff with a missing charge written into its file, as a reader would; undefined where the file can't hold it so. */
export function withMissing(tariff: Tariff, clause: Clause): Tariff | undefined {
  const missing = entryOf(clause);
  if (missing === undefined) return undefined;
  const [key, entry] = missing;
  const added = (rates: object) => ({ ...rates, [key]: [...((rates as Record<string, object[]>)[key] ?? []), entry] });
  const { versions, ...first } = tariff.document;
  // A later version that replaces the list needs it too.
  const later = versions?.map((version) => (key in version ? added(version) : version));
  try {
    return parseTariff({ ...added(first), ...(later === undefined ? {} : { versions: later }) });
  } catch (error) {
    if (error instanceof InputError) return undefined;
    throw error;
  }
}
