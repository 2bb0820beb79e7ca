import { count, digits, figure } from './figures.ts';
import { MOST_NOTE, quoteName } from './quote.ts';

const ONE_INVERTER =
  'There the best schedule may want to charge and discharge at once, which no inverter can: strategies run as always, ' +
  'and the best possible in hindsight may be a proven bound with a gap instead of an exact value.';

/** In what a price was probably written, where it isn't usual. */
export type PriceSlip = 'hundredths' | 'per-mwh' | 'divided-by-100' | 'divided-by-1000' | 'tenfold' | 'tenth';

const SLIPS: Readonly<Record<PriceSlip, (pricePerKwh: number) => string>> = {
  hundredths: (price) => `Is it in hundredths, such as cents? Then write ${digits(price / 100, 6)}. `,
  'per-mwh': (price) => `Is it of a MWh? Then write ${digits(price / 1000, 6)}. `,
  'divided-by-100': (price) => `Was it divided by a hundred once too often? Then write ${digits(price * 100, 6)}. `,
  'divided-by-1000': (price) => `Is it of a Wh? Then write ${digits(price * 1000, 6)}. `,
  tenfold: (price) => `Is the decimal mark a place too far right? Then write ${digits(price / 10, 6)}. `,
  tenth: (price) => `Is the decimal mark a place too far left? Then write ${digits(price * 10, 6)}. `,
};

/** What the other windows or blocks cost, beside one that doesn't go with them. */
type Beside = { readonly leastPerKwh: number; readonly mostPerKwh: number } | null;

function besideText(beside: Beside, currency: string): string {
  if (beside === null) return '';
  const [least, most] = [digits(beside.leastPerKwh, 6), digits(beside.mostPerKwh, 6)];
  return `, beside ${currency} ${least === most ? least : `${least} to ${most}`} for the others`;
}

/** The price with its decimal mark a place further left, where homes pay that. */
function tenfold(price: number, least: number, most: number, way: 'above' | 'below'): string {
  const tenth = price / 10;
  return way === 'below' || tenth < least || tenth > 1.5 * most
    ? ''
    : `Is the decimal mark a place too far right? Then write ${digits(tenth, 6)}. `;
}

const PER = { day: 'day', month: 'month', bill: 'bill', 'kva-month': 'kVA and month', year: 'year' } as const;

/** `"Feed-in" takes EUR 0.08 for a kWh that is exported`. */
export function exportCosts({
  charge,
  pricePerKwh,
  currency,
}: {
  charge: string;
  pricePerKwh: number;
  currency: string;
}): string {
  return `${quoteName(charge)} takes ${currency} ${digits(-pricePerKwh, 6)} for a kWh that is exported`;
}

