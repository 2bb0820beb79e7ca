import { anAxis } from '../axis/axis.ts';
import { aDate, civilDayOfDate, dateOfCivilDay, daysInMonth, formatDate } from '../axis/civil-day.ts';
import type { Axis } from '../axis/index.ts';
import { check, list, number, optional, record } from '../input/door.ts';
import { CAUSE_WORDS } from '../words/causes.ts';
import { type Fact, fact } from '../words/fact.ts';
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
import { aTariff } from './parsed.ts';
import { withPricesTimes } from './price-factor.ts';
import { serviceFlows } from './rules.ts';
import type { Tariff } from './tariff.ts';

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
}

/** What all bills that could be set beside ours come to. */
export interface ReconciledTotal {
  readonly bills: number;
  readonly actual: number;
  readonly ours: number;
  /** `actual − ours`. */
  readonly difference: number;
  /** `difference ÷ |ours|`; null where nothing was reckoned. */
  readonly share: number | null;
}

/**
 * How far the tariff file can be trusted: `exact`, every bill agrees to the cent; `trust`, together they agree within 0.2 %
 * and each within 1 %; `near`, together within 2 %; `off`, further apart, all of what was reckoned. `energy-differs`: the
 * money would be exact or to be trusted, but a bill states kWh that are more than 2 % from those of the data.
 */
export type BillVerdict = 'exact' | 'trust' | 'energy-differs' | 'near' | 'off';

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
});

/**
 * Sets our bills beside those that the household got, over the days that those state, and names what would explain the
 * difference: the days, the energy, a missing charge by bill, by day, by kWh or in percent, the baseline's zone, a
 * programme; one of them where one explains every bill to within a cent or two, else two together.
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
  const { bills: once, notes: repeated } = withoutRepeats([...actual].sort((a, b) => a.start.localeCompare(b.start)));
  const { bills: stated, notes: shared } = withoutSharedDays(once);
  // Two amounts for the same days: which one counts isn't known.
  const apart = stated.filter((bill) => !stated.some((other) => other !== bill && sameDays(bill, other)));
  const ours = pairsUnder(tariff, axis, options, flows, apart, []);
  const bills = stated.map((bill): ReconciledBill => {
    const own = ours.find((pair) => pair.bill === bill)?.own;
    return {
      start: bill.start,
      end: bill.end,
      actual: bill.total,
      ours: own === undefined ? null : own.total,
      difference: own === undefined ? null : cents(bill.total - own.total),
      without:
        own !== undefined ? null : withinData(axis, bill, 0) ? 'overlap' : touchesData(axis, bill) ? 'cut' : 'no-data',
      importKwh: own === undefined ? null : energyOf(own),
    };
  });
  const notes = [...repeated, ...shared, ...overlapNotes(bills)];
  const causes: Fact[] = [];
  const total = totalOf(ours);
  const verdict = verdictOf(ours, total);
  const metered = ours.filter(({ bill }) => bill.importKwh !== undefined);
  if (agree(ours)) {
    const energy = verdict === 'energy-differs' ? energyCause(metered, KWH_SHARE) : undefined;
    return { bills, total, verdict, causes: energy === undefined ? [] : [energy], notes };
  }

  if (inCents(ours)) {
    const cause = fact(CAUSE_WORDS, 'amounts-in-cents', 'question', { bills: ours.length, currency: tariff.currency });
    return { bills, total, verdict, causes: [cause], notes };
  }
  const atHome = billTariff(layTariff(tariff, axis, options), flows).periods;
  const shifted = ours.filter(({ bill }) => !atHome.some((p) => p.start === bill.start && p.end === bill.end));
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
  const energy = energyCause(metered, 0.005);
  if (energy !== undefined) causes.push(energy);
  const trusted = verdict === 'trust' || verdict === 'energy-differs';
  const explained = likelyCauses(
    ours,
    possibleChanges(tariff, options.account ?? {}, ours),
    (changes) =>
      pairsUnder(
        tariff,
        axis,
        options,
        flows,
        ours.map((pair) => pair.bill),
        changes,
      ),
    tariff.currency,
    trusted ? PENNIES : 0,
  );
  causes.push(...explained);
  const rounded = trusted && ours.every(({ bill, own }) => Math.abs(bill.total - own.total) <= 2 * PENNIES);
  if (causes.every(({ code }) => code === 'days-in-period') && explained.length === 0 && !rounded)
    causes.push(fact(CAUSE_WORDS, 'unexplained', 'warning', { bills: ours.length }));
  return { bills, total, verdict, causes, notes };
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

function energyIsOff({ bill, own }: BillPair, share: number): boolean {
  return bill.importKwh !== undefined && Math.abs(bill.importKwh - energyOf(own)) > Math.max(1, share * energyOf(own));
}

/** Whether every bill is ours times a hundred, to the cent or to 2 % where prices differ a little. */
function inCents(pairs: readonly BillPair[]): boolean {
  return pairs.every(
    ({ bill, own }) => bill.total !== 0 && Math.abs(bill.total / 100 - own.total) <= 0.011 + 0.02 * Math.abs(own.total),
  );
}

