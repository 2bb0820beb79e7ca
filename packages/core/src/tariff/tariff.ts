import type { BillingRule, HolidayRule } from '../axis/index.ts';
import type { HourRule } from './hours.ts';
import type { TariffDocument, TariffVersionDocument } from './schema/tariff.ts';
import type { ROUNDING_PLACES, RoundingMode, WindowKind } from './vocabulary.ts';

/** A tariff, checked and resolved: each version whole, names turned into numbers. */
export interface Tariff {
  /** The file as it was read. */
  readonly document: TariffDocument;
  /** Its name in messages. */
  readonly file: string | undefined;
  readonly name: string;
  readonly utility: string | undefined;
  readonly currency: string;
  readonly currencyDecimals: number;
  readonly rounding: Rounding;
  readonly billing: Billing;
  /** By date; the first holds from the beginning of time. */
  readonly versions: readonly Rates[];
  readonly life: NonNullable<TariffDocument['life']>;
}

export interface Rounding {
  readonly at: (typeof ROUNDING_PLACES)[number];
  readonly mode: RoundingMode;
  readonly decimals: number;
  readonly energyDecimals: number;
}

export interface Billing {
  readonly rule: BillingRule;
  readonly monthDays: number | undefined;
  readonly monthDecimals: number | undefined;
}

/** One version of a tariff, whole. */
export interface Rates {
  /** All fields of the version as the file writes them, those that it keeps of earlier versions included. */
  readonly written: Omit<TariffVersionDocument, 'from' | 'note'>;
  /** First civil day that it holds on; −Infinity for the first version. */
  readonly fromDay: number;
  readonly note: string | undefined;
  readonly holidays: readonly HolidayRule[];
  readonly seasonNames: readonly string[];
  /** Season of a day of the year, at `month · 32 + day`. */
  readonly seasonOf: Uint8Array;
  /** At least one. */
  readonly windows: readonly WindowRule[];
  readonly energy: readonly EnergyCharge[];
  readonly baselines: readonly { kwhPerDay: number; seasonMask: number; zone: string | undefined }[];
  readonly events: readonly EventRule[];
  readonly demand: readonly DemandCharge[];
  readonly fixed: readonly FixedCharge[];
  readonly export: ExportRule;
  readonly adjustments: readonly PercentRule[];
  readonly minimumBill:
    | { name: string; amount: number; per: 'month' | 'day' | 'bill'; on: readonly string[] }
    | undefined;
  readonly taxes: readonly PercentRule[];
}

export interface WindowRule {
  readonly name: string;
  readonly hours: HourRule;
  readonly kind: WindowKind | undefined;
  readonly pricePerKwh: number | undefined;
  readonly blocks: readonly Block[] | undefined;
}

/** `bound` undefined: the last block. */
export interface Block {
  readonly bound: { readonly by: 'month' | 'day' | 'baseline'; readonly value: number } | undefined;
  readonly pricePerKwh: number;
}

/** The form of a price per kWh. */
export type Pricing =
  | { readonly form: 'flat'; readonly pricePerKwh: number }
  /** By the tariff's own windows, in their order. */
  | { readonly form: 'by-window'; readonly pricePerKwh: readonly number[] }
  | { readonly form: 'windows'; readonly windows: readonly WindowRule[] }
  | {
      readonly form: 'table';
      readonly rows: readonly { monthMask: number; dayMask: number; pricesByHour: readonly number[] }[];
    }
  | { readonly form: 'blocks'; readonly blocks: readonly Block[]; readonly resets: 'billing-period' | 'day' }
  | {
      readonly form: 'series';
      readonly file: string;
      readonly multiplier: number;
      readonly adderPerKwh: number;
      readonly known: 'day-ahead' | 'published';
    };

export interface EnergyCharge {
  readonly name: string;
  readonly supplier: string | undefined;
  readonly pricing: Pricing;
  readonly seasonMask: number;
  /** Undefined: all. Else for each window of the tariff whether its energy counts. */
  readonly inWindows: readonly boolean[] | undefined;
  readonly nonBypassable: boolean;
  readonly programme: string | undefined;
}

export interface EventRule {
  readonly name: string;
  readonly civilDays: readonly number[];
  readonly from: number;
  readonly to: number;
  readonly effect:
    | { readonly kind: 'price' | 'adder'; readonly pricePerKwh: number }
    | {
        readonly kind: 'rebate';
        readonly pricePerKwh: number;
        readonly baselineKwh: number | undefined;
        readonly baselineDays: number | undefined;
      };
}

export interface DemandCharge {
  readonly name: string;
  readonly supplier: string | undefined;
  readonly pricePerKw: number;
  readonly per: 'month' | 'day';
  readonly steps: readonly { upToKw: number; amount: number }[] | undefined;
  readonly hours: HourRule;
  readonly inWindows: readonly boolean[] | undefined;
  readonly averagingMinutes: number;
  readonly highestDays: number;
  readonly minimumKw: number;
  readonly contractShare: number;
  readonly ratchet: { readonly share: number; readonly months: number; readonly seasonMask: number } | undefined;
  readonly unit: 'kW' | 'kVA';
}

export interface FixedCharge {
  readonly name: string;
  readonly supplier: string | undefined;
  readonly amount: number | undefined;
  readonly bySize: readonly { upToAmps: number; amount: number }[] | undefined;
  readonly per: 'day' | 'month' | 'bill' | 'kva-month' | 'year';
  readonly seasonMask: number;
  readonly programme: string | undefined;
}

export interface PercentRule {
  readonly name: string;
  /** 0.05 for 5 %. */
  readonly share: number;
  readonly percent: number;
  readonly on: readonly string[];
  readonly programme: string | undefined;
}

export type ExportRule = { readonly name: string; readonly limitKw: number } & (
  | { readonly kind: 'none' }
  | {
      readonly kind: 'net-billing';
      readonly pricing: Pricing;
      readonly carry: 'none' | 'money';
      readonly offsets: 'energy' | 'all';
      readonly trueUpMonth: number | undefined;
      readonly settleShare: number;
    }
  | {
      readonly kind: 'net-metering';
      readonly within: 'window' | 'period';
      readonly carry: 'none' | 'kwh' | 'money';
      readonly offsets: 'energy' | 'all';
      readonly trueUpMonth: number | undefined;
      readonly surplusPerKwh: number;
      readonly settleShare: number;
    }
  | { readonly kind: 'buy-all'; readonly pricing: Pricing }
);
