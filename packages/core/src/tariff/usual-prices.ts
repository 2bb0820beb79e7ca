import { type Fact, fact } from '../words/fact.ts';
import { type PriceSlip, TARIFF_WORDS } from '../words/tariff.ts';
import { outlierOf, pricesOf } from './outlier.ts';
import type { PriceSeries } from './series.ts';
import type { Pricing, Rates, Tariff } from './tariff.ts';
import { whereIn } from './warnings.ts';

/**
 * What homes usually pay for a kWh, riders and taxes included, from cheap nights to dear evenings: common practice, no
 * source (figures of the 2020s, from memory). They only tell a price from one in another unit, which is off by a hundred
 * or a thousand. A currency that isn't here is asked nothing.
 */
const USUAL_PER_KWH: Readonly<Record<string, readonly [least: number, most: number]>> = {
  AUD: [0.05, 0.6],
  BRL: [0.3, 1.6],
  CAD: [0.03, 0.4],
  CHF: [0.08, 0.5],
  CLP: [60, 300],
  CNY: [0.2, 1.2],
  CZK: [1, 10],
  DKK: [0.4, 4],
  EUR: [0.05, 0.4],
  GBP: [0.05, 0.4],
  HKD: [0.6, 2],
  HUF: [20, 100],
  IDR: [500, 2500],
  ILS: [0.3, 1],
  INR: [1, 15],
  ISK: [8, 30],
  JPY: [10, 50],
  KRW: [60, 350],
  MXN: [0.6, 6],
  MYR: [0.15, 0.8],
  NOK: [0.3, 4],
  NZD: [0.08, 0.5],
  PHP: [4, 16],
  PLN: [0.3, 2],
  SEK: [0.3, 4],
  SGD: [0.1, 0.5],
  THB: [2, 7],
  TWD: [1, 9],
  USD: [0.05, 0.4],
  ZAR: [0.8, 5],
};

/** All prices so many times less than usual are asked about: for dollars and euros below 0.01. */
const FAR = 5;

/** A price so many times more than usual is asked about: for dollars and euros above 1. Events may cost more, and aren't looked at. */
const FAR_ABOVE = 2.5;

/** Slips of the pen, and what undoes them. */
const SLIPS: readonly (readonly [PriceSlip, factor: number])[] = [
  ['hundredths', 0.01],
  ['per-mwh', 0.001],
  ['divided-by-100', 100],
  ['divided-by-1000', 1000],
];

/** Of one price among others that are right, a place is the commonest slip. */
const SLIPS_OF_ONE: typeof SLIPS = [['tenfold', 0.1], ['tenth', 10], ...SLIPS];

/** What was probably meant by a price that isn't usual: what brings it nearest to the middle of what is, if near at all. */
function slipOf(
  price: number,
  [least, most]: readonly [number, number],
  slips: typeof SLIPS = SLIPS,
  middle: number = Math.sqrt(least * most),
): PriceSlip | null {
  const off = ([, factor]: readonly [PriceSlip, number]) => Math.abs(Math.log((price * factor) / middle));
  const [nearest] = [...slips].sort((a, b) => off(a) - off(b));
  return off(nearest!) > Math.log((2 * most) / Math.sqrt(least * most)) ? null : nearest![0];
}

/**
 * Asks about prices that homes don't pay in the tariff's currency: above two and a half times what is usual, each price (of export
 * above five times); below a fifth of it, all of them together, since one rider may cost next to nothing; and one window that stands
 * out among others (`outlier.ts`). Between a fifth and the least that is usual they are told of: some homes do pay so little. Of
 * a price series, and of a table of export prices, the mean is looked at: single hours may cost or earn anything.
 *
 * @param series the price series that the tariff names, where they are at hand
 */
