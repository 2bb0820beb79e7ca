import { anAxis } from '../axis/axis.ts';
import { aDate, civilDayOfDate, dateOfCivilDay, formatDate, isInCalendar } from '../axis/civil-day.ts';
import type { Axis } from '../axis/index.ts';
import { check, list, number, oneOf, optional, record } from '../input/door.ts';
import { CAUSE_WORDS } from '../words/causes.ts';
import { type Fact, fact } from '../words/fact.ts';
import { withMissing } from './as-entered.ts';
import { creditsBeyond, energyTimes, paidOtherwise } from './as-paid.ts';
import { amountsWritten, misdated } from './as-written.ts';
import { billTariff } from './bill/bill.ts';
import {
  type ActualBill,
  agree,
  type BillPair,
  type Change,
  daysOf,
  energyOf,
  likelyCauses,
  possibleChanges,
} from './causes.ts';
import { type CompileOptions, compileOptions, layTariff } from './compile.ts';
import type { ServiceFlows } from './flows.ts';
import {
  sameDays,
  withCreditsTaken,
  withItemsSummed,
  withoutPartPayments,
  withoutPayments,
  withoutRepeats,
  withoutSharedDays,
  withTotalsAlone,
} from './once.ts';
import { aTariff } from './parsed.ts';
import { withPricesTimes } from './price-factor.ts';
import { serviceFlows } from './rules.ts';
import type { Tariff } from './tariff.ts';
import {
  type BillVerdict,
  cents,
  energyIsOff,
  KWH_SHARE,
  PENNIES,
  type ReconciledTotal,
  totalOf,
  verdictOf,
} from './verdict.ts';

/** One bill beside ours, over the same days. */
export interface ReconciledBill {
  readonly start: string;
  readonly end: string;
  readonly actual: number;
  /** Null where the data don't cover the days, or other bills overlap them. */
  readonly ours: number | null;
  /** Why there is no bill of ours: the data hold none of its days, or a part of them, or other bills share them. */
  readonly without: 'no-data' | 'cut' | 'overlap' | null;
  /** `actual − ours`. */
  readonly difference: number | null;
  readonly importKwh: number | null;
  /** Billing periods that ours is the sum of; null where there is none. */
  readonly periods: number | null;
}

/** The bills that were paid beside ours, and what may explain the differences. */
export interface Reconciliation {
  readonly bills: readonly ReconciledBill[];
  /** Null where no bill could be set beside ours. */
  readonly total: ReconciledTotal | null;
  readonly verdict: BillVerdict | null;
  /** The likely causes, the likeliest first; empty where every bill agrees to the cent, in its kWh too. */
  readonly causes: readonly Fact[];
  /** What was read into the bills' dates. */
  readonly notes: readonly string[];
}

const anActualBill = record<ActualBill>({
  start: aDate,
  end: aDate,
  total: number(),
  importKwh: optional(number({ least: 0 })),
  kind: optional(oneOf(['payment', 'credit'])),
  credits: optional(number({ most: 0 })),
});

/**
 * Sets our bills beside those that the household got, over the days that those state, and names what would explain the
 * difference: the days, the energy, a missing charge by bill, by day, by kWh or in percent, the baseline's zone, a
 * programme; one of them where one explains every bill to within a cent or two, else two together.
 *
 * A bill over several whole billing periods, as a year's statement, is set beside the sum of their bills. Where nobody stated the
 * billing periods, and as one period each all bills agree to the cent, they are taken for that.
 *
 * Bills that share a day (each begins on the day on which the one before ends) are read to end the day before.
 *
 * @throws InputError on flows, dates and amounts that no bill has
 */
