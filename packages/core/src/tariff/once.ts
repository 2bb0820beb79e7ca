import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import type { ActualBill } from './causes.ts';

/** Bills, and what was read into them to have each once. */
interface Told {
  readonly bills: readonly ActualBill[];
  readonly notes: readonly string[];
}

/** Whether two bills are of the same days. */
export function sameDays(a: ActualBill, b: ActualBill): boolean {
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

/**
 * The items of a bill (energy, a fixed charge, tax), each in a row with the days of the whole, as one bill: where the sums are nearer
 * to what was reckoned than any of the rows. Else two amounts for the same days stay two: which one counts isn't known.
 *
 * @param reckoned what was reckoned for some days; undefined where the data don't hold them
 */
export function withItemsSummed(
  bills: readonly ActualBill[],
  reckoned: (bills: readonly ActualBill[]) => readonly { readonly bill: ActualBill; readonly own: { total: number } }[],
): Told {
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
        'If they are items of one bill, write their sum in one row; if one corrects the other, leave out the one that it replaces.',
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