export function priceQuestions(tariff: Tariff, series: Readonly<Record<string, PriceSeries>> = {}): Fact[] {
  const { currency, document } = tariff;
  const usual = USUAL_PER_KWH[currency];
  if (usual === undefined || document.unusualPrices === true) return [];
  const [least, most] = usual;
  const questions: Fact[] = [];
  const asked = new Set<string>();
  const ask = (
    charge: string,
    pricePerKwh: number,
    way: 'above' | 'below',
    like: readonly number[] = [pricePerKwh],
  ) => {
    // All prices that are off say more of their unit than the dearest alone.
    const slip = slipOf(Math.exp(like.reduce((logs, price) => logs + Math.log(price), 0) / like.length), usual);
    const data = {
      tariff: tariff.name,
      charge,
      pricePerKwh,
      currency,
      leastPerKwh: least,
      mostPerKwh: most,
      way,
      slip,
      beside: null,
    };
    if (!asked.has(`${way} ${charge}`))
      questions.push(fact(TARIFF_WORDS, 'price-unusual', 'question', data, whereIn(tariff)));
    asked.add(`${way} ${charge}`);
  };
  for (const rates of tariff.versions) {
    questions.push(...fixedQuestions(tariff, rates, most), ...exportQuestion(tariff, rates, series));
    const charges = chargesOf(rates, series);
    for (const { name, flow, pricesPerKwh } of charges) {
      const dear = pricesPerKwh.filter((price) => price > (flow === 'import' ? FAR_ABOVE : FAR) * most);
      if (dear.length > 0) ask(name, Math.max(...dear), 'above', dear);
    }
    const imported = charges.filter(({ flow }) => flow === 'import');
    // Prices that aren't at hand may be what the others come on top of.
    if (rates.energy.some(({ pricing }) => pricesIn(pricing, series).length === 0)) continue;
    const outlier = outlierOf(rates, usual, (pricing) => pricesIn(pricing, series));
    if (outlier !== undefined && !asked.has(`${outlier.way} ${outlier.charge}`)) {
      const { charge, pricePerKwh, way, beside } = outlier;
      const data = { tariff: tariff.name, charge, pricePerKwh, currency, leastPerKwh: least, mostPerKwh: most, beside };
      if (outlier.sure) {
        const slip = slipOf(pricePerKwh, usual, SLIPS_OF_ONE, Math.sqrt(beside.leastPerKwh * beside.mostPerKwh));
        questions.push(fact(TARIFF_WORDS, 'price-unusual', 'question', { ...data, way, slip }, whereIn(tariff)));
      } else questions.push(fact(TARIFF_WORDS, 'price-low', 'warning', data, whereIn(tariff)));
    }
    const together = imported.reduce((sum, { pricesPerKwh }) => sum + Math.max(...pricesPerKwh), 0);
    if (together > 0 && together < least / FAR) ask(imported[0]!.name, together, 'below');
    else if (together > 0 && together < least && rates.energy.every(({ pricing }) => pricing.form !== 'series')) {
      const data = {
        tariff: tariff.name,
        charge: null,
        pricePerKwh: together,
        currency,
        leastPerKwh: least,
        mostPerKwh: most,
        beside: null,
      };
      questions.push(fact(TARIFF_WORDS, 'price-low', 'warning', data, whereIn(tariff)));
    }
  }
  // Versions of a tariff tend to repeat what one of them has wrong.
  return questions.filter(
    ({ code, message }, k) => questions.findIndex((other) => other.code === code && other.message === message) === k,
  );
}

/**
 * Of a fixed charge more than the dearest usual price of so many kWh a month is asked about: 200 dollars. Homes pay 5 to 50
 * (common practice, no source).
 */
const MOST_FIXED_KWH = 500;
const MONTHS_OF = { day: 12 / 365.25, month: 1, bill: 1, 'kva-month': 1, year: 12 } as const;

