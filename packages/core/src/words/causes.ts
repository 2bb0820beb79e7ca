import type { CodeOf, DataOf } from './fact.ts';
import { count, moneyText } from './figures.ts';
import { quoteName } from './quote.ts';

/** What an amount comes to with what the tariff file puts on it, where that is more or less than itself. */
type Taxed = { readonly withTaxes?: number };

/** What may be wrong, as part of a sentence. */
const CLAUSES = {
  baseline: ({ zone }: { zone: string }) => `the baseline is that of zone ${quoteName(zone)}`,
  programme: ({ programme, billed }: { programme: string; billed: boolean }) =>
    `the home is${billed ? '' : ' not'} billed in the programme ${quoteName(programme)}`,
  'days-in-period': ({ shiftDays }: { shiftDays: number }) =>
    `every bill runs a day ${shiftDays < 0 ? 'earlier' : 'later'} than it states`,
  'price-unit': ({ priceFactor }: { priceFactor: number }) =>
    priceFactor < 1
      ? `the tariff file’s prices per kWh are ${Math.round(1 / priceFactor)} times those charged`
      : `the prices charged per kWh are ${priceFactor} times those of the tariff file`,
  'fixed-per-bill': ({ amountPerBill, currency, withTaxes }: Taxed & { amountPerBill: number; currency: string }) =>
    charge(amountPerBill, `${price(currency, amountPerBill)} a bill${taxed(withTaxes, amount)}`),
  'fixed-per-day': ({ amountPerDay, currency, withTaxes }: Taxed & { amountPerDay: number; currency: string }) =>
    charge(amountPerDay, `${price(currency, amountPerDay)} a day${taxed(withTaxes, amount)}`),
  rider: ({ pricePerKwh, currency, withTaxes }: Taxed & { pricePerKwh: number; currency: string }) =>
    charge(pricePerKwh, `${price(currency, pricePerKwh)} per kWh${taxed(withTaxes, amount)}`),
  tax: ({ share, otherIfTaxed, withTaxes }: Taxed & { share: number; otherIfTaxed?: number }) =>
    `${percent(share)} ${share > 0 ? 'on' : 'of'} the whole bill${taxed(withTaxes, percent)} ${missing(share)}${
      otherIfTaxed === undefined
        ? ''
        : ` (where that falls on the charge too, the charge itself is ${amount(otherIfTaxed)})`
    }`,
  'tax-on-energy': ({ share, withTaxes }: Taxed & { share: number }) =>
    `${percent(share)} ${share > 0 ? 'on' : 'of'} the charges per kWh${taxed(withTaxes, percent)} ${missing(share)}`,
  energy: ({ pricePerKwh, currency }: { pricePerKwh: number; currency: string }) =>
    `the kWh charged beyond those of the data cost ${price(currency, pricePerKwh)} each`,
  line: ({ charge, part, times }: { charge: string; part: string | null; times: number }) => {
    const name = part === null ? charge : `${charge}, ${part}`;
    if (Math.abs(times) < 0.01) return `the line ${quoteName(name)} wasn’t charged`;
    if (Math.abs(times - 2) < 1e-9) return `the line ${quoteName(name)} was charged, or given, twice`;
    return Math.abs(times + 1) < 1e-9
      ? `the line ${quoteName(name)} was charged with the other sign`
      : `the line ${quoteName(name)} was charged ${times.toFixed(3)} times what the tariff file says`;
  },
} as const;

type Clauses = typeof CLAUSES;
type ClauseCode = CodeOf<Clauses>;

/** One of two causes that explain the differences together. */
export type Clause = {
  [Code in ClauseCode]: { readonly code: Code; readonly data: DataOf<Clauses, Code> };
}[ClauseCode];

/** What bills hold of credits, as an amount above 0. */
type Credits = {
  readonly bills: number;
  readonly ofBills: number;
  readonly amount: number;
  readonly currency: string;
};

/** With one bill nothing can be told apart. */
type Among = { readonly bills: number };

/**
 * What may explain that bills charge other than ours. Amounts are what the bills hold beyond the tariff file: above 0 it is
 * missing there, below 0 less was charged. A pair's code is the codes of both, joined by "+", and its data
 * are those of `pair`.
 */
