import { callable, isMadeHere, oneOf, optional, type Rule, record, report, text, vouchFor } from '../input/door.ts';
import type { Strategy, StrategyRole } from './strategy.ts';

/** Names of the strategies that come with the library: another's would be taken for one of them. */
const OUR_NAMES = [
  'none',
  'hold',
  'self-consumption',
  'window',
  'peak-shave',
  'settings',
  'optimum',
  'optimum-wear',
  'rolling',
  'rolling-wear',
  'rolling-forecast',
  'rolling-forecast-wear',
];

/** Enters a strategy as one of ours: it is known by its identity, and trusted not to write what it is shown. */
export function enter<Ours extends Strategy>(strategy: Ours): Ours {
  if (!OUR_NAMES.includes(strategy.name)) throw new Error(`internal: the name "${strategy.name}" is not reserved`);
  return vouchFor('strategy', strategy);
}

/** Whether a strategy is one of ours. A copy of one isn't. */
export function isOurs(strategy: Strategy): boolean {
  return isMadeHere('strategy', strategy);
}

/** What a strategy is for: its own word, else a yardstick where it knows the future, else a rule. */
export function roleOf(strategy: Strategy): StrategyRole {
  return strategy.role ?? (strategy.knowledge === 'foresight' ? 'yardstick' : 'rule');
}

const strangerFields = record<Strategy>({
  name: text,
  knowledge: oneOf(['causal', 'foresight']),
  role: optional(oneOf(['rule', 'yardstick'])),
  begin: callable,
});

/** A strategy: one of ours, or one that takes neither our names nor our roles. */
export const aStrategy: Rule = (value, path, looking) => {
  if (isMadeHere('strategy', value)) return;
  const before = looking.issues.length;
  strangerFields(value, path, looking);
  if (looking.issues.length > before) return;
  const { name } = value as Strategy;
  if (OUR_NAMES.includes(name))
    report(
      looking,
      [...path, 'name'],
      'reserved-name',
      name,
      `another name than the library's own: ${OUR_NAMES.join(', ')}`,
      `give it a name of its own, such as "my-${name}"`,
    );
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is refused
  else if (!/^[^\u0000-\u001f\u007f]{1,60}$/.test(name))
    report(looking, [...path, 'name'], 'wrong-form', name, 'a name of 1 to 60 characters on one line');
};

/** Strategies to be run side by side: reports know them by name, so that no name may come twice. */
export const someStrategies: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  if (!Array.isArray(value)) {
    report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, 'a list of strategies');
    return;
  }
  for (let s = 0; s < value.length; s++) aStrategy(value[s], [...path, s], looking);
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