function fixedQuestions(tariff: Tariff, { fixed }: Rates, most: number): Fact[] {
  const { name, currency } = tariff;
  const mostPerMonth = Number((MOST_FIXED_KWH * most).toPrecision(6));
  return fixed.flatMap(({ name: charge, amount = 0, per }) => {
    if (amount / MONTHS_OF[per] <= mostPerMonth) return [];
    const data = { tariff: name, charge, amount, per, currency, mostPerMonth };
    return [fact(TARIFF_WORDS, 'fixed-unusual', 'question', data, whereIn(tariff, ['fixed']))];
  });
}

/** Of a price series nothing is asked: what is exported may cost money in single hours. */
function exportQuestion(tariff: Tariff, rates: Rates, series: Readonly<Record<string, PriceSeries>>): Fact[] {
  if (!('pricing' in rates.export) || rates.export.pricing.form === 'series') return [];
  const prices = pricesIn(rates.export.pricing, series);
  const pricePerKwh = Math.min(...prices);
  if (prices.length === 0 || prices.some((price) => price >= 0)) return [];
  const data = { tariff: tariff.name, charge: rates.export.name, pricePerKwh, currency: tariff.currency };
  return [fact(TARIFF_WORDS, 'export-below-zero', 'question', data, whereIn(tariff, ['export']))];
}

interface Charge {
  readonly name: string;
  readonly flow: 'import' | 'export';
  readonly pricesPerKwh: readonly number[];
}

/** The prices per kWh of a version, by charge; of a price series its mean. */
function chargesOf(rates: Rates, series: Readonly<Record<string, PriceSeries>>): Charge[] {
  const ofWindows = rates.windows.flatMap(({ name, pricePerKwh, blocks }) =>
    pricePerKwh === undefined && blocks === undefined ? [] : [{ name, prices: pricesOf(pricePerKwh, blocks) }],
  );
  const charges: Charge[] = [];
  if (ofWindows.length > 0) {
    // The dearest window first: it gives the name that is asked about.
    const [dearest] = [...ofWindows].sort((a, b) => Math.max(...b.prices) - Math.max(...a.prices));
    charges.push({ name: dearest!.name, flow: 'import', pricesPerKwh: ofWindows.flatMap(({ prices }) => prices) });
  }
  const add = (name: string, flow: Charge['flow'], pricing: Pricing) => {
    const pricesPerKwh = pricesIn(pricing, series);
    if (pricesPerKwh.length > 0) charges.push({ name, flow, pricesPerKwh });
  };
  for (const { name, pricing } of rates.energy) add(name, 'import', pricing);
  if ('pricing' in rates.export) {
    const { name, pricing } = rates.export;
    const prices = pricesIn(pricing, series);
    const mean = prices.reduce((sum, price) => sum + price, 0) / prices.length;
    if (pricing.form === 'table') charges.push({ name, flow: 'export', pricesPerKwh: [mean] });
    else add(name, 'export', pricing);
  }
  if (rates.export.kind === 'net-metering')
    charges.push({ name: rates.export.name, flow: 'export', pricesPerKwh: [rates.export.surplusPerKwh] });
  return charges;
}

function pricesIn(pricing: Pricing, series: Readonly<Record<string, PriceSeries>>): readonly number[] {
  switch (pricing.form) {
    case 'flat':
      return [pricing.pricePerKwh];
    case 'by-window':
      return pricing.pricePerKwh;
    case 'windows':
      return pricing.windows.flatMap((window) => pricesOf(window.pricePerKwh, window.blocks));
    case 'table':
      return pricing.rows.flatMap((row) => row.pricesByHour);
    case 'blocks':
      return pricesOf(undefined, pricing.blocks);
    case 'series': {
      const prices = series[pricing.file]?.pricePerKwh;
      if (prices === undefined || prices.length === 0) return [];
      let sum = 0;
      for (let k = 0; k < prices.length; k++) sum += prices[k]!;
      // A picture of the tariff alone has zeros in their place.
      return sum === 0 ? [] : [(sum / prices.length) * pricing.multiplier + pricing.adderPerKwh];
    }
  }
}