export function reconcileBills(
  tariff: Tariff,
  axis: Axis,
  options: CompileOptions,
  flows: ServiceFlows,
  actual: readonly ActualBill[],
): Reconciliation {
  check(
    { axis, tariff, options, flows, actual },
    { axis: anAxis, tariff: aTariff, options: compileOptions, flows: serviceFlows, actual: list(anActualBill) },
  );
  const { bills: charges, notes: paid } = withoutPayments([...actual].sort((a, b) => a.start.localeCompare(b.start)));
  const { bills: once, notes: repeated } = withoutRepeats(charges);
  const { bills: rows, notes: shared } = withoutSharedDays(once);
  const home = layTariff(tariff, axis, options);
  const starts = [
    ...home.periods.map(({ startDate }) => civilDayOfDate(startDate)),
    civilDayOfDate(home.periods.at(-1)!.endDate) + 1,
  ];
  const reckon = (some: readonly ActualBill[], changes: readonly Change[], asOne: boolean) =>
    pairsUnder(tariff, axis, options, flows, some, changes, { starts, asOne });
  const own = (some: readonly ActualBill[]) => reckon(some, [], false);
  const { bills: whole, notes: totals } = withTotalsAlone(rows);
  const { bills: credited, notes: credits } = withCreditsTaken(whole);
  const { bills: unpaid, notes: partly } = withoutPartPayments(credited, own);
  const { bills: stated, notes: items } = withItemsSummed(unpaid, own);
  // Two amounts for the same days: which one counts isn't known.
  const apart = stated.filter((bill) => !stated.some((other) => other !== bill && sameDays(bill, other)));
  const bySum = reckon(apart, [], false);
  const several = bySum.filter(({ periods }) => periods > 1);
  const byOne = several.length === 0 || agree(bySum) ? bySum : reckon(apart, [], true);
  const oneAgrees = byOne !== bySum && agree(byOne);
  const account = options.account ?? {};
  const periodsStated =
    tariff.document.billing !== undefined || account.readDates !== undefined || account.cycleDay !== undefined;
  const asOne = oneAgrees && !periodsStated;
  const { pairs: ours, notes: units } = inKwh(asOne ? byOne : bySum);
  const bills = stated.map((bill): ReconciledBill => {
    const pair = ours.find((one) => sameDays(one.bill, bill));
    const own = pair?.own;
    return {
      start: bill.start,
      end: bill.end,
      actual: bill.total,
      ours: own === undefined ? null : own.total,
      difference: own === undefined ? null : cents(bill.total - own.total),
      without:
        own !== undefined ? null : withinData(axis, bill, 0) ? 'overlap' : touchesData(axis, bill) ? 'cut' : 'no-data',
      importKwh: own === undefined ? null : energyOf(own),
      periods: pair?.periods ?? null,
    };
  });
  const notes = [
    ...paid,
    ...repeated,
    ...shared,
    ...totals,
    ...credits,
    ...partly,
    ...items,
    ...units,
    ...overlapNotes(bills),
    ...severalNotes(several, asOne),
  ];
  const causes: Fact[] = [];
  const total = totalOf(ours);
  const verdict = verdictOf(ours, total);
  const metered = ours.filter(({ bill }) => bill.importKwh !== undefined);
  if (agree(ours)) {
    const energy =
      verdict === 'energy-differs' ? (energyTimes(ours)?.cause ?? energyCause(metered, KWH_SHARE)) : undefined;
    return { bills, total, verdict, causes: energy === undefined ? [] : [energy], notes };
  }

  const written = amountsWritten(ours, tariff.currency);
  if (written !== undefined) return { bills, total, verdict, causes: [written], notes };
  const beyond = creditsBeyond(ours, tariff.currency);
  if (beyond !== undefined) return { bills, total, verdict, causes: [beyond], notes };
  if (oneAgrees) {
    const { bill } = several[0]!;
    const cause = fact(
      CAUSE_WORDS,
      'days-in-period',
      'question',
      { why: 'one-period', bills: several.length, start: bill.start, end: bill.end, periods: several[0]!.periods },
      { path: ['account', 'readDates'] },
    );
    return { bills, total, verdict, causes: [cause], notes };
  }
  const isStart = new Set(starts);
  const shifted = ours.filter(
    ({ bill }) => !isStart.has(civilDayOfDate(bill.start)) || !isStart.has(civilDayOfDate(bill.end) + 1),
  );
  const [firstShifted] = shifted;
  if (firstShifted !== undefined) {
    const { start, end } = firstShifted.bill;
    causes.push(
      fact(
        CAUSE_WORDS,
        'days-in-period',
        'question',
        {
          why: 'read-dates',
          bills: shifted.length,
          ofBills: ours.length,
          start,
          end,
          days: daysOf(firstShifted.bill),
        },
        { path: ['account', 'readDates'] },
      ),
    );
  }
  const otherwise = paidOtherwise(ours, tariff.currency, (some) => reckon(some, [], asOne));
  if (otherwise !== undefined) return { bills, total, verdict, causes: [...causes, otherwise], notes };
  const everywhere = energyTimes(ours);
  const energy = everywhere?.cause ?? energyCause(metered, 0.005);
  if (energy !== undefined) causes.push(energy);
  // A tax on the charges per kWh would come to the same.
  if (everywhere?.isAll === true) return { bills, total, verdict, causes, notes };
  const trusted = verdict === 'trust' || verdict === 'energy-differs';
  const explained = likelyCauses(
    ours,
    possibleChanges(tariff, options.account ?? {}, ours),
    (changes) =>
      reckon(
        ours.map((pair) => pair.bill),
        changes,
        asOne,
      ),
    (clause) => {
      const whole = withMissing(tariff, clause);
      const bills = ours.map((pair) => pair.bill);
      return whole === undefined ? undefined : pairsUnder(whole, axis, options, flows, bills, [], { starts, asOne });
    },
    tariff.currency,
    trusted ? PENNIES : 0,
  );
  // Two amounts can be found for any few bills: where the days are doubtful they are no cause.
  const dates = explained.some(({ code }) => !code.includes('+')) ? undefined : misdated(ours);
  if (dates !== undefined) return { bills, total, verdict, causes: [...causes, dates], notes };
  causes.push(...explained);
  const rounded = trusted && ours.every(({ bill, own }) => Math.abs(bill.total - own.total) <= 2 * PENNIES);
  if (causes.every(({ code }) => code === 'days-in-period') && explained.length === 0 && !rounded)
    causes.push(
      fact(CAUSE_WORDS, 'unexplained', 'warning', {
        bills: ours.length,
        start: total!.furthest.start,
        difference: total!.furthest.difference,
        currency: tariff.currency,
      }),
    );
  return { bills, total, verdict, causes, notes };
}

