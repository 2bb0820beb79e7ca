import type { Layout } from '../layout.ts';
import { type Decimal, decimalOf, decimalQuantity, moneyOf, multiply, ONE, roundQuantity, roundSum } from '../money.ts';
import type { Share } from '../period-days.ts';
import type { Rounding } from '../tariff.ts';
import type { LineKind } from '../vocabulary.ts';
import type { LineIdentity } from '../weights.ts';
import type { BillLine } from './result.ts';

/** A line before it is printed. */
export interface Entry {
  readonly line: { readonly name: string; readonly kind: LineKind; readonly supplier: string | undefined };
  readonly version: number;
  /** Which part of the charge: a window, a block, a class. */
  readonly part: string;
  readonly text: string;
  readonly quantity: number;
  readonly unit: string;
  readonly rate: number;
  /** Its amount in whole units of the last decimal that is kept. */
  readonly units: number;
}

/** The lines of one billing period, in order. */
export type PeriodLines = Entry[];

/** A line as the bill shows it. */
export function printed({ line, part, text, quantity, unit, rate, units }: Entry, decimals: number): BillLine {
  const { name, kind, supplier } = line;
  const shown: { -readonly [K in keyof BillLine]: BillLine[K] } = {
    name: text,
    kind,
    charge: name,
    quantity,
    unit,
    rate,
    amount: moneyOf(units, decimals),
  };
  // Spreading what is optional would cost a quarter of a bill.
  if (part !== '') shown.part = part;
  if (supplier !== undefined) shown.supplier = supplier;
  return shown;
}

const WHOLE: Share = { times: 1, per: 1 };

/** Makes lines, rounding each once. */
export class LineMaker {
  private readonly rates = new Map<number, Decimal>();

  constructor(
    readonly layout: Layout,
    readonly rounding: Rounding,
    readonly decimals: number,
  ) {}

  /** A rate as it is written: each comes back in every period. */
  private rateOf(rate: number): Decimal {
    let decimal = this.rates.get(rate);
    if (decimal === undefined) {
      decimal = decimalOf(rate);
      this.rates.set(rate, decimal);
    }
    return decimal;
  }

  /** The line's text: where a period has two versions, it says which one. */
  private text(name: string, label: string, version: number, period: number): string {
    const { days, tariff } = this.layout;
    const text = label === '' ? name : `${name}, ${label}`;
    const versions = days.versions[period]!;
    if (versions.length < 2) return text;
    const later = tariff.document.versions ?? [];
    return version === versions[0]
      ? `${text} (before ${later[versions[1]! - 1]!.from})`
      : `${text} (from ${later[version - 1]!.from})`;
  }

  /** A metered quantity times a price, times a share of a month. */
  metered(
    line: LineIdentity,
    label: string,
    version: number,
    period: number,
    quantity: number,
    unit: string,
    rate: number,
    share: Share = WHOLE,
  ): Entry {
    const { rounding } = this;
    const kept = rounding.energyDecimals;
    const billed = roundQuantity(quantity, kept);
    return {
      line,
      version,
      part: label,
      text: this.text(line.name, label, version, period),
      quantity: billed,
      unit,
      rate: share === WHOLE ? rate : (rate * share.times) / share.per,
      units: multiply(
        decimalQuantity(quantity, kept),
        this.rateOf(rate),
        share.times,
        share.per,
        this.decimals,
        rounding.mode,
      ),
    };
  }

  /** Many prices in one line: their mean is its rate. */
  averaged(line: LineIdentity, version: number, period: number, quantity: number, money: number): Entry {
    const units = roundSum(money, this.decimals, this.rounding.mode);
    const billed = roundQuantity(quantity, this.rounding.energyDecimals);
    return {
      line,
      version,
      part: '',
      text: this.text(line.name, '', version, period),
      quantity: billed,
      unit: 'kWh',
      rate: billed === 0 ? 0 : moneyOf(units, this.decimals) / billed,
      units,
    };
  }

  /** An amount for a share of a month, a number of days and the like. */
  shared(
    line: LineIdentity,
    label: string,
    version: number,
    period: number,
    share: Share,
    unit: string,
    rate: number,
  ): Entry {
    return {
      line,
      version,
      part: label,
      text: this.text(line.name, label, version, period),
      quantity: share.times / share.per,
      unit,
      rate,
      units: multiply(ONE, this.rateOf(rate), share.times, share.per, this.decimals, this.rounding.mode),
    };
  }

  /** A rate on an amount of money. */
  onMoney(line: Entry['line'], version: number, period: number, units: number, rate: number): Entry {
    const base: Decimal = { digits: units, scale: this.decimals };
    return {
      line,
      version,
      part: '',
      text: this.text(line.name, '', version, period),
      quantity: moneyOf(units, this.decimals),
      unit: this.layout.tariff.currency,
      rate,
      units: multiply(base, this.rateOf(rate), 1, 1, this.decimals, this.rounding.mode),
    };
  }
}
