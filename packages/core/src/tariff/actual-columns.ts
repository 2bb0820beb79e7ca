import { InputError, type InputIssue } from '../input/issue.ts';
import { wordsOf } from '../meter/inside.ts';

/** What a column of a file of bills may hold. */
export type Field = 'start' | 'end' | 'period' | 'total' | 'kwh';

/**
 * How the columns may be called, the surest name first; names of other languages are told in English before. Of two columns
 * that fit a name equally well none is taken.
 */
const NAMES: Readonly<Record<Field, readonly RegExp[]>> = {
  start: [/^start$/, /\b(?:start|from|begin(?:s|ning)?|first)\b/, /\bvom\b/],
  end: [/^end$/, /\b(?:end|to|through|until|last)\b/],
  period: [/\b(?:period|dates|days|service|interval|month|\w*zeitraum|\w*periode)\b/],
  total: [
    // What a bill charges for its own days, beside what is due with what was open before.
    /\b(?:current|new) charges\b/,
    /^total$/,
    /\btotal\b.*\b(?:due|cost|amount|charges?|bill)\b|\b(?:amount|bill|charges?|cost) total\b/,
    /\b(?:amount|charged?)\b/,
    /\b(?:total|cost|charges|bill|due|paid|usd|eur)\b|\$/,
  ],
  kwh: [/^kwh$/, /\bkwh\b/, /\b(?:usage|consumption|energy|used)\b/],
};

/** The names of a header, in English and without marks. */
export const headOf = (rows: readonly (readonly string[])[]) => (rows[0] ?? []).map((name) => wordsOf(name).join(' '));

/** Which column holds what, and what is to be known of them. */
export interface BillColumns {
  readonly at: Partial<Record<Field, number>>;
  /** kWh in a unit of the energy's column. */
  readonly kwhTimes: number;
  readonly notes: readonly string[];
}

/** Energy that goes out: a bill's kWh are those that come in. */
const SOLD = /\bexport|\bto grid\b|\bfeed ?in\b|\bsold\b|\breturned\b|\bsurplus\b/;

/** What else a bill of several services charges. */
const OTHER_SERVICE =
  /\bgas\b|\bwater\b|\bsew(?:er|age)\b|\bheat(?:ing)?\b|\bwaste\b|\btrash\b|\binternet\b|\btherms?\b/;
/** Names of the part that is the power's. */
const ELECTRIC = /\belectric(?:ity|al)?\b|\bpower\b|\bstrom\b/;
/** Energy in units that aren't kWh of the meter. */
const OTHER_UNIT = /\bkvar?h\b|\btherms?\b|\bm3\b|\bmj\b|\bgj\b|\bkw\b/;
const UNITS: readonly (readonly [RegExp, kwhTimes: number])[] = [
  [/\bkwh\b/, 1],
  [/\bmwh\b/, 1000],
  [/\bwh\b/, 0.001],
];

/**
 * Which column is which, by its name; a fault where one that is needed isn't there, or two may be it.
 *
 * @param service the column that names the service of each row, which is none of them; -1 where there is none
 */
export function columnsOf(names: readonly string[], file: string, service = -1): BillColumns {
  const at: Partial<Record<Field, number>> = {};
  const issues: InputIssue[] = [];
  const taken = new Set<number>([service]);
  // Its name tells nothing of the amounts: "electricity or gas" is no column of either.
  const head = names.map((words, c) => (c === service ? '' : words));
  const notes: string[] = [];
  const isOther = (field: Field, words: string) =>
    (field === 'kwh' && (SOLD.test(words) || OTHER_UNIT.test(words))) || OTHER_SERVICE.test(words);
  const find = (field: Field) => {
    for (const name of NAMES[field]) {
      const fits = head.flatMap((words, c) => (!taken.has(c) && name.test(words) && !isOther(field, words) ? [c] : []));
      if (fits.length === 0) continue;
      if (fits.length > 1 && (field === 'total' || field === 'kwh'))
        issues.push({
          code: 'several-columns',
          where: { file, line: 1 },
          received: `${fits.length} columns that may be the ${field === 'total' ? 'amount' : 'energy'} of a bill`,
          expected: `one column "${field === 'kwh' ? 'kWh' : field}"`,
          hint: `call the one that is meant "${field === 'kwh' ? 'kWh' : field}"`,
        });
      at[field] = fits[0]!;
      taken.add(fits[0]!);
      return;
    }
  };
  // The energy first: "total kWh" is no amount.
  for (const field of ['kwh', 'start', 'end', 'total'] as const) find(field);
  if (at.start === undefined || at.end === undefined) find('period');
  const missing = (['start', 'end', 'total'] as const).filter(
    (field) => at[field] === undefined && (field === 'total' || at.period === undefined),
  );
  for (const field of missing)
    issues.push({
      code: 'missing-column',
      where: { file, line: 1 },
      received: `${head.length === 0 ? 'nothing' : counted(Object.keys(at))}, ${head.length - Object.keys(at).length} of another name`,
      expected: `a column "${field}"`,
      hint: 'write a header such as start,end,total,kWh in the first line, and below it one row a bill',
    });
  if (issues.length > 0) throw new InputError(issues);
  notes.push(...electricAlone(head, at, file));
  if (at.kwh === undefined && head.some((words) => /\bkvah\b/.test(words)))
    notes.push('The bills state kVAh, which the data don’t hold: they are not compared.');
  const kwhTimes = UNITS.find(([unit]) => unit.test(head[at.kwh ?? -1] ?? ''))?.[1] ?? 1;
  return { at, kwhTimes, notes };
}

/**
 * The amount of electricity, where the bill charges other services too: a column of its own goes before a total that holds them.
 * Which one is meant is asked where the total may hold something else.
 */
function electricAlone(head: readonly string[], at: Partial<Record<Field, number>>, file: string): string[] {
  const total = head[at.total!]!;
  const electric = head.flatMap((words, c) =>
    ELECTRIC.test(words) && c !== at.kwh && !SOLD.test(words) && !/\bk?wh\b|\busage\b|\bused\b|\bmeter\b/.test(words)
      ? [c]
      : [],
  );
  const others = head.some((words) => OTHER_SERVICE.test(words));
  if (ELECTRIC.test(total) || (electric.length === 0 && !others)) return [];
  if (electric.length === 1 && others) {
    at.total = electric[0]!;
    return ['The bills charge other services too: the amounts are those of the column of electricity, not the total.'];
  }
  throw new InputError([
    {
      code: 'several-columns',
      where: { file, line: 1 },
      received: others
        ? 'a total beside another service, such as gas, and no one column of electricity alone'
        : 'a total beside a column of electricity: it may hold other services too, or the column leave out taxes',
      expected: 'one amount a bill, that of electricity with its fixed charges and taxes',
      hint: others
        ? 'add a column "Electric" with what is charged for electricity'
        : 'leave out the column that isn’t meant, and call the other one "total"',
    },
  ]);
}

/** A header by the columns that are ours: any other name may be anything, a customer's among them. */
function counted(fields: readonly string[]): string {
  return fields.length === 0 ? 'no column that bills have' : `columns for ${fields.join(', ')}`;
}