function totalOf(pairs: readonly BillPair[]): ReconciledTotal | null {
  if (pairs.length === 0) return null;
  const actual = cents(pairs.reduce((sum, { bill }) => sum + bill.total, 0));
  const ours = cents(pairs.reduce((sum, { own }) => sum + own.total, 0));
  const difference = cents(actual - ours);
  return { bills: pairs.length, actual, ours, difference, share: ours === 0 ? null : difference / Math.abs(ours) };
}

function verdictOf(pairs: readonly BillPair[], total: ReconciledTotal | null): BillVerdict | null {
  if (total === null) return null;
  const energyDiffers = pairs.some((pair) => energyIsOff(pair, KWH_SHARE));
  if (agree(pairs)) return energyDiffers ? 'energy-differs' : 'exact';
  const share = Math.abs(total.share ?? Number.POSITIVE_INFINITY);
  // Bills that are off both ways add up to nothing: each of them must be near too.
  const apart = pairs.some(({ bill, own }) => Math.abs(bill.total - own.total) > EACH_SHARE * Math.abs(own.total));
  if (share <= TRUSTED_SHARE && !apart) return energyDiffers ? 'energy-differs' : 'trust';
  return share <= NEAR_SHARE ? 'near' : 'off';
}

/** Of the kWh of the data: common practice, no source. */
const KWH_SHARE = 0.02;
/** Money a bill, two cents and 0.001: what rounding makes, and no cause where the bills are trusted. */
const PENNIES = 0.021;

/** Of all bills together, and of each: common practice, no source. */
const TRUSTED_SHARE = 0.002;
const EACH_SHARE = 0.01;
const NEAR_SHARE = 0.02;

function sameDays(a: ActualBill, b: ActualBill): boolean {
  return a.start === b.start && a.end === b.end;
}

/** Bills that are there once: the same days and the same amount twice are one bill, copied twice. */
function withoutRepeats(bills: readonly ActualBill[]): { bills: readonly ActualBill[]; notes: readonly string[] } {
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
function withoutSharedDays(bills: readonly ActualBill[]): { bills: readonly ActualBill[]; notes: readonly string[] } {
  const shares = bills.map((bill, k) => bill.end === bills[k + 1]?.start && bill.start < bill.end);
  const count = shares.filter((share) => share).length;
  if (count === 0) return { bills, notes: [] };
  if (count === bills.length - 1) shares[count] = true;
  const dayBefore = (date: string) => formatDate(dateOfCivilDay(civilDayOfDate(date) - 1));
  return {
    bills: bills.map((bill, k) => (shares[k] ? { ...bill, end: dayBefore(bill.end) } : bill)),
    notes: [
      `${count} bills end on the day on which the next begins, such as ${bills[shares.indexOf(true)]!.end}: that day is counted ` +
        'with the later one, as where the day of the reading is printed on both.',
    ],
  };
}

/** Names bills that share days with others: a day can lie in one bill of ours only. */
function overlapNotes(bills: readonly ReconciledBill[]): string[] {
  const split = bills.filter((bill) => bill.without === 'overlap');
  const [first] = split;
  if (first === undefined) return [];
  const other = bills.find((bill) => bill !== first && bill.start <= first.end && bill.end >= first.start)!;
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

/** Our bills over the days of others, with some changes; those that the data don't cover are left out. */
function pairsUnder(
  tariff: Tariff,
  axis: Axis,
  options: CompileOptions,
  flows: ServiceFlows,
  actual: readonly ActualBill[],
  changes: readonly Change[],
): BillPair[] {
  const shiftDays = changes.reduce((sum, change) => sum + (change.shiftDays ?? 0), 0);
  const dayOf = (date: string) => civilDayOfDate(date) + shiftDays;
  const covered = actual.filter((bill) => withinData(axis, bill, shiftDays));
  if (covered.length === 0) return [];
  const starts = new Set(covered.flatMap((bill) => [dayOf(bill.start), dayOf(bill.end) + 1]));
  const dateOf = (day: number) => formatDate(dateOfCivilDay(day));
  const { cycleDay, ...own } = options.account ?? {};
  const account = Object.assign({}, own, ...changes.map((change) => change.account), {
    readDates: [...starts].sort((a, b) => a - b).map(dateOf),
  });
  const factor = changes.reduce((product, change) => product * (change.priceFactor ?? 1), 1);
  const changed = factor === 1 ? tariff : withPricesTimes(tariff, factor);
  const { periods } = billTariff(layTariff(changed, axis, { ...options, account }), flows);
  return covered.flatMap((bill) => {
    const found = periods.find((p) => p.start === dateOf(dayOf(bill.start)) && p.end === dateOf(dayOf(bill.end)));
    return found === undefined ? [] : [{ bill, own: found }];
  });
}

function cents(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}

/** Whether a text is a date of the calendar, `2026-03-31`. */
export function isDate(text: string): boolean {
  const match = typeof text !== 'string' ? null : /^(\d{4})-(\d\d)-(\d\d)$/.exec(text);
  const [year, month, day] = (match ?? []).slice(1).map(Number);
  return match !== null && month! >= 1 && month! <= 12 && day! >= 1 && day! <= daysInMonth(year!, month!);
}
