import { showName } from '@duskbank/core/input';
import { isDate } from '@duskbank/core/tariff';
import { inputFault } from './fail.ts';

/**
 * Today's date in a zone; in that of whoever asks where no home is known. Where `SOURCE_DATE_EPOCH` is set (the convention of reproducible builds: seconds since 1970), that moment is now.
 */
export function today(zone?: string): string {
  const stated = process.env.SOURCE_DATE_EPOCH;
  const now = stated !== undefined && /^\d{1,12}$/.test(stated) ? new Date(1000 * Number(stated)) : new Date();
  const parts = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
  }).formatToParts(now);
  const part = (type: string) => parts.find((one) => one.type === type)!.value;
  return `${part('year')}-${part('month')}-${part('day')}`;
}

/**
 * A date given as an option.
 * @throws InputError `not-a-date`
 */
export function dateNamed(text: string, option: string): string {
  if (isDate(text)) return text;
  throw inputFault({
    code: 'not-a-date',
    where: { column: option },
    received: `"${showName(text)}"`,
    expected: 'a date such as "2026-11-27"',
  });
}
