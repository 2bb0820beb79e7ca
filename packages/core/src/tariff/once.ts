import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import { moneyText } from '../words/figures.ts';
import type { ActualBill } from './causes.ts';

/** Bills, and what was read into them to have each once. */
interface Told {
  readonly bills: readonly ActualBill[];
  readonly notes: readonly string[];
}

type Days = Pick<ActualBill, 'start' | 'end'>;

/** Whether two bills are of the same days. */
export function sameDays(a: Days, b: Days): boolean {
  return a.start === b.start && a.end === b.end;
}

/**
 * Charges alone. An amount below zero that its row calls a payment is one. One that nothing names is the payment of an earlier charge, or of
 * the same days, that it is to the cent: of a whole bill, for nobody pays an item by itself, or of all rows with the same days one by one. A
 * credit stays: what its row calls so, and what no charge has the amount of.
 */
export function withoutPayments(bills: readonly ActualBill[]): Told {
  const named = bills.filter(({ total, kind }) => total < 0 && kind === 'payment');
  const payments: ActualBill[] = [];
  const groups = byDays(bills.filter(({ total, kind }) => total >= 0 || kind === 'credit'));
  for (const group of groups) {
    const paymentOf = (amount: number, other: readonly ActualBill[] = []) =>
      amount === 0
        ? undefined
        : bills.find(
            (bill) =>
              isUnnamed(bill) &&
              isCent(amount + bill.total) &&
              group[0]!.start <= bill.start &&
              !payments.includes(bill) &&
              !other.includes(bill),
          );
    const whole = wholeAmounts(group).flatMap((amount) => paymentOf(amount) ?? [])[0];
    if (whole !== undefined) {
      payments.push(whole);
      continue;
    }
    const charges = group.filter(({ total }) => total > 0);
    const each: ActualBill[] = [];
    for (const { total } of charges) each.push(...[paymentOf(total, each) ?? []].flat());
    if (each.length === charges.length) payments.push(...each);
  }
  const notes: string[] = [];
  const [first] = payments;
  if (first !== undefined)
    notes.push(
      payments.length === 1
        ? `An amount below zero, of ${first.start}, is as much as a charge before it: read as its payment, and left out.`
        : `${payments.length} amounts below zero, such as that of ${first.start}, are each as much as a charge before: read as payments, and left out.`,
    );
  if (named.length > 0)
    notes.push(
      `${named.length === 1 ? 'An amount below zero is called a payment' : `${named.length} amounts below zero are called payments`}, such as ${moneyText(named[0]!.total, 2)} of ${named[0]!.start}: left out.`,
    );
  return { bills: bills.filter((bill) => !payments.includes(bill) && !named.includes(bill)), notes };
}

const isCent = (difference: number) => Math.abs(difference) < 0.005;

/** Below zero, and nothing says whether it was paid or credited. */
const isUnnamed = ({ total, kind }: ActualBill) => total < 0 && kind === undefined;

/** What a whole bill may come to whose rows these are: their sum, that of the charges alone, or the one row that is their total. */
function wholeAmounts(group: readonly ActualBill[]): number[] {
  const { bills: rows } = withoutRepeats(group);
  const charges = rows.filter(({ total }) => total >= 0);
  const sum = rows.reduce((all, { total }) => all + total, 0);
  const total = charges.find((bill) => rows.length > 2 && Math.abs(2 * bill.total - sum) <= SLACK);
  return [sum, charges.reduce((all, bill) => all + bill.total, 0), ...(total === undefined ? [] : [total.total])];
}

