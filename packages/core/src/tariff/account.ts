import type * as z from 'zod';
import { InputError } from '../input/issue.ts';
import type { accountSchema } from './schema/account.ts';

/** What a bill needs to know of the home, apart from its energy. */
export type Account = z.output<typeof accountSchema>;

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
