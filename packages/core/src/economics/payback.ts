import * as z from 'zod';
import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/index.ts';
import { aDate } from '../axis/inside.ts';
import { bySchema } from '../input/by-schema.ts';
import { anything, both, check, number, optional, type Rule, record, report, text } from '../input/door.ts';
import { fields } from '../input/index.ts';
import { quoteName } from '../words/quote.ts';

/** More than any home pays for a battery, in currencies of which a car costs a thousand million too. */
const MOST_MONEY = 1e10;

/** The site's `economics` section: what the household pays, and for what. */
export const economicsSchema = fields({
  price: z
    .number()
    .min(0.01)
    .max(MOST_MONEY)
    .describe('What the household pays before any rebate, in the tariff’s currency, taxes included.'),
  covers: z
    .string()
    .min(1)
    .max(200)
    .describe('What the price covers, in words, such as "two battery units, transfer panel, installation".'),
  rebate: z
    .number()
    .min(0)
    .max(MOST_MONEY)
    .optional()
    .describe('Rebates and grants that are sure, in the tariff’s currency; taken off the price.'),
  cycleLife: z
    .number()
    .min(1)
    .max(100_000)
    .optional()
    .describe(
      'Full cycles that the battery is warranted or tested for: what a cycle wears off, for `compare --wear`; no payback is claimed beyond them.',
    ),
  warrantyYears: z
    .number()
    .min(0.001)
    .max(50)
    .optional()
    .describe(
      'Years that the maker warrants the battery for: told beside a payback that takes longer; where neither a cycle life nor calendar years are stated, no payback is claimed beyond them.',
    ),
  calendarYears: z
    .number()
    .min(0.001)
    .max(50)
    .optional()
    .describe(
      'Years that the battery is stated to last, used or not: no payback is claimed beyond them; left out: 25 at most count.',
    ),
  calendarYearsFull: z
    .number()
    .min(0.001)
    .max(50)
    .optional()
    .describe(
      'Years that the battery is stated to last when it is kept full, where `calendarYears` is said of one that is half full: what a fuller battery wears, weighed by `settings`.',
    ),
  batteryPrice: z
    .number()
    .min(0.01)
    .max(MOST_MONEY)
    .optional()
    .describe(
      'What of the price is for the battery alone, before any rebate: what wears off. All of the price less the rebate where not given.',
    ),
}).superRefine((economics, context) => {
  if (economics.batteryPrice !== undefined && economics.batteryPrice > economics.price)
    context.addIssue({
      code: 'custom',
      path: ['batteryPrice'],
      params: { code: 'out-of-range' },
      message: `at most the price, ${economics.price}`,
    });
  if (
    economics.calendarYearsFull !== undefined &&
    !(economics.calendarYearsFull <= (economics.calendarYears ?? Number.NaN))
  )
    context.addIssue({
      code: 'custom',
      path: ['calendarYearsFull'],
      params: { code: 'out-of-range' },
      message: 'calendarYears beside it, and no more years than that: a full battery ages faster',
    });
  if (economics.rebate !== undefined && economics.rebate > economics.price)
    context.addIssue({
      code: 'custom',
      path: ['rebate'],
      params: { code: 'out-of-range' },
      message: `at most the price, ${economics.price}`,
    });
});

/** The `economics` section, checked. */
export type Economics = z.output<typeof economicsSchema>;

/** A stretch of time over which the battery's savings a year stay the same. */
export interface SavingsStretch {
  /** Its first day, such as "2026-03-31". */
  readonly from: string;
  /** Its last day; null where no end is known. */
  readonly until: string | null;
  readonly tariff: string;
  /** What runs the battery. */
  readonly strategy: string;
  readonly savingsPerYear: number;
  /** Full cycles of the battery a year; without them no cycle life is weighed. */
  readonly cyclesPerYear?: number | undefined;
}

/** How long a battery is stated to last, by what its use and its age allow, and its warranty. */
export interface StatedLife {
  /** The least of cycles and age; the warranty where neither is stated. Without stated calendar years 25 at most. */
  readonly years: number;
  /** "age" where those 25 years are the least. */
  readonly setBy: 'cycles' | 'warranty' | 'calendar' | 'age';
  /** The earliest of all ends, that of the warranty too. */
  readonly firstEnd: { readonly years: number; readonly of: StatedLife['setBy'] };
  /** Years until the cycle life is used up; null where none is stated, or it isn't by then. */
  readonly cycleYears: number | null;
  readonly warrantyYears: number | null;
  readonly calendarYears: number | null;
}