/** Bills that are there once: the same days and the same amount twice are one bill, copied twice. */
export function withoutRepeats(bills: readonly ActualBill[]): Told {
  const kept: ActualBill[] = [];
  const repeats: ActualBill[] = [];
  for (const group of byDays(bills)) {
    const counts = new Map<number, ActualBill[]>();
    for (const bill of group) counts.set(bill.total, [...(counts.get(bill.total) ?? []), bill]);
    // Two items of one bill may be of the same amount; a bill that was copied has all of its items twice.
    const copies = [...counts.values()].map((same) => same.length).reduce(commonDivisor);
    for (const same of counts.values()) {
      kept.push(...same.slice(0, same.length / copies));
      repeats.push(...same.slice(same.length / copies));
    }
  }
  const [first] = repeats;
  if (first === undefined) return { bills, notes: [] };
  return {
    bills: kept,
    notes: [
      `${repeats.length === 1 ? 'A bill is' : `${repeats.length} bills are`} there again with the same days and amount, such as ${first.start} to ${first.end}: each is counted once.`,
    ],
  };
}

/** Money: two cents and 0.001, what rounding line by line makes. */
const SLACK = 0.021;
/** Of what was reckoned, how near a charge is to be for the amounts below zero beside it to be taken for payments. */
const NEAR = 0.02;
/** Of a charge, what is paid of it at least: less may be a credit that the tariff file lacks. */
const LEAST_PAID = 0.25;

/** Bills with their items and the total of these, each in a row: the totals, where all bills of several rows have one. */
export function withTotalsAlone(bills: readonly ActualBill[]): Told {
  const groups = byDays(bills);
  const several = groups.filter((group) => group.length > 1);
  const [first] = several;
  const totalOf = (group: readonly ActualBill[]) =>
    group.length < 3
      ? undefined
      : group.find((bill) => bill.total > 0 && Math.abs(2 * bill.total - sumOf(group).total) <= SLACK);
  if (first === undefined || !several.every((group) => totalOf(group) !== undefined)) return { bills, notes: [] };
  return {
    bills: groups.map((group) => {
      if (group.length === 1) return group[0]!;
      const total = totalOf(group)!;
      return { ...sumOf(group.filter((bill) => bill !== total)), ...total };
    }),
    notes: [
      `Among rows with the same days one is the sum of the others, such as ${moneyText(totalOf(first)!.total, 2)} of ${first[0]!.start} to ${first[0]!.end}: it is taken for the bill, and its items are left out.`,
    ],
  };
}

/**
 * Bills with what their rows call a credit taken off, whatever was reckoned: that of the same days, or of days that lie within those of one
 * bill. Beside several charges of a bill it stays an item among them. A credit of the whole bill stays too: whether another bill came in its
 * place isn't known.
 */
export function withCreditsTaken(bills: readonly ActualBill[]): Told {
  const isCredit = ({ total, kind }: ActualBill) => total < 0 && kind === 'credit';
  const groups = byDays(bills.filter((bill) => !isCredit(bill)));
  const charged = groups.filter((group) => group.some(({ total }) => total >= 0));
  const placed = bills.map((bill) => {
    if (!isCredit(bill) || charged.some(([first]) => sameDays(first!, bill))) return bill;
    const around = charged.filter(([first]) => first!.start <= bill.start && bill.end <= first!.end);
    return around.length === 1 ? { ...bill, start: around[0]![0]!.start, end: around[0]![0]!.end } : bill;
  });
  const taken: ActualBill[] = [];
  const told = byDays(placed).flatMap((group) => {
    const credits = group.filter(isCredit);
    const charges = group.filter(({ total }) => total >= 0);
    if (credits.length === 0 || charges.length !== 1) return group;
    const bill = sumOf([...charges, ...credits]);
    if (isCent(bill.total)) return group;
    taken.push(...credits);
    return [bill, ...group.filter((one) => one.total < 0 && !isCredit(one))];
  });
  const [first] = taken;
  if (first === undefined) return { bills: placed, notes: [] };
  return {
    bills: told,
    notes: [
      `${taken.length === 1 ? 'An amount below zero is called a credit' : `${taken.length} amounts below zero are called credits`}, such as ${moneyText(first.total, 2)} of ${first.start} to ${first.end}: taken off ${taken.length === 1 ? 'its bill' : 'their bills'}.`,
    ],
  };
}

