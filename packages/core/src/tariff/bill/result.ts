import type { LineKind } from '../vocabulary.ts';

/** One line of a bill: `amount = quantity × rate`, rounded where the tariff says. */
export interface BillLine {
  /** What the line says: the charge, its part, and the version where the period has two. */
  readonly name: string;
  readonly kind: LineKind;
  /** The charge, event, rider or tax, as the tariff file names it. */
  readonly charge: string;
  /** Which part of it, where it has several: a window, a block, a class of power, what becomes of a surplus. */
  readonly part?: string;
  /** Who bills it, where the tariff says. */
  readonly supplier?: string;
  readonly quantity: number;
  readonly unit: string;
  readonly rate: number;
  readonly amount: number;
}

/** The bill of one period. `total` is the exact sum of its lines' amounts. */
export interface PeriodBill {
  /** First and last local date of the period. */
  readonly start: string;
  readonly end: string;
  readonly lines: readonly BillLine[];
  readonly total: number;
}

/** Bills of a whole axis, rounded where the tariff says. */
export interface Bill {
  readonly currency: string;
  readonly periods: readonly PeriodBill[];
  readonly total: number;
}
