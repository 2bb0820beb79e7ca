import { InputError } from '../input/issue.ts';
import { plainLetters } from '../meter/inside.ts';
import { numbersOf } from './actual-amounts.ts';

/** A row of a file of bills, and its line. */
export interface Row {
  readonly row: readonly string[];
  readonly line: number;
}

/** Electricity, as bills name it in six languages; letters without accents. */
const ELECTRICITY =
  /\belec\b|\belectri\w*|\belektr\w*|\belettri\w*|\b(?:\w*strom|stroom|elektra|luz|luce)\b|^power(?: supply)?$/;

/**
 * What else is billed beside it, under the word that is told. What may be electricity too (heating, hot water) isn't among them, nor is a
 * gas of which nobody knows whether it was bought.
 */
const OTHERS: readonly (readonly [RegExp, string])[] = [
  [/\b(?:gas|gaz|erdgas|aardgas|metano|propan[eo]?|lpg)\b/, 'gas'],
  [
    /\b(?:(?:ab|trink)?wasser|(?:drink)?water|eau|agua|acqua|sewer(?:age)?|assainissement|riool\w*|fognatura)\b/,
    'water',
  ],
  [/\b(?:district heat(?:ing)?|fernwae?rme|stadsverwarming|chauffage urbain|teleriscaldamento)\b/, 'district heat'],
  [/\b(?:trash|garbage|waste|mull|abfall|dechets|basura|rifiuti|afval)\b/, 'waste'],
  [/\b(?:internet|broadband|telephone|telefoon|telefono|telefon|phone|mobile|tv)\b/, 'telephone or internet'],
];
/** Water that may be heated with electricity, as on a meter of its own. */
const HEATED = /\b(?:hot|warm)\W?(?:water|wasser)\b|\beau chaude\b|\bagua caliente\b|\bacqua calda\b|\bwarmwasser\b/;

/** Money: two cents and 0.001, what rounding line by line makes. */
const SLACK = 0.021;

/** A row of what the others come to. */
const TOTAL = /^(?:grand |sub)?(?:total|totals|sum|summe|gesamt(?:betrag|summe)?|totaal|totale|somme|suma)\b/;
/** The same beside the name of a service. */
const TOTAL_OF = /\b(?:(?:sub)?totals?|sum|summe|gesamt\w*|totaal|totale|somme|suma)\b/;

/** A cell that names a service is short: a note may name several. */
const MOST_LETTERS = 40;

/** What a cell names: electricity, another service by its word, or nothing that is sure. */
function serviceOf(cell: string): 'electricity' | { readonly other: string } | undefined {
  if (cell.length > MOST_LETTERS) return undefined;
  const plain = plainLetters(cell).toLowerCase();
  const electric = ELECTRICITY.test(plain);
  const others = HEATED.test(plain) ? [] : OTHERS.filter(([name]) => name.test(plain));
  if (electric) return others.length === 0 ? 'electricity' : undefined;
  return others.length === 1 ? { other: others[0]![1] } : undefined;
}

/**
 * The column in which bills of several services are told apart: some of its cells name electricity, others another service, and at least
 * half of the rows one or the other; or all that say anything another. -1 where there is none. It is looked for before the others: its
 * name may be that of a period ("service") or of energy.
 */
export function serviceColumn(rows: readonly (readonly string[])[]): number {
  const body = rows.slice(1);
  const width = Math.max(0, ...rows.map((row) => row.length));
  for (let c = 0; c < width; c++) {
    const cells = body.map((row) => (row[c] ?? '').trim()).filter((cell) => cell !== '');
    const services = cells.map(serviceOf);
    const told = services.filter((service) => service !== undefined);
    const electric = told.filter((service) => service === 'electricity').length;
    const isBoth = electric > 0 && electric < told.length;
    const isOther = electric === 0 && told.length === cells.length;
    if (told.length > 0 && told.length >= body.length / 2 && (isBoth || isOther)) return c;
  }
  return -1;
}

/**
 * The rows of electricity, by a column that tells services apart, and what is to be said of those left out.
 *
 * @param at the columns of amounts and of days
 * @throws InputError where a row's service isn't told, or none is electricity
 */
