import type { Axis } from '../../axis/index.ts';
import type { Rule, SeriesBounds } from '../../input/door.ts';
import type { Fact } from '../../words/fact.ts';
import type { LineMaker, PeriodLines } from '../bill/lines.ts';
import type { FlowSums } from '../flow-sums.ts';
import type { ServiceFlows } from '../flows.ts';
import type { Layout } from '../layout.ts';
import type { LineIdentity } from '../weights.ts';
import type { Bound, BoundContext, PriceChange } from './bound.ts';
import type { CountedCharges, Term, Value } from './term.ts';

/**
 * What a search asks of a kind of term: what it comes to, and what lies under it. Nothing here reads the tariff file or
 * writes a bill, so that a program that only searches carries none of that.
 */
export interface TermKind<T extends Term, V extends Value> {
  /** What the term comes to, unrounded. */
  value(term: T, context: ValueContext): V;

  /** Something straight that costs no more than the term does under any flows, for the optimum's lower bound. */
  bound(term: T, context: BoundContext): Bound<V>;

  /** Looks at a term that came from outside: the fields that its kind adds. */
  rule(context: RuleContext): Rule;

  /**
   * Adds the slope of the term as a schedule left it, where {@link bound} may have another: the optimum then also looks
   * for schedules along this one.
   */
  addSearchSlopes?(term: T, value: V, change: PriceChange): void;

  /**
   * Adds the least that a kWh more of import may cost by this term, and that a kWh more of export may earn, under any
   * flows. Left out where that is no less than nothing, or than nothing in all with the prices that the term counts.
   *
   * @param change what the prices and the terms before this one come to
   * @param leastOf the same of some charges alone
   */
  addLeastSlopes?(term: T, change: PriceChange, leastOf: (charges: CountedCharges) => PriceChange): void;
}

/** The fields that a kind of term adds to what all terms have. */
export type FieldsOf<T extends Term> = Omit<T, keyof Term>;

/** Rules that fit a term's groups. */
export interface RuleContext {
  readonly groups: number;
  /** A number for each group. */
  each(bounds?: SeriesBounds): Rule;
  /** A list with an entry for each group. */
  perGroup(rule: Rule): Rule;
  /** Index of a later group for each group, −1 none. */
  readonly next: Rule;
  readonly counted: Rule;
}

/** What only a tariff asks of a kind of term: its slopes, and how they lie to each other. */
interface TermOfTariff<T extends Term, V extends Value> {
  /**
   * Adds what one more kWh imported or exported changes of the term's amount to the context's prices. Where the slope
   * jumps, it is the one towards more import.
   */
  addSlopes(term: T, value: V, context: SlopeContext): void;

  /** Whether the term comes to nothing whatever the flows are, or to the same. */
  isSteady(term: T): boolean;

  /**
   * The differences between neighbouring slopes of a convex term, each with its group: none is below 0. Undefined where
   * they can't be told, so that nothing may be taken off the term without losing its convexity.
   */
  slopeSteps(term: T): readonly SlopeStep[] | undefined;
}

/** How a kind of term is made of charges in the tariff file, one or several terms a charge, and stands on a bill. */
export interface TermFromCharges<T extends Term, V extends Value, P> extends TermOfTariff<T, V> {
  /**
   * The charges of this kind, laid on the axis, without the percentages on them: a plan for each term.
   *
   * @param earlier plans of the kinds that stand before this one in the registry
   */
  plan(layout: Layout, warnings: Fact[], earlier: readonly Planned[]): P[];

  /** The term of a plan, its money weighted with what percentages make of it. */
  term(plan: P, context: TermContext): T;

  /** Adds the term's lines to those of each billing period. Left out where the lines of energy tell it. */
  lines?(plan: P, value: V, context: LineContext): void;
}

/** How a kind of term is measured against the rest of the bill, and stands on it: at most one a tariff. */
export interface TermFromBill<T extends Term, V extends Value> extends TermOfTariff<T, V> {
  /** The term, and what it may take off the bill; undefined where the tariff has none. */
  close(context: CloseContext): { readonly term: T; readonly deduction?: Deduction } | undefined;

  /** The lines that its own come after. */
  readonly after: 'adjustments' | 'taxes';

  /** Begins a run through the billing periods in order; the function returned adds the lines of each. */
  closeLines(term: T, context: Omit<LineContext, 'periods'>): (period: number, lines: PeriodLines) => void;
}

/** A plan with the kind that made it. */
export interface Planned<Kind extends string = string, P = unknown> {
  readonly kind: Kind;
  readonly plan: P;
}

export interface SlopeStep {
  readonly slope: number;
  readonly group: number;
}

/** Counted charges that a term may take off the bill: at most `share` of them in each billing period, 0 at least. */
export interface Deduction {
  readonly counted: CountedCharges;
  readonly share: Float64Array;
}

/** What a unit of money on a line comes to in the end: in the whole bill, or in a part of it that something counts. */
export type Weigh = (line: LineIdentity, version: number) => number;

export interface TermContext {
  readonly layout: Layout;
  readonly weigh: Weigh;
  /** Price of netted energy in each slot of the schedule, weighted. */
  readonly nettedPricePerKwh: Float64Array;
}

export interface CloseContext {
  readonly layout: Layout;
  /** The bill without terms of this sort. */
  readonly whole: CountedCharges;
  /** The terms so far, earlier ones of this sort included, and what those take off. */
  readonly terms: readonly Term[];
  readonly deductions: readonly Deduction[];
  /** Taxes and adjustments on a line folded in; and the part of it that the minimum bill counts. */
  readonly weighWhole: Weigh;
  readonly weighUnderMinimum: Weigh;
  /** The charges, each line counted as much as it weighs. */
  count(weigh: Weigh): CountedCharges;
  /** Whether the bill stays convex under some deductions. */
  staysConvex(deductions: readonly Deduction[]): boolean;
}

export interface ValueContext {
  readonly sums: FlowSums;
  /** Values of the terms before this one in its list. */
  readonly earlier: readonly Value[];
  /** Values of another list. */
  valuesOf(terms: readonly Term[]): readonly Value[];
}

export interface SlopeContext {
  readonly axis: Axis;
  readonly flows: ServiceFlows;
  /** Where the slopes go. */
  readonly importPerKwh: Float64Array;
  readonly exportPerKwh: Float64Array;
  /** How much of a group's amount counts. */
  weight(group: number): number;
  /** Slope on top of each group of the netting term at an index of the list: blocks of netted energy. */
  slopeOnTop(term: number): Float64Array;
  /** Index of the term itself. */
  readonly index: number;
  /** Adds the slopes of counted charges, each billing period's times a weight. */
  addCounted(counted: CountedCharges, weights: PeriodWeights): void;
}

/** A weight for each billing period, and the period of each interval. */
export interface PeriodWeights {
  readonly ofPeriod: Float64Array;
  readonly period: Int32Array;
}

export interface LineContext {
  readonly layout: Layout;
  readonly maker: LineMaker;
  /** Lines so far, one list a billing period. */
  readonly periods: readonly PeriodLines[];
}
