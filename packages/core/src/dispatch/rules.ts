import { callable, flag, isMadeHere, list, oneOf, optional, type Rule, record, report, text } from '../input/door.ts';
import { hasUnseen, withoutUnseen } from '../words/visible.ts';
import { RESERVED_STRATEGY_NAMES } from './ours.ts';
import type { Strategy } from './strategy.ts';

const strangerFields = record<Strategy>({
  name: text,
  knowledge: oneOf(['causal', 'foresight']),
  role: optional(oneOf(['rule', 'yardstick'])),
  countsWear: optional(flag),
  begin: callable,
});

/** A name as a reader sees it: forms of one letter, unseen characters, blanks around it and capitals tell nobody apart. */
function seenAs(name: string): string {
  return withoutUnseen(name.normalize('NFKC')).trim().replace(/\s+/g, ' ').toLowerCase();
}

/** A strategy: one of ours, or one that takes neither our names nor our roles. */
export const aStrategy: Rule = (value, path, looking) => {
  if (isMadeHere('strategy', value)) return;
  const before = looking.issues.length;
  strangerFields(value, path, looking);
  if (looking.issues.length > before) return;
  const { name } = value as Strategy;
  if (RESERVED_STRATEGY_NAMES.includes(seenAs(name)))
    report(
      looking,
      [...path, 'name'],
      'reserved-name',
      name,
      `another name than the library's own: ${RESERVED_STRATEGY_NAMES.join(', ')}`,
      `give it a name of its own, such as "my-${name}"`,
    );
  else if (seenAs(name) === '' || name.length > 60 || hasUnseen(name))
    report(
      looking,
      [...path, 'name'],
      'wrong-form',
      name,
      'a name of 1 to 60 characters on one line, every one of which can be seen',
    );
};

/** Strategies to be run side by side: reports know them by name, so that no name may come twice. */
export const someStrategies: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  if (!Array.isArray(value)) {
    report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, 'a list of strategies');
    return;
  }
  list(aStrategy)(value, path, looking);
  if (looking.issues.length > before) return;
  const names = (value as readonly Strategy[]).map((strategy) => strategy.name);
  for (const [s, name] of names.entries())
    if (names.indexOf(name) < s)
      report(
        looking,
        [...path, s, 'name'],
        'duplicate-name',
        name,
        'a name that no other strategy of the list has',
        'a copy may be renamed: { ...strategy, name: "another-name" }',
      );
};
