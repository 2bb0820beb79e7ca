import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/civil-day.ts';
import { CAUSE_WORDS } from '../words/causes.ts';
import { type Fact, fact } from '../words/fact.ts';
import { type ActualBill, type BillPair, daysOf, energyOf } from './causes.ts';

/** Of what was reckoned, how near an amount is to be taken for it: the tariff file may leave out a little. */
const NEAR = 0.02;
/** Money: two cents and 0.001, what rounding line by line makes. */
const SLACK = 0.021;

function isNear(amount: number, reckoned: number, share = NEAR): boolean {
  return Math.abs(amount - reckoned) <= Math.max(SLACK, share * Math.abs(reckoned));
}

const same = (a: number, b: number) => Math.abs(a - b) < 0.005;

/**
 * What paper holds in place of a bill's own charges: instalments, a balance carried on, the amounts of other months or of several,
 * all of it twice. Each is named only where it makes every bill that it is about agree, and bills that agree by themselves are no sign of it.
 *
 * @param reckon the same tariff's bills over other days
 */
export function paidOtherwise(
  pairs: readonly BillPair[],
  currency: string,
  reckon: (bills: readonly ActualBill[]) => readonly BillPair[],
): Fact | undefined {
  return (
    ofSeveral(pairs, reckon) ??
    instalments(pairs, currency) ??
    arrears(pairs, currency) ??
    exchanged(pairs) ??
    moved(pairs) ??
    daysBetween(pairs, reckon) ??
    times(pairs)
  );
}

/** Credits that the bills state and the tariff file lacks: without them all bills agree to the cent or two. */
export function creditsBeyond(pairs: readonly BillPair[], currency: string): Fact | undefined {
  const off = pairs.filter(({ bill, own }) => Math.abs(bill.total - own.total) > SLACK);
  const agree = off.every(
    ({ bill, own }) => (bill.credits ?? 0) < 0 && Math.abs(bill.total - bill.credits! - own.total) <= SLACK,
  );
  if (off.length === 0 || !agree) return undefined;
  return fact(CAUSE_WORDS, 'credits', 'question', {
    bills: off.length,
    ofBills: pairs.length,
    amount: -off.reduce((sum, { bill }) => sum + bill.credits!, 0),
    currency,
  });
}

/** Fewer equal amounts may be chance. */
const LEAST_EQUAL = 3;
/** Of bills beside each other, how many are equal: a plan is set anew once or twice a year, and settled once. */
const EQUAL_SHARE = 2 / 3;

/** A plan's instalments: equal amounts, where the home's use isn't. */
function instalments(pairs: readonly BillPair[], currency: string): Fact | undefined {
  const equal = pairs.slice(1).filter(({ bill }, k) => same(bill.total, pairs[k]!.bill.total));
  const differ = pairs.slice(1).filter(({ own }, k) => !isNear(own.total, pairs[k]!.own.total));
  if (pairs.length < LEAST_EQUAL || equal.length < EQUAL_SHARE * (pairs.length - 1)) return undefined;
  if (differ.length < (pairs.length - 1) / 2) return undefined;
  const amount = equal[0]!.bill.total;
  const bills = pairs.filter(({ bill }) => same(bill.total, amount)).length;
  return fact(CAUSE_WORDS, 'instalments', 'question', { bills, ofBills: pairs.length, amount, currency });
}

/** Whether a bill begins where the one before ends: within three days. */
const follows = (before: BillPair, after: BillPair) =>
  Math.abs(civilDayOfDate(after.bill.start) - civilDayOfDate(before.bill.end) - 1) <= 3;

/** Each bill is its own charges, or these and all of the bill before, which wasn't paid. */
function arrears(pairs: readonly BillPair[], currency: string): Fact | undefined {
  const holds = pairs.filter(({ bill, own }, k) => {
    const before = pairs[k - 1];
    return (
      before !== undefined &&
      follows(before, pairs[k]!) &&
      !isNear(bill.total, own.total) &&
      Math.abs(bill.total - before.bill.total - own.total) <= Math.max(SLACK, NEAR * Math.abs(own.total))
    );
  });
  // What the first bill of all was carried from isn't known.
  const agree = pairs.every((pair, k) => k === 0 || holds.includes(pair) || isNear(pair.bill.total, pair.own.total));
  const [first] = holds;
  if (first === undefined || !agree) return undefined;
  const before = pairs[pairs.indexOf(first) - 1]!;
  // One alone may be chance: to the cent, among others that agree, it isn't.
  const exactly = Math.abs(first.bill.total - before.bill.total - first.own.total) <= SLACK;
  if (holds.length < 2 && !(exactly && pairs.length >= LEAST_EQUAL)) return undefined;
  return fact(CAUSE_WORDS, 'arrears', 'question', {
    bills: holds.length,
    ofBills: pairs.length,
    start: first.bill.start,
    amount: first.bill.total,
    before: before.bill.total,
    currency,
  });
}

/** Two bills, each with the other's amount; all others agree. */
function exchanged(pairs: readonly BillPair[]): Fact | undefined {
  const off = pairs.filter(({ bill, own }) => !isNear(bill.total, own.total));
  const [one, other] = off;
  if (off.length !== 2 || pairs.length < 3) return undefined;
  if (!isNear(one!.bill.total, other!.own.total) || !isNear(other!.bill.total, one!.own.total)) return undefined;
  return fact(CAUSE_WORDS, 'amounts-exchanged', 'question', { start: one!.bill.start, otherStart: other!.bill.start });
}