/** Of a thousandth of the data's kWh, how far bills in MWh may be from it. */
const MWH_SPREAD = 1.25;

/** Stated energy in kWh: where all of it is about a thousandth of what the data hold, it is in MWh. */
function inKwh(pairs: readonly BillPair[]): { readonly pairs: readonly BillPair[]; readonly notes: readonly string[] } {
  const metered = pairs.filter(({ bill, own }) => bill.importKwh !== undefined && energyOf(own) > 0);
  const inMwh = metered.every(({ bill, own }) => {
    const times = (1000 * bill.importKwh!) / energyOf(own);
    return times > 1 / MWH_SPREAD && times < MWH_SPREAD;
  });
  if (metered.length === 0 || !inMwh) return { pairs, notes: [] };
  return {
    pairs: pairs.map((pair) =>
      pair.bill.importKwh === undefined
        ? pair
        : { ...pair, bill: { ...pair.bill, importKwh: cents(1000 * pair.bill.importKwh) } },
    ),
    notes: ['The bills’ energy is about a thousandth of the kWh of the data: it was read as MWh.'],
  };
}

/** Bills that state other kWh than the data hold, by more than a share of these and 1 kWh; undefined where none does. */
function energyCause(metered: readonly BillPair[], share: number): Fact | undefined {
  const off = metered.filter((pair) => energyIsOff(pair, share));
  const [first] = off;
  if (first === undefined) return undefined;
  return fact(CAUSE_WORDS, 'energy', 'question', {
    why: 'differs',
    bills: off.length,
    ofBills: metered.length,
    start: first.bill.start,
    chargedKwh: first.bill.importKwh!,
    dataKwh: energyOf(first.own),
  });
}

/** Names bills that share days with others: a day can lie in one bill of ours only. */
function overlapNotes(bills: readonly ReconciledBill[]): string[] {
  // Rows with all of their days the same have a note of their own.
  const besides = (one: ReconciledBill) =>
    bills.find((bill) => !sameDays(bill, one) && bill.start <= one.end && bill.end >= one.start);
  const split = bills.filter((bill) => bill.without === 'overlap' && besides(bill) !== undefined);
  const [first] = split;
  if (first === undefined) return [];
  const other = besides(first)!;
  const pair = [first, other]
    .sort((a, b) => a.start.localeCompare(b.start))
    .map(({ start, end }) => `${start} to ${end}`);
  return [
    `${split.length} of ${bills.length} bills can’t be set beside ours, for their days are in other bills too: ` +
      `${pair.join(' and ')} overlap. Mend the dates, or give one of them at a time.`,
  ];
}

/** Whether the data cover a bill's days whole, moved by so many. */
function withinData(axis: Axis, bill: ActualBill, shiftDays: number): boolean {
  const { first, last } = wholeDays(axis);
  return civilDayOfDate(bill.start) + shiftDays >= first && civilDayOfDate(bill.end) + shiftDays <= last;
}

