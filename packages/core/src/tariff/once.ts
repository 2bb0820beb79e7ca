import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import type { ActualBill } from './causes.ts';

/** Whether two bills are of the same days. */
export function sameDays(a: ActualBill, b: ActualBill): boolean {
  return a.start === b.start && a.end === b.end;
}

/** Bills that are there once: the same days and the same amount twice are one bill, copied twice. */
export function withoutRepeats(bills: readonly ActualBill[]): {
  bills: readonly ActualBill[];
  notes: readonly string[];
} {
  const isRepeat = bills.map((bill, k) =>
    bills.slice(0, k).some((other) => sameDays(bill, other) && bill.total === other.total),
  );
  const repeats = bills.filter((_, k) => isRepeat[k]);
  const [first] = repeats;
  if (first === undefined) return { bills, notes: [] };
  return {
    bills: bills.filter((_, k) => !isRepeat[k]),
    notes: [
      `${repeats.length === 1 ? 'A bill is' : `${repeats.length} bills are`} there again with the same days and amount, such as ${first.start} to ${first.end}: each is counted once.`,
    ],
  };
}

/**
 * Bills whose last day is the next one's first, as read dates are printed: the day belongs to the next. Where all of
 * them are so, the last bill is too.
 */
export function withoutSharedDays(bills: readonly ActualBill[]): {
  bills: readonly ActualBill[];
  notes: readonly string[];
} {
  const shares = bills.map((bill, k) => bill.end === bills[k + 1]?.start && bill.start < bill.end);
  const count = shares.filter((share) => share).length;
  if (count === 0) return { bills, notes: [] };
  if (count === bills.length - 1) shares[count] = true;
  const dayBefore = (date: string) => formatDate(dateOfCivilDay(civilDayOfDate(date) - 1));
  return {
    bills: bills.map((bill, k) => (shares[k] ? { ...bill, end: dayBefore(bill.end) } : bill)),
    notes: [
      `${count === 1 ? 'A bill ends' : `${count} bills end`} on the day on which the next begins, ${count === 1 ? '' : 'such as '}${bills[shares.indexOf(true)]!.end}: ` +
        'that day is counted with the later one, as where the day of the reading is printed on both.',
    ],
  };
}