export const CAUSE_WORDS = {
  /** The baseline of another zone makes every bill agree: the account's zone is wrong. */
  baseline: (data: { zone: string }) => `${CLAUSES.baseline(data)}${AGREES}the account’s "baselineZone" is wrong.`,

  /** Being billed in a programme, or not in it, makes every bill agree: the account's programmes are wrong. */
  programme: (data: { programme: string; billed: boolean }) =>
    `${CLAUSES.programme(data)}${AGREES}${data.billed ? 'add it to' : 'take it out of'} the account’s "programmes", or ask why.`,

  /** Every bill is about a hundred times ours: its amounts are cents. */
  'amounts-in-cents': ({
    bills,
    currency,
    times,
    restShare,
  }: {
    bills: number;
    currency: string;
    times: number;
    restShare: number;
  }) =>
    `${bills === 1 ? 'the bill is' : `all ${bills} bills are`} about a hundred times ours (${Math.round(times)} times together): the amounts look like cents, not ${currency}: divide them by 100${Math.abs(restShare) < 0.005 ? '' : `, then they are ${percent(restShare)} ${restShare > 0 ? 'above' : 'below'} ours`}.`,

  /** Bills state credits that the tariff file lacks; without them all agree. */
  credits: ({ bills, ofBills, amount: credited, currency }: Credits) =>
    `the credits that ${bills === 1 ? 'one bill holds' : `${bills} bills hold`}, ${price(currency, credited)} in all, aren’t in the tariff file: without them ${
      ofBills === 1 ? 'the bill agrees' : `all ${ofBills} bills agree`
    }. Write one that the tariff gives into the file; leave out one that came once or from others, such as a government: all else that ${ofBills === 1 ? 'this bill charges' : 'these bills charge'} is as the tariff file has it`,

  /** Bills are ours with the other sign: amounts are written as payments. */
  'amounts-negative': ({ bills, ofBills, start }: { bills: number; ofBills: number; start: string }) =>
    `${ofBills === 1 ? 'the bill is' : bills === ofBills ? `all ${bills} bills are` : `${bills} of ${ofBills} bills ${bills === 1 ? 'is' : 'are'}`} about ours with the other sign${bills === ofBills ? '' : `, such as that from ${start}`}: ` +
    `${bills === 1 ? 'the amount looks like a payment, not a charge: write it' : 'the amounts look like payments, not charges: write them'} without the minus or "CR".`,

  /** Amounts are equal from bill to bill, where the home's use isn't: instalments of a plan. */
  instalments: ({
    bills,
    ofBills,
    amount,
    currency,
  }: {
    bills: number;
    ofBills: number;
    amount: number;
    currency: string;
  }) =>
    `${bills === ofBills ? `all ${bills} amounts` : `${bills} of ${ofBills} amounts`} are ${currency} ${moneyText(amount, 2)}, whatever was used: an instalment plan, which says nothing of single bills. ` +
    'Compare with the settlement instead: one row from its first day to its last with what the year was charged in all, or with the charges that each bill states beside the instalment.',

  /** Bills hold the bill before too, which wasn't paid. */
  arrears: ({
    bills,
    ofBills,
    start,
    amount,
    before,
    currency,
  }: {
    bills: number;
    ofBills: number;
    start: string;
    amount: number;
    before: number;
    currency: string;
  }) =>
    `${bills === 1 ? `the bill from ${start} is` : `${bills} of ${ofBills} bills are`} ours and the whole bill before${bills === 1 ? '' : `, such as that from ${start}`}: ${currency} ${amount.toFixed(2)}, of which ${before.toFixed(2)} is the one before. ` +
    `${bills === 1 ? 'It holds' : 'They hold'} a balance that was still open: write what ${bills === 1 ? 'it' : 'each bill'} charges for its own days, without the balance carried on.`,

  /** Two bills have each other's amounts. */
  'amounts-exchanged': ({ start, otherStart }: { start: string; otherStart: string }) =>
    `the bills from ${start} and from ${otherStart} have each other’s amounts: each is what was reckoned for the other, and all others agree. Exchange them.`,

  /** Bills have the amounts of the bills before or after them. */
  'amounts-moved': ({ bills, from }: { bills: number; from: 'before' | 'after' }) =>
    `${bills} bills have the amounts that were reckoned for the bill ${from} theirs: the dates may be those of another day, such as that of the bill’s letter or of its payment. ` +
    'Write the first and the last day of what each bill charges.',

  /** Rows beside each other have one amount, which is that of all their days. */
  'amounts-of-several': ({ rows, parts, start }: { rows: number; parts: number; start: string }) =>
    `each amount stands on ${rows} rows, and ${parts === 1 ? 'is' : `${parts} times it is`} what was reckoned for their days together, from ${start} on: ` +
    `they are bills of ${rows} months. Write one row for each, from its first day to its last.`,

  /** Bills leave out days between them, and agree with these. */
  'days-between': ({ bills, start, end }: { bills: number; start: string; end: string }) =>
    `${count(bills, 'bill')} ${bills === 1 ? 'leaves' : 'leave'} days out before the next, and up to the next one’s first day ${bills === 1 ? 'it agrees' : 'they agree'} within 2 %: ` +
    `is the bill from ${start} of the days up to ${end}? Write that as its last day.`,

  /** All bills are so many times ours. */
  'amounts-times': ({ bills, factor, kwhToo }: { bills: number; factor: number; kwhToo: boolean | null }) =>
    `all ${bills} bills are ${factor === 0.5 ? 'half of' : factor === 2 ? 'twice' : `${factor} times`} what was reckoned${
      kwhToo === null ? '' : kwhToo ? ', and so are their kWh' : ', but their kWh aren’t'
    }. ${
      factor < 1
        ? 'Do the data hold more than the bills charge, such as a second meter or each kWh twice? Or are the bills one of two that charge the same days?'
        : kwhToo === false
          ? 'Are the amounts those of several bills, or prices for which the tariff file has a part only?'
          : 'Do the data hold a part of what the bills charge, such as one of several meters or legs? Or are the amounts those of several months?'
    } No other cause can be told until then.`,

  /** Bills are off one way and the other, and together far nearer: their days are probably not those that they are written with. */
  misdated: ({ bills, eachShare, totalShare }: { bills: number; eachShare: number; totalShare: number }) =>
    `taken one by one the ${bills} bills are ${percent(eachShare)} off, some above ours and some below, and all together ${percent(totalShare)}: what one has too much its neighbours have too little. ` +
    'Are their first and last days the days on which the meter was read? Correct them, or give all of them as one bill from the first day to the last; until then no other cause can be told.',

  /**
   * Bills run over other days: all by a day (`shifted`), or some over days that the site doesn't say (`read-dates`); or they
   * agree as one billing period where the tariff or the account says several (`one-period`).
   */
  'days-in-period': (
    data:
      | { why: 'shifted'; shiftDays: number }
      | { why: 'read-dates'; bills: number; ofBills: number; start: string; end: string; days: number }
      | { why: 'one-period'; bills: number; start: string; end: string; periods: number },
  ) =>
    data.why === 'one-period'
      ? `as one billing period ${data.start} to ${data.end} agrees to the cent, not as the ${data.periods} that the site or the tariff ` +
        'file says: put the first day of each bill in the account’s "readDates".'
      : data.why === 'shifted'
        ? `${CLAUSES['days-in-period'](data)}${AGREES}the meter was read on another day than the bill says.`
        : `${data.bills} of ${count(data.ofBills, 'bill')} ${data.bills === 1 ? 'runs' : 'run'} over other days than the site says, such as ${data.start} to ` +
          `${data.end} (${count(data.days, 'day')}): ` +
          'put them in the account’s "readDates". They are compared over their own days here, each as one billing period.',

  /** A hundred or a thousand between the file's prices and those charged: they are written in another unit. */
  'price-unit': (data: { priceFactor: number }) =>
    `${CLAUSES['price-unit'](data)}${AGREES}they are in another unit, such as cents or a price of a MWh: write them as money a kWh.`,

  /** One amount on each bill explains the differences: a fixed charge or rider. */
  'fixed-per-bill': (data: Among & Taxed & { amountPerBill: number; currency: string }) =>
    among(data, `${CLAUSES['fixed-per-bill'](data)}: a fixed charge or rider.`),

  /** One amount a day explains the differences: a fixed charge. */
  'fixed-per-day': (data: Among & Taxed & { amountPerDay: number; currency: string }) =>
    among(data, `${CLAUSES['fixed-per-day'](data)}: a fixed charge.`),

  /** One price on every kWh explains the differences: a rider or adjustment. */
  rider: (data: Among & Taxed & { pricePerKwh: number; currency: string }) =>
    among(data, `${CLAUSES.rider(data)}: a rider or adjustment.`),

  /** One share of the whole bill explains the differences: a tax or a rider in percent. */
  tax: (data: Among & Taxed & { share: number }) => among(data, `${CLAUSES.tax(data)}: a tax or a rider in percent.`),

  /** One share of the charges per kWh explains the differences: a tax or a rider in percent. */
  'tax-on-energy': (data: Among & Taxed & { share: number; inKva: boolean }) =>
    among(
      data,
      `${CLAUSES['tax-on-energy'](data)}: a tax or a rider in percent${data.inKva && data.share > 0 ? `, or prices that are of a kVAh (a power factor of ${(1 / (1 + data.share)).toFixed(2)})` : ''}.`,
    ),

  /** Bills charge other energy than the data hold (`differs`), all so many times as much (`times`), or one price on that explains them (`price`). */
  energy: (
    data:
      | { why: 'differs'; bills: number; ofBills: number; start: string; chargedKwh: number; dataKwh: number }
      | { why: 'times'; bills: number; times: number }
      | (Among & { why: 'price'; pricePerKwh: number; currency: string }),
  ) =>
    data.why === 'times'
      ? `all ${data.bills} bills that state their energy state ${data.times.toFixed(3)} times the kWh of the data: ${
          data.times > 1 && data.times < 2
            ? `are they kVAh (a power factor of ${(1 / data.times).toFixed(2)}), or metered elsewhere, with the losses between? Where prices are of a kVAh, write them ${data.times.toFixed(3)} times as high, as of a kWh.`
            : 'do the data hold what the bills charge, all of it and once?'
        }`
      : data.why === 'price'
        ? among(data, `${CLAUSES.energy(data)}: a gap, an estimate, or a reading on another day.`)
        : `${data.bills} of ${count(data.ofBills, 'bill')} ${data.bills === 1 ? 'charges' : 'charge'} other energy than the data hold, such as ${data.chargedKwh} kWh ` +
          `against ${data.dataKwh.toFixed(1)} kWh from ${data.start}: a gap, an estimate, or a reading on another day.`,

  /** One line, charged so many times what the tariff file says, explains the differences. */
  line: (data: Among & { charge: string; part: string | null; times: number }) =>
    among(data, `${CLAUSES.line(data)}: its price or quantity (a baseline, a peak) differs, or it doesn’t apply.`),

  /** No single cause explains the differences, but two together do; how many other pairs do too, and the next of them. */
  pair: ({ causes, otherPairs, next }: { causes: readonly Clause[]; otherPairs: number; next: readonly Clause[] }) => {
    const others =
      otherPairs === 0
        ? ''
        : ` ${otherPairs} other ${otherPairs === 1 ? 'pair fits' : 'pairs fit'} as well, such as: ${both(next)}.`;
    return `no single cause explains the differences, but two together do: ${both(causes)}.${others}`;
  },

  /** Neither one cause nor two explain the differences; two are looked for from four bills on. */
  unexplained: ({
    bills,
    start,
    difference,
    currency,
  }: {
    bills: number;
    start: string;
    difference: number;
    currency: string;
  }) =>
    `${
      bills < 4
        ? 'no single cause explains the differences, and two together need four bills to be told from chance'
        : 'no cause was found: neither one nor two together explain the differences'
    }. The largest is that of the bill from ${start}, ${price(currency, difference)} ${difference > 0 ? 'more' : 'less'} than reckoned: compare its lines with those of ` +
    `\`duskbank bill\`${bills < 4 ? ', or give more bills' : ''}.`,
} as const;