/** Each bill has the amount of the one before, or after: its dates are those of another day, such as that of its payment. */
function moved(pairs: readonly BillPair[]): Fact | undefined {
  if (pairs.length < 4) return undefined;
  for (const by of [-1, 1]) {
    const beside = pairs.flatMap((pair, k) => (pairs[k + by] === undefined ? [] : [[pair, pairs[k + by]!] as const]));
    const fits = beside.every(([pair, other]) => isNear(pair.bill.total, other.own.total));
    const off = beside.filter(([{ bill, own }]) => !isNear(bill.total, own.total));
    if (fits && off.length >= beside.length / 2)
      return fact(CAUSE_WORDS, 'amounts-moved', 'question', {
        bills: beside.length,
        from: by < 0 ? 'before' : 'after',
      });
  }
  return undefined;
}

/** Two or three rows beside each other have one amount, which is that of all their days, or an equal part of it. */
function ofSeveral(
  pairs: readonly BillPair[],
  reckon: (bills: readonly ActualBill[]) => readonly BillPair[],
): Fact | undefined {
  for (const rows of [2, 3]) {
    if (pairs.length % rows !== 0 || pairs.length < 2 * rows) continue;
    const groups = Array.from({ length: pairs.length / rows }, (_, g) => pairs.slice(g * rows, (g + 1) * rows));
    if (!groups.every((group) => group.every(({ bill }) => same(bill.total, group[0]!.bill.total)))) continue;
    // All equal is a plan.
    if (groups.every(([first]) => same(first!.bill.total, groups[0]![0]!.bill.total))) continue;
    const over = reckon(
      groups.map((group) => ({
        start: group[0]!.bill.start,
        end: group.at(-1)!.bill.end,
        total: group[0]!.bill.total,
      })),
    );
    if (over.length < groups.length) continue;
    for (const parts of [1, rows])
      if (over.every(({ bill, own }) => isNear(bill.total * parts, own.total)))
        return fact(CAUSE_WORDS, 'amounts-of-several', 'question', { rows, parts, start: over[0]!.bill.start });
  }
  return undefined;
}

/** Bills that leave days out between them, and agree with them. */
function daysBetween(
  pairs: readonly BillPair[],
  reckon: (bills: readonly ActualBill[]) => readonly BillPair[],
): Fact | undefined {
  const whole = pairs.slice(0, -1).map(({ bill }, k): ActualBill => {
    const { start } = pairs[k + 1]!.bill;
    return { ...bill, end: formatDate(dateOfCivilDay(civilDayOfDate(start) - 1)) };
  });
  const longer = whole.filter((bill, k) => bill.end > pairs[k]!.bill.end);
  const [first] = longer;
  // Many days at once are bills that weren't given.
  if (first === undefined || whole.some((bill, k) => daysOf(bill) > 2.2 * daysOf(pairs[k]!.bill))) return undefined;
  if (longer.every((bill) => isNear(bill.total, pairs.find((pair) => pair.bill.start === bill.start)!.own.total)))
    return undefined;
  const over = reckon(whole);
  if (over.length < whole.length || !over.every(({ bill, own }) => isNear(bill.total, own.total))) return undefined;
  return fact(CAUSE_WORDS, 'days-between', 'question', {
    bills: longer.length,
    start: first.start,
    end: first.end,
  });
}

/** Fewer bills that are twice ours may be so by chance. */
const LEAST_TIMES = 2;

/** All bills are so many times ours. */
function times(pairs: readonly BillPair[]): Fact | undefined {
  if (pairs.length < LEAST_TIMES) return undefined;
  const metered = pairs.filter(({ bill }) => bill.importKwh !== undefined);
  for (const factor of [2, 3, 0.5]) {
    if (!pairs.every(({ bill, own }) => own.total !== 0 && isNear(bill.total, factor * own.total))) continue;
    const kwhToo =
      metered.length < pairs.length
        ? null
        : metered.every(({ bill, own }) => isNear(bill.importKwh!, factor * energyOf(own)));
    return fact(CAUSE_WORDS, 'amounts-times', 'question', { bills: pairs.length, factor, kwhToo });
  }
  return undefined;
}

/** Of their mean, how far apart ratios may be that are one. */
const ONE_RATIO = 0.005;

/**
 * Bills that all state so many times the kWh of the data: another unit or place of metering, for a gap or an estimate differs from bill to bill.
 *
 * @returns the cause, and whether the energy charged beyond the data's may be what the money is off by
 */
export function energyTimes(pairs: readonly BillPair[]): { readonly cause: Fact; readonly isAll: boolean } | undefined {
  const metered = pairs.filter(({ bill }) => bill.importKwh !== undefined);
  const ratios = metered.map(({ bill, own }) => bill.importKwh! / energyOf(own));
  const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length;
  if (metered.length < LEAST_EQUAL || !Number.isFinite(mean) || Math.abs(mean - 1) <= ONE_RATIO) return undefined;
  if (!ratios.every((ratio) => Math.abs(ratio / mean - 1) <= ONE_RATIO)) return undefined;
  const isAll = pairs.every(({ bill, own }) => {
    const charges = own.lines.reduce((sum, line) => (line.kind === 'energy' ? sum + line.amount : sum), 0);
    // As much as on the charges per kWh, or on the whole bill: fixed charges and taxes may rise with it or not.
    const rise = (bill.total - own.total) / (mean - 1);
    return rise >= 0.85 * charges - SLACK && rise <= Math.max(1.15 * charges, (1 + NEAR) * own.total) + SLACK;
  });
  const data = { why: 'times', bills: metered.length, times: mean } as const;
  return { cause: fact(CAUSE_WORDS, 'energy', 'question', data), isAll };
}