/**
 * What becomes of the price: it comes back within the stated life; no life is stated, and it comes back within 25 years;
 * not within the stated life, or within 25 years; not as long as the tariff is known; never.
 */
export type PaybackVerdict = 'within-life' | 'life-not-stated' | 'beyond-life' | 'tariff-ends' | 'never';

/** A simple payback with what it is of and what it stands against. */
export interface SimplePayback {
  /** Price less rebate. */
  readonly cost: number;
  /** Savings a year of the first stretch. */
  readonly savingsPerYear: number;
  readonly verdict: PaybackVerdict;
  /** Null where the site states no cycle life, warranty or calendar life. */
  readonly life: StatedLife | null;
  /** Years beyond which nothing is claimed: the life's, else 25. */
  readonly limitYears: number;
  /** Years until the savings add up to the cost; null where they don't within the stretches and the life. */
  readonly years: number | null;
  /** The day from which it is counted. */
  readonly from: string;
  /** The day on which the savings have added up to the cost; null where they don't. */
  readonly paidBackOn: string | null;
  /** Last day of the stretch in which that happens, else of the last stretch known; null where it has no end. */
  readonly validUntil: string | null;
  /** Where it isn't paid back until then: what has come back; else null. */
  readonly recovered: number | null;
  /** Savings from `from` to the life's first end, to `limitYears` where no life is stated; null where stretches are read no further. */
  readonly savedByFirstEnd: number | null;
  readonly stretches: readonly SavingsStretch[];
  /** "simple payback of …, against …": the words that belong to the number. */
  readonly basis: string;
}

const aStretch: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<SavingsStretch>({
    from: aDate,
    until: (day, at, look) => (day === null ? undefined : aDate(day, at, look)),
    tariff: text,
    strategy: text,
    savingsPerYear: number(),
    cyclesPerYear: optional(number({ least: 0 })),
  })(value, path, looking);
  if (looking.issues.length > before) return;
  const { from, until } = value as SavingsStretch;
  if (until !== null && until < from)
    report(looking, [...path, 'until'], 'out-of-range', until, `a day from ${from} on, or null`);
};

/** A stretch that begins on a day: one left out or counted twice would move the payback. */
const beginsOn = (day: number): Rule => {
  const expected = formatDate(dateOfCivilDay(day));
  return (value, path, looking) => {
    const { from } = value as SavingsStretch;
    if (from !== expected)
      report(looking, [...path, 'from'], 'out-of-range', from, `${expected}, the day after the stretch before`);
  };
};

const YEAR_DAYS = 365.25;
/** Where no calendar life is stated, nothing is claimed beyond this: no home battery is known to have lasted it. Common practice, no source. */
const MOST_YEARS = 25;

/**
 * Years until savings add up to what was paid, nothing else counted: no interest, no fading battery, no price change but
 * those that a tariff has scheduled. Within a stretch savings are taken as even over the year.
 *
 * @param stretches one after the other, without a gap; read no further than to the payback. Undefined where there is none
 * @param against what the savings are measured against, in words
 * @throws InputError on prices that the site file may not hold, stretches whose end comes before their start, and a gap or an
 * overlap between two of them
 * @see NIST Handbook 135, "simple payback"
 * @example
 * const kept = { from: '2026-01-01', until: null, tariff: 'A', strategy: 'window', savingsPerYear: 2600 };
 * simplePayback({ price: 10000, covers: 'one battery unit' }, [kept], 'the home as metered')?.years // 3.846…
 */