export function electricityAlone(
  body: readonly Row[],
  column: number,
  at: { readonly total: number; readonly days: readonly number[] },
  delimiter: string,
  file: string,
): { readonly body: readonly Row[]; readonly notes: readonly string[] } {
  if (column < 0) return { body, notes: [] };
  const services = body.map(({ row }) => serviceOf((row[column] ?? '').trim()));
  const daysOf = ({ row }: Row) => at.days.map((c) => (row[c] ?? '').trim()).join(' ');
  const amounts = numbersOf(
    body.map(({ row }) => (row[at.total] ?? '').trim()),
    delimiter,
  );
  const passed = sumsOfElectricity(
    body.map((one, k) => ({
      days: daysOf(one),
      amount: Number(amounts[k]),
      isElectric: services[k] === 'electricity',
      isTold: services[k] !== undefined,
      isTotal: TOTAL_OF.test(plainLetters((one.row[column] ?? '').trim()).toLowerCase()),
    })),
  );
  const electricDays = new Set(body.filter((_, k) => services[k] === 'electricity').map(daysOf));
  const isTotal = body.map((one, k) => {
    const cell = plainLetters((one.row[column] ?? '').trim()).toLowerCase();
    // The total alone tells of no electricity.
    return services[k] === undefined && TOTAL.test(cell) && electricDays.has(daysOf(one));
  });
  const unclear = body.filter((_, k) => services[k] === undefined && !isTotal[k]);
  const where = { file, column: column + 1 };
  if (unclear.length > 0)
    throw new InputError(
      unclear.slice(0, 20).map(({ line }) => ({
        code: 'service-unclear',
        where: { ...where, line },
        received: 'a row that doesn’t say whether it is electricity, beside rows of electricity and of other services',
        expected: 'one service in each row',
        hint: 'write "electricity" into it, or leave out the row where it is another service, or the sum of several',
      })),
    );
  const kept = body.filter((_, k) => services[k] === 'electricity' && !passed.has(k));
  const names = new Set(services.flatMap((service) => (typeof service === 'object' ? [service.other] : [])));
  const listed = [...names].join(' and ');
  if (kept.length === 0 && body.length > 0)
    throw new InputError([
      {
        code: 'other-service',
        where,
        received: `bills of ${listed} alone`,
        expected: 'bills of electricity',
        hint: 'give a file with the bills of electricity',
      },
    ]);
  const left = body.flatMap((_, k) => (typeof services[k] === 'object' ? [amounts[k]!] : []));
  // A gas bill that can't be read is no fault of the electricity's.
  const read = left.filter((amount): amount is number => typeof amount === 'number' && Number.isFinite(amount));
  const sum = read.reduce((all, amount) => all + amount, 0);
  const unread = left.length - read.length;
  const totals = body.filter((_, k) => isTotal[k]);
  const [odd] = totals.filter((one) => {
    const parts = body.flatMap((other, k) =>
      services[k] !== undefined && daysOf(other) === daysOf(one) ? [Number(amounts[k])] : [],
    );
    const sum = parts.reduce((all, amount) => all + amount, 0);
    return !(Math.abs(sum - Number(amounts[body.indexOf(one)])) <= SLACK);
  });
  return {
    body: kept,
    notes: [
      ...(passed.size === 0
        ? []
        : [
            `${passed.size === 1 ? 'A row of electricity is' : `${passed.size} rows of electricity are`} counted in another row with the same days, of which one is called a total by column ${column + 1}: each amount counts once.`,
          ]),
      ...(totals.length === 0
        ? []
        : [
            `${totals.length === 1 ? 'A row is' : `${totals.length} rows are`} called a total by column ${column + 1}, with the other services in it: left out.` +
              (odd === undefined
                ? ''
                : ` That of line ${odd.line} isn’t the sum of the rows with its days: what it holds beside them, such as a tax, isn’t counted.`),
          ]),
      `${left.length === 1 ? '1 row is' : `${left.length} rows are`} of another service (${listed}) by column ${column + 1}, of ${sum.toFixed(2)} in all` +
        `${unread === 0 ? '' : ` without the ${unread} whose amount can’t be read`}: left out.`,
    ],
  };
}

/** What is asked of a row to tell whether its amount is in another one too. */
interface Part {
  readonly days: string;
  readonly amount: number;
  readonly isElectric: boolean;
  /** Whether it names a service. */
  readonly isTold: boolean;
  readonly isTotal: boolean;
}

/**
 * Rows of electricity whose amount stands in another row of the same days too: a total of all services, though it names
 * electricity; and the items that a total of electricity is the sum of.
 */
function sumsOfElectricity(parts: readonly Part[]): ReadonlySet<number> {
  const passed = new Set<number>();
  for (const [k, total] of parts.entries()) {
    if (!total.isElectric || !total.isTotal) continue;
    const others = parts.flatMap((part, j) => (part.days === total.days && part.isTold && !part.isTotal ? [j] : []));
    const items = others.filter((j) => parts[j]!.isElectric);
    if (items.length === 0) continue;
    const isSumOf = (rows: readonly number[]) =>
      Math.abs(rows.reduce((sum, j) => sum + parts[j]!.amount, 0) - total.amount) <= SLACK;
    if (isSumOf(items)) for (const j of items) passed.add(j);
    else if (isSumOf(others)) passed.add(k);
  }
  return passed;
}