/** First and last day that the data hold from midnight to midnight: a day that they begin or end inside is no day of a bill. */
function wholeDays(axis: Axis): { readonly first: number; readonly last: number } {
  const { days, minuteOfDay } = axis.calendar;
  const [first, last] = [days[0]!, days[days.length - 1]!];
  // A step that doesn't begin on the full one reaches over midnight.
  const beginsInside = minuteOfDay[first.firstInterval]! >= axis.stepMinutes;
  const endsInside = minuteOfDay[axis.intervals - 1]! + axis.stepMinutes < 1440;
  return { first: first.civilDay + (beginsInside ? 1 : 0), last: last.civilDay - (endsInside ? 1 : 0) };
}

function touchesData(axis: Axis, bill: ActualBill): boolean {
  const { days } = axis.calendar;
  return civilDayOfDate(bill.end) >= days[0]!.civilDay && civilDayOfDate(bill.start) <= days[days.length - 1]!.civilDay;
}

/**
 * Our bills over the days of others, with some changes; those that the data don't cover are left out. The home's own billing
 * periods hold between the bills and within those that cover several of them whole: what is carried on, and a ratchet, go by them.
 */
function pairsUnder(
  tariff: Tariff,
  axis: Axis,
  options: CompileOptions,
  flows: ServiceFlows,
  actual: readonly ActualBill[],
  changes: readonly Change[],
  own: { readonly starts: readonly number[]; readonly asOne: boolean },
): BillPair[] {
  const shiftDays = changes.reduce((sum, change) => sum + (change.shiftDays ?? 0), 0);
  const covered = actual
    .filter((bill) => withinData(axis, bill, shiftDays))
    .map((bill) => ({ bill, first: civilDayOfDate(bill.start), after: civilDayOfDate(bill.end) + 1 }));
  if (covered.length === 0) return [];
  const isStart = new Set(own.starts);
  const isSplit = ({ first, after }: { readonly first: number; readonly after: number }) =>
    !own.asOne && isStart.has(first) && isStart.has(after);
  const within = own.starts.filter((day) => covered.every((b) => day <= b.first || day >= b.after || isSplit(b)));
  const reads = new Set([...covered.flatMap(({ first, after }) => [first, after]), ...within]);
  const dateOf = (day: number) => formatDate(dateOfCivilDay(day + shiftDays));
  const { cycleDay, ...known } = options.account ?? {};
  const account = Object.assign({}, known, ...changes.map((change) => change.account), {
    readDates: [...reads].sort((a, b) => a - b).map(dateOf),
  });
  const factor = changes.reduce((product, change) => product * (change.priceFactor ?? 1), 1);
  const changed = factor === 1 ? tariff : withPricesTimes(tariff, factor);
  const { periods } = billTariff(layTariff(changed, axis, { ...options, account }), flows);
  return covered.flatMap(({ bill, first, after }) => {
    const [start, end] = [dateOf(first), dateOf(after - 1)];
    const parts = periods.filter((p) => p.start >= start && p.end <= end);
    const overlaps = covered.some((b) => [b.first, b.after].some((day) => day > first && day < after));
    if (overlaps || parts[0]?.start !== start || parts.at(-1)!.end !== end) return [];
    const total = cents(parts.reduce((sum, part) => sum + part.total, 0));
    return [{ bill, periods: parts.length, own: { start, end, lines: parts.flatMap((part) => part.lines), total } }];
  });
}

/** How bills over several billing periods were reckoned. */
function severalNotes(several: readonly BillPair[], asOne: boolean): string[] {
  const [first] = several;
  if (first === undefined) return [];
  const { bill, periods } = first;
  const [subject, verb] = several.length === 1 ? ['1 bill', 'covers'] : [`${several.length} bills`, 'cover'];
  const such = `${bill.start} to ${bill.end} (${periods} of them)`;
  return [
    asOne
      ? `${subject} ${verb} several calendar months, such as ${bill.start} to ${bill.end}, and ${several.length === 1 ? 'agrees' : 'agree'} to the cent as one billing ` +
        'period each: state their first days in the account’s "readDates".'
      : `${subject} ${verb} several billing periods, such as ${such}: reckoned as the sum of their bills.`,
  ];
}

/** Whether a text is a date of the calendar, `2026-03-31`. */
export function isDate(text: string): boolean {
  const match = typeof text !== 'string' ? null : /^(\d{4})-(\d\d)-(\d\d)$/.exec(text);
  const [year, month, day] = (match ?? []).slice(1).map(Number);
  return match !== null && isInCalendar(year!, month!, day!);
}