export function simplePayback(
  economics: Economics,
  stretches: Iterable<SavingsStretch>,
  against: string,
): SimplePayback | undefined {
  check(
    { economics, stretches, against },
    {
      economics: bySchema(economicsSchema),
      against: text,
      stretches: (value, path, looking) => {
        const iterable = typeof value === 'object' && value !== null && Symbol.iterator in value;
        if (!iterable)
          report(looking, path, value === undefined ? 'missing' : 'wrong-type', value, 'a list of stretches');
      },
    },
  );
  const { price, covers, rebate = 0 } = economics;
  const cost = price - rebate;
  const read: SavingsStretch[] = [];
  let left = cost;
  let elapsedDays = 0;
  let years: number | null = null;
  let cyclesLeft = economics.cycleLife ?? Number.POSITIVE_INFINITY;
  let cycleYears: number | null = null;
  for (const stretch of stretches) {
    // One by one: a comparison makes them as they are asked for.
    const before = read[read.length - 1];
    const follows = before === undefined ? anything : beginsOn(civilDayOfDate(before.until!) + 1);
    check({ stretch }, { stretch: both(aStretch, follows) });
    read.push(stretch);
    const { from, until, savingsPerYear, cyclesPerYear = 0 } = stretch;
    const days = until === null ? Number.POSITIVE_INFINITY : civilDayOfDate(until) - civilDayOfDate(from) + 1;
    if (cyclesLeft > 0 && cyclesPerYear > 0 && cyclesLeft < Number.POSITIVE_INFINITY) {
      // At this stretch's pace; the next one may have another.
      cycleYears = elapsedDays / YEAR_DAYS + cyclesLeft / cyclesPerYear;
      cyclesLeft -= (cyclesPerYear / YEAR_DAYS) * days;
    }
    if (savingsPerYear > 0 && left <= (savingsPerYear / YEAR_DAYS) * days) {
      years = elapsedDays / YEAR_DAYS + left / savingsPerYear;
      break;
    }
    if (until === null) break;
    left -= (savingsPerYear / YEAR_DAYS) * days;
    elapsedDays += days;
  }
  const first = read[0];
  if (first === undefined) return undefined;
  const validUntil = read[read.length - 1]!.until;
  const life = statedLife(economics, cycleYears);
  const verdict = verdictOf(years, life, validUntil);
  const inTime = verdict === 'within-life' || verdict === 'life-not-stated';
  const lessRebate = rebate > 0 ? `, rebate of ${rebate} taken off` : '';
  const uncounted =
    read.length > 1
      ? 'no interest or fade counted, of prices only what is scheduled'
      : 'no interest, price change or fade counted';
  return {
    cost,
    savingsPerYear: first.savingsPerYear,
    verdict,
    life,
    limitYears: limitOf(life),
    years: inTime ? years : null,
    from: first.from,
    paidBackOn: inTime ? dayReached(first.from, years!) : null,
    validUntil,
    recovered: years === null && validUntil !== null ? cost - left : null,
    savedByFirstEnd: savedIn(life?.firstEnd.years ?? limitOf(life), read),
    stretches: read,
    basis: `simple payback of ${quoteName(covers)}${lessRebate}, against ${against}; ${uncounted}`,
  };
}

/** What so many years save; null where the stretches end before. */
function savedIn(years: number, stretches: readonly SavingsStretch[]): number | null {
  let daysLeft = years * YEAR_DAYS;
  let saved = 0;
  for (const { from, until, savingsPerYear } of stretches) {
    const length = until === null ? Number.POSITIVE_INFINITY : civilDayOfDate(until) - civilDayOfDate(from) + 1;
    const days = Math.min(daysLeft, length);
    saved += (savingsPerYear / YEAR_DAYS) * days;
    daysLeft -= days;
    if (daysLeft <= 0) return saved;
  }
  return null;
}

function statedLife({ warrantyYears, calendarYears }: Economics, cycleYears: number | null): StatedLife | null {
  const lasts: StatedLife['firstEnd'][] = [];
  if (cycleYears !== null) lasts.push({ of: 'cycles', years: cycleYears });
  if (calendarYears !== undefined) lasts.push({ of: 'calendar', years: calendarYears });
  const warranty: typeof lasts = warrantyYears === undefined ? [] : [{ of: 'warranty', years: warrantyYears }];
  if (lasts.length + warranty.length === 0) return null;
  const earliest = (ends: typeof lasts) => ends.reduce((least, end) => (end.years < least.years ? end : least));
  const age: typeof lasts = calendarYears === undefined ? [{ of: 'age', years: MOST_YEARS }] : [];
  // A warranty is what the maker answers for, not how long the battery lasts: it is taken where nothing else is stated.
  const { years, of } = earliest([...(lasts.length > 0 ? lasts : warranty), ...age]);
  return {
    years,
    setBy: of,
    firstEnd: earliest([...lasts, ...warranty, ...age]),
    cycleYears,
    warrantyYears: warrantyYears ?? null,
    calendarYears: calendarYears ?? null,
  };
}

/** Years beyond which nothing is claimed. */
function limitOf(life: StatedLife | null): number {
  return life?.years ?? MOST_YEARS;
}

function verdictOf(years: number | null, life: StatedLife | null, validUntil: string | null): PaybackVerdict {
  if (years === null) return validUntil === null ? 'never' : 'tariff-ends';
  if (years > limitOf(life)) return 'beyond-life';
  return life === null ? 'life-not-stated' : 'within-life';
}

/** The day at whose end so many years of saving have passed. */
function dayReached(from: string, years: number): string {
  // A hair less, so that whole days don't tip into the next by rounding.
  const days = Math.max(1, Math.ceil(years * YEAR_DAYS - 1e-6));
  return formatDate(dateOfCivilDay(civilDayOfDate(from) + days - 1));
}