const AGREES = ': with that every bill agrees to the cent; ';

function among({ bills }: Among, sentence: string): string {
  return bills === 1 ? `with one bill nothing can be told apart; among others, ${sentence}` : sentence;
}

function both(causes: readonly Clause[]): string {
  return causes.map(({ code, data }) => (CLAUSES[code] as (data: unknown) => string)(data)).join(', and ');
}

function taxed(withTaxes: number | undefined, words: (value: number) => string): string {
  return withTaxes === undefined ? '' : ` (${words(withTaxes)} with what the tariff file puts on it, such as a tax)`;
}

function missing(value: number): string {
  return value > 0
    ? 'is missing from the tariff file'
    : 'wasn’t charged: a credit that the tariff file lacks, or too much in it';
}

/** A charge beyond the file's, or below 0 what was charged less: whether the file has too much or lacks a credit isn't known. */
function charge(value: number, what: string): string {
  return value > 0 ? `a charge of ${what} ${missing(value)}` : `${what} ${missing(value)}`;
}

function price(currency: string, value: number): string {
  return `${currency} ${amount(value)}`;
}

function amount(value: number): string {
  return Math.abs(value)
    .toFixed(4)
    .replace(/0{1,2}$/, '');
}

function percent(share: number): string {
  return `${(Math.abs(share) * 100).toFixed(2)} %`;
}