/**
 * Charges without what was paid of them in part: amounts below zero with the days of one charge, which agrees with what was reckoned
 * where their sum doesn't.
 *
 * @param reckoned what was reckoned for some days; undefined where the data don't hold them
 */
export function withoutPartPayments(bills: readonly ActualBill[], reckoned: Reckoned): Told {
  const groups = byDays(bills);
  const several = groups.filter((group) => group.length > 1);
  const [first] = several;
  if (first === undefined) return { bills, notes: [] };
  const own = new Map(
    reckoned(several.map((group) => group[0]!)).map(({ bill, own }) => [`${bill.start} ${bill.end}`, own.total]),
  );
  const isNear = (amount: number, total: number) => Math.abs(amount - total) <= Math.max(SLACK, NEAR * Math.abs(total));
  const arePaid = several.every((group) => {
    const charges = group.filter(({ total }) => total >= 0);
    const total = own.get(`${group[0]!.start} ${group[0]!.end}`);
    if (charges.length !== 1) return false;
    if (
      group.some((bill) => bill.total < 0 && (bill.kind === 'credit' || -bill.total < LEAST_PAID * charges[0]!.total))
    )
      return false;
    return total === undefined || (isNear(charges[0]!.total, total) && !isNear(sumOf(group).total, total));
  });
  if (own.size === 0 || !arePaid) return { bills, notes: [] };
  const payments = several.flatMap((group) => group.filter(({ total }) => total < 0));
  return {
    bills: bills.filter((bill) => !payments.includes(bill)),
    notes: [
      `${payments.length === 1 ? 'An amount' : `${payments.length} amounts`} below zero, such as ${moneyText(payments[0]!.total, 2)} of ${first[0]!.start} to ${first[0]!.end}, ` +
        `${payments.length === 1 ? 'stands' : 'stand'} beside a charge that agrees with ours without it: read as payments of a part, and left out.`,
    ],
  };
}

/** What was reckoned for the days of some bills. */
type Reckoned = (
  bills: readonly ActualBill[],
) => readonly { readonly bill: ActualBill; readonly own: { total: number } }[];

/**
 * The items of a bill (energy, a fixed charge, tax), each in a row with the days of the whole, as one bill: where the sums are nearer
 * to what was reckoned than any of the rows. Else two amounts for the same days stay two: which one counts isn't known. Neither is it where
 * an amount below zero is that of an item, and its row doesn't say whether that was paid or credited.
 *
 * @param reckoned what was reckoned for some days; undefined where the data don't hold them
 */
export function withItemsSummed(bills: readonly ActualBill[], reckoned: Reckoned): Told {
  const groups = byDays(bills);
  const several = groups.filter((group) => group.length > 1);
  const [first] = several;
  if (first === undefined) return { bills, notes: [] };
  const sums = groups.map(sumOf);
  const own = new Map(reckoned(sums).map(({ bill, own }) => [bill, own.total]));
  const areItems = groups.every((group, g) => {
    const total = own.get(sums[g]!);
    return group.length === 1 || total === undefined || addUp(group, total);
  });
  const cancelling = several.flatMap((group) =>
    group.filter((bill) => isUnnamed(bill) && group.some(({ total }) => isCent(total + bill.total))),
  );
  const rows = several.reduce((sum, group) => sum + group.length, 0);
  const days = `${first[0]!.start} to ${first[0]!.end}`;
  if (own.size > 0 && areItems && cancelling.length === 0)
    return {
      bills: sums,
      notes: [
        `${rows} rows have the days of others, such as the ${first.length} of ${days}: they are taken for items of one bill and added up.`,
      ],
    };
  return {
    bills,
    notes: [
      `${rows} rows have the days of others with another amount, such as the ${first.length} of ${days}. ` +
        'If they are items of one bill of electricity, write their sum in one row; if one corrects the other, leave out the one that it replaces; ' +
        'leave out what was paid, and what other goods such as gas cost.',
      ...cancelling.slice(0, 1).map((bill) => {
        const { start, total } = bill;
        const rest = several.find((group) => group.includes(bill))!.filter((other) => other !== bill);
        const reckoned = own.get(sums.find((sum) => sameDays(sum, bill))!);
        // A word that only leads to the next question is no way out.
        const isEnough = rest.length === 1 || (reckoned !== undefined && addUp(rest, reckoned));
        return (
          `${moneyText(total, 2)} of ${start} is as much as an item beside it: a credit that cancels it, or its payment? ` +
          (isEnough
            ? 'Write "credit" or "payment" in a column of that row.'
            : 'Write "credit" in a column of that row. If it was paid, leave that row out, and of the other amounts all but the one that counts.')
        );
      }),
    ],
  };
}

