import { inputFault } from './fail.ts';

/**
 * Today's date in a zone. Where `SOURCE_DATE_EPOCH` is set (the convention of reproducible builds: seconds since 1970), that moment is now.
 */
export function today(zone: string): string {
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
  const ms = /^\d{4}-\d\d-\d\d$/.test(text) ? Date.parse(`${text}T00:00Z`) : Number.NaN;
  if (!Number.isNaN(ms) && new Date(ms).toISOString().slice(0, 10) === text) return text;
  throw inputFault({
    code: 'wrong-form',
    where: { column: option },
    received: `"${text}"`,
    expected: 'a date such as "2026-11-27"',
  });
}
