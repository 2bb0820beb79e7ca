import type * as z from 'zod';
import { aDate, firstNotAfter } from '../axis/civil-day.ts';
import { list, number, optional, type Rule, record, report, text } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import type { accountSchema } from './schema/account.ts';

/** What a bill needs to know of the home, apart from its energy. */
export type Account = z.output<typeof accountSchema>;

const amount = optional(number({ least: 0 }));
const size = optional(number({ above: 0, most: 1e5 }));

/** Dates that rise. */
const readDates: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  list(aDate, { least: 2 })(value, path, looking);
  if (looking.issues.length > before) return;
  const dates = value as readonly string[];
  const at = firstNotAfter(dates);
  if (at > 0)
    report(looking, [...path, at], 'out-of-range', dates[at], `a date after the one before, ${dates[at - 1]}`);
};

/** An account, in the ranges of its schema. */
export const anAccount = record<Account>({
  readDates: optional(readDates),
  cycleDay: optional(number({ whole: true, least: 1, most: 31 })),
  serviceAmps: size,
  serviceKva: size,
  contractKw: optional(number({ least: 0, most: 1e6 })),
  powerFactor: optional(number({ above: 0, most: 1 })),
  baselineZone: optional(text),
  programmes: optional(list(text)),
  earlierPeaksKw: optional(list(number({ least: 0 }), { most: 36 })),
  carriedKwh: amount,
  carriedMoney: amount,
});

/**
 * A field of the account that the tariff can't do without.
 *
 * @param choices the values that the tariff knows
 * @throws InputError `missing` where the account hasn't it
 */
export function accountField<Key extends keyof Account>(
  account: Account,
  key: Key,
  neededBy: string,
  choices: readonly string[] = [],
): NonNullable<Account[Key]> {
  const value = account[key];
  if (value === undefined)
    throw new InputError([
      {
        code: 'missing',
        where: { path: ['account', key] },
        received: 'nothing',
        expected: `the home’s ${key}: the tariff’s ${neededBy} depends on it`,
        hint: `add it to the site file: "account": { "${key}": ${choices.length === 0 ? '…' : JSON.stringify(choices[0])} }${choices.length === 0 ? '' : `; the tariff knows ${choices.map((choice) => JSON.stringify(choice)).join(', ')}`}`,
      },
    ]);
  return value;
}