/** Whether the sum of rows, or that of what was charged without the credits, is nearer to what was reckoned than any charge. */
function addUp(group: readonly ActualBill[], reckoned: number): boolean {
  const { total, credits = 0 } = sumOf(group);
  const off = Math.min(...[total, total - credits].map((sum) => Math.abs(sum - reckoned)));
  return group
    .filter(({ kind }) => kind !== 'credit')
    .every((bill) => isCent(bill.total - total) || off < Math.abs(bill.total - reckoned));
}

function byDays(bills: readonly ActualBill[]): readonly (readonly ActualBill[])[] {
  const groups = new Map<string, ActualBill[]>();
  for (const bill of bills) {
    const days = `${bill.start} ${bill.end}`;
    groups.set(days, [...(groups.get(days) ?? []), bill]);
  }
  return [...groups.values()];
}

function sumOf(group: readonly ActualBill[]): ActualBill {
  const [first] = group;
  if (group.length === 1) return first!;
  const { start, end } = first!;
  const total = Number(group.reduce((sum, bill) => sum + bill.total, 0).toFixed(6));
  const energies = group.flatMap(({ importKwh }) => (importKwh === undefined ? [] : [importKwh]));
  // The kWh of the bill on each of its items, or those of each item.
  const importKwh = new Set(energies).size === 1 ? energies[0]! : energies.reduce((sum, kwh) => sum + kwh, 0);
  const credits = group.reduce((sum, bill) => sum + (bill.kind === 'credit' ? bill.total : (bill.credits ?? 0)), 0);
  return { start, end, total, ...(energies.length === 0 ? {} : { importKwh }), ...(credits === 0 ? {} : { credits }) };
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}

/**
 * Bills whose last day is the next one's first, as read dates are printed: the day belongs to the next. Where all of
 * them are so, the last bill is too.
 */
export function withoutSharedDays(bills: readonly ActualBill[]): Told {
  // Rows of one bill's items share all of their days: what comes next is the next bill.
  const next = bills.map((bill) => bills.find((other) => other.start > bill.start));
  const shares = bills.map((bill, k) => bill.end === next[k]?.start && bill.start < bill.end);
  const count = new Set(bills.filter((_, k) => shares[k]).map(({ end }) => end)).size;
  if (count === 0) return { bills, notes: [] };
  const last = bills.at(-1)!.start;
  const all = bills.every(({ start }, k) => shares[k] || start === last);
  const dayBefore = (date: string) => formatDate(dateOfCivilDay(civilDayOfDate(date) - 1));
  return {
    bills: bills.map((bill, k) =>
      shares[k] || (all && bill.start < bill.end) ? { ...bill, end: dayBefore(bill.end) } : bill,
    ),
    notes: [
      `${count === 1 ? 'A bill ends' : `${count} bills end`} on the day on which the next begins, ${count === 1 ? '' : 'such as '}${bills[shares.indexOf(true)]!.end}: ` +
        'that day is counted with the later one, as where the day of the reading is printed on both.',
    ],
  };
}
