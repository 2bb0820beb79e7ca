import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
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
 * Charges alone: an amount below zero that is that of an earlier charge to the cent, or of the same days, is its payment. A credit that no
 * charge has the amount of stays a bill.
 */
export function withoutPayments(bills: readonly ActualBill[]): Told {
  const paid = new Set<ActualBill>();
  const payments = bills.filter((credit) => {
    if (credit.total >= 0) return false;
    const charge = bills.find(
      (bill) => !paid.has(bill) && bill.start <= credit.start && Math.abs(bill.total + credit.total) < 0.005,
    );
    if (charge !== undefined) paid.add(charge);
    return charge !== undefined;
  });
  const [first] = payments;
  if (first === undefined) return { bills, notes: [] };
  return {
    bills: bills.filter((bill) => !payments.includes(bill)),
    notes: [
      payments.length === 1
        ? `An amount below zero, of ${first.start}, is as much as a charge before it: read as its payment, and left out.`
        : `${payments.length} amounts below zero, such as that of ${first.start}, are each as much as a charge before: read as payments, and left out.`,
    ],
  };
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
      `Among rows with the same days one is the sum of the others, such as ${totalOf(first)!.total.toFixed(2)} of ${first[0]!.start} to ${first[0]!.end}: it is taken for the bill, and its items are left out.`,
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
    if (group.some((bill) => bill.total < 0 && -bill.total < LEAST_PAID * charges[0]!.total)) return false;
    return total === undefined || (isNear(charges[0]!.total, total) && !isNear(sumOf(group).total, total));
  });
  if (own.size === 0 || !arePaid) return { bills, notes: [] };
  const payments = several.flatMap((group) => group.filter(({ total }) => total < 0));
  return {
    bills: bills.filter((bill) => !payments.includes(bill)),
    notes: [
      `${payments.length === 1 ? 'An amount' : `${payments.length} amounts`} below zero, such as ${payments[0]!.total.toFixed(2)} of ${first[0]!.start} to ${first[0]!.end}, ` +
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
 * to what was reckoned than any of the rows. Else two amounts for the same days stay two: which one counts isn't known.
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
    if (group.length === 1 || total === undefined) return true;
    return group.every((bill) => Math.abs(sums[g]!.total - total) < Math.abs(bill.total - total));
  });
  const rows = several.reduce((sum, group) => sum + group.length, 0);
  const days = `${first[0]!.start} to ${first[0]!.end}`;
  if (own.size > 0 && areItems)
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
    ],
  };
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
  return { start, end, total, ...(energies.length === 0 ? {} : { importKwh }) };
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