/** What is to be known of a tariff before a number made with it is relied on. */
export const TARIFF_WORDS = {
  /** The tariff file says when the tariff ends: savings hold until then, and payback is reckoned over its life. */
  'tariff-ends': ({ tariff, endsOn, successor }: { tariff: string; endsOn: string; successor: string | null }) =>
    `${quoteName(tariff)} ends on ${endsOn}${successor === null ? '' : ` and ${quoteName(successor)} follows`}: ` +
    'savings hold until then, and payback is reckoned over its life',

  /** A programme of the account is in no charge, credit or percentage of the tariff: nothing changes for the home. */
  'programme-unknown': ({
    programme,
    tariff,
    known,
  }: {
    programme: string;
    tariff: string;
    known: readonly string[];
  }) =>
    `the home is in ${quoteName(programme)}, which ${quoteName(tariff)} knows nothing of: nothing is charged or credited for it` +
    `${known.length === 0 ? '' : ` (the tariff knows ${known.map((name) => quoteName(name)).join(', ')})`}`,

  /** The tariff has a later version: each day is billed on the version that holds on it. */
  'tariff-changes': ({ tariff, from, note }: { tariff: string; from: string; note: string | null }) =>
    `${quoteName(tariff)} has a version from ${from}${note === null ? '' : ` (${quoteName(note, MOST_NOTE)})`}: each day is billed on the version that holds on it`,

  /** A kWh exported earns more than one imported costs, in some intervals: the bound in hindsight may have a gap then. */
  'export-above-import': ({ intervals }: { intervals: number }) =>
    `in ${count(intervals, 'interval')} a kWh exported earns more than a kWh imported costs. ${ONE_INVERTER}`,

  /** A price is below zero in some intervals: the bound in hindsight may have a gap then. */
  'negative-price': ({ intervals }: { intervals: number }) =>
    `in ${count(intervals, 'interval')} a price is below zero. ${ONE_INVERTER}`,

  /** A price per kWh that homes don't pay in this currency: it is asked about, and savings are withheld until then. */
  'price-unusual': ({
    tariff,
    charge,
    pricePerKwh,
    currency,
    leastPerKwh,
    mostPerKwh,
    way,
    slip,
    beside,
  }: {
    tariff: string;
    charge: string;
    pricePerKwh: number;
    currency: string;
    leastPerKwh: number;
    mostPerKwh: number;
    way: 'above' | 'below';
    slip: PriceSlip | null;
    beside: Beside;
  }) =>
    `${unusual({ charge, pricePerKwh, currency, way, beside })} on ${quoteName(tariff)}, where homes usually pay ${leastPerKwh} to ` +
    `${mostPerKwh} (common practice, no source). ${slip === null ? '' : SLIPS[slip](pricePerKwh)}${beside === null ? tenfold(pricePerKwh, leastPerKwh, mostPerKwh, way) : ''}Set a bill beside it with "duskbank bill --actual". ` +
    'If it is right, state "unusualPrices": true in the tariff file',

  /** All charges per kWh together, or one window (`charge`), are less than homes usually pay, though not so far from it that savings would be withheld. */
  'price-low': ({
    tariff,
    charge,
    pricePerKwh,
    currency,
    leastPerKwh,
    mostPerKwh,
    beside,
  }: {
    tariff: string;
    charge: string | null;
    pricePerKwh: number;
    currency: string;
    leastPerKwh: number;
    mostPerKwh: number;
    beside: Beside;
  }) =>
    `${charge === null ? `no kWh costs more than ${currency} ${Number(pricePerKwh.toPrecision(4))}` : unusual({ charge, pricePerKwh, currency, way: 'below', beside })} on ${quoteName(tariff)}, where homes usually pay ${leastPerKwh} to ` +
    `${mostPerKwh} (common practice, no source), riders and taxes included. Is a charge missing, or the decimal mark a place too far left? ` +
    'Set a bill beside it with "duskbank bill --actual". If it is right, state "unusualPrices": true in the tariff file',

  /** A fixed charge far above what homes pay in this currency: it is asked about. */
  'fixed-unusual': ({
    tariff,
    charge,
    amount,
    per,
    currency,
    mostPerMonth,
  }: {
    tariff: string;
    charge: string;
    amount: number;
    per: 'day' | 'month' | 'bill' | 'kva-month' | 'year';
    currency: string;
    mostPerMonth: number;
  }) =>
    `${quoteName(charge)} is ${currency} ${figure(amount)} a ${PER[per]} on ${quoteName(tariff)}, where homes hardly pay more than ${figure(mostPerMonth)} a month ` +
    `(common practice, no source). Is it in hundredths, such as cents? Then write ${digits(amount / 100, 6)}. ` +
    `${per === 'year' ? '' : 'Is it of a year? Then write "per": "year". '}Set a bill beside it with "duskbank bill --actual". ` +
    'If it is right, state "unusualPrices": true in the tariff file',

  /** What is exported costs money in every window: it is asked about, and savings are withheld until then. */
  'export-below-zero': (data: { tariff: string; charge: string; pricePerKwh: number; currency: string }) =>
    `${exportCosts(data)} on ${quoteName(data.tariff)}, in every window, where it usually earns money (common practice, no source). ` +
    `Is the sign mistaken? What is exported earns with a price above 0: write ${digits(-data.pricePerKwh, 6)}. ` +
    'If feeding in does cost money, state "unusualPrices": true in the tariff file',

  /** A window begins or ends inside an interval: its price is a mean, and only shorter intervals would tell more. */
  'window-edge-inside-step': ({ intervals, stepMinutes }: { intervals: number; stepMinutes: number }) =>
    `an edge between two windows lies inside ${count(intervals, 'interval')} of ${stepMinutes} minutes: their ` +
    'price is the mean of both, weighted by minutes; blocks, netting and demand take them as wholly in the longer part.',

  /** An event that pays a rebate comes before any day that would say what use is usual: no rebate is reckoned for it. */
  'rebate-without-baseline': ({ event }: { event: string }) =>
    `${quoteName(event)} has an event on the first day of the data: its usual use isn’t known, and no rebate is reckoned.`,

  /** A charge averages power over minutes that are no whole number of intervals: the nearest number is averaged. Of data
   * that were split, by the steps as metered: what these hide of power stays hidden. */
  'demand-averaging': ({
    charge,
    averagingMinutes,
    stepMinutes,
    splitMinutes,
    averagedMinutes,
  }: {
    charge: string;
    averagingMinutes: number;
    stepMinutes: number;
    splitMinutes?: number;
    averagedMinutes: number;
  }) =>
    `${quoteName(charge)} averages power over ${averagingMinutes} minutes; the data have ${stepMinutes}-minute steps, ${
      splitMinutes === undefined
        ? `so that ${averagedMinutes} minutes are averaged`
        : `whose energy is spread evenly over ${splitMinutes}-minute ones, and ${averagedMinutes} minutes of these are averaged`
    }${stepMinutes > averagingMinutes ? ': the true peak is higher' : ''}.`,
} as const;

/** A price that homes don't pay: why savings are withheld. */
export function unusual({
  charge,
  pricePerKwh,
  currency,
  way,
  beside,
}: {
  charge: string;
  pricePerKwh: number;
  currency: string;
  way: 'above' | 'below';
  beside: Beside;
}): string {
  const price = `${currency} ${digits(pricePerKwh, 6)}`;
  return way === 'above' || beside !== null
    ? `${quoteName(charge)} is ${price} a kWh${besideText(beside, currency)}`
    : `a kWh costs ${price} at most`;
}
