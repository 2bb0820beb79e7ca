import { carryClosing, carryKind } from './carry.ts';
import { demandCharge, demandKind } from './demand.ts';
import { fixedCharge, fixedKind } from './fixed.ts';
import type { Planned, TermFromBill, TermFromCharges, TermKind } from './kind.ts';
import { minimumClosing, minimumKind } from './minimum.ts';
import { nettingCharge, nettingKind } from './netting.ts';
import { rebateCharge, rebateKind } from './rebate.ts';
import type { Term, Value } from './term.ts';
import { tierCharge, tierKind } from './tier.ts';
import { usageCreditCharge, usageCreditKind } from './usage-credit.ts';

// Each kind stands in two lists, so that a bundler leaves out what a program doesn't call: the optimum needs nothing that
// makes terms. For that, nothing is computed here while the file loads.

/** Every kind of term, as a search runs it. */
const KINDS = {
  netting: nettingKind,
  tier: tierKind,
  demand: demandKind,
  rebate: rebateKind,
  'usage-credit': usageCreditKind,
  fixed: fixedKind,
  minimum: minimumKind,
  carry: carryKind,
};

/** Kinds made of charges, in the order of a bill's terms. Netting is first: blocks stand on it. */
const CHARGES = {
  netting: nettingCharge,
  tier: tierCharge,
  demand: demandCharge,
  rebate: rebateCharge,
  'usage-credit': usageCreditCharge,
  fixed: fixedCharge,
};

/** Kinds measured against the rest of the bill, in the order in which each counts those before it. */
const CLOSINGS = { minimum: minimumClosing, carry: carryClosing };

type Kinds = typeof KINDS;
type Charges = typeof CHARGES;
type TermOf<K> = K extends TermKind<infer T, infer _> ? T : never;
type PlanOf<C> = C extends TermFromCharges<infer _T, infer _V, infer P> ? P : never;

/** A term of a bill, of any kind. */
export type BillTerm = { [K in keyof Kinds]: TermOf<Kinds[K]> }[keyof Kinds];

/** What a term comes to, and the quantities that it rests on. */
export type TermValue<T extends BillTerm = BillTerm> = {
  [K in keyof Kinds]: Kinds[K] extends TermKind<infer _, infer V> ? V : never;
}[T['kind']];

/** A plan of any kind of charge. */
export type ChargePlan = { [K in keyof Charges]: Planned<K, PlanOf<Charges[K]>> }[keyof Charges];

type AnyCharge = TermFromCharges<Term, Value, unknown>;
type AnyClosing = TermFromBill<Term, Value>;

/** Names of the kinds. */
export function termKinds(): string[] {
  return Object.keys(KINDS);
}

/** What a search knows of a term's kind. */
export function kindOf(term: Term): TermKind<Term, Value> {
  return (KINDS as Readonly<Record<string, unknown>>)[term.kind] as TermKind<Term, Value>;
}

/** The kinds made of charges, with their names, in their order. */
export function chargeKinds(): [string, AnyCharge][] {
  return Object.entries(CHARGES as unknown as Readonly<Record<string, AnyCharge>>);
}

/** The kinds measured against the rest of the bill, with their names, in their order. */
export function closingKinds(): [string, AnyClosing][] {
  return Object.entries(CLOSINGS as unknown as Readonly<Record<string, AnyClosing>>);
}

/** How a plan becomes a term and its lines. */
export function chargeOf(plan: Planned): AnyCharge {
  return (CHARGES as Readonly<Record<string, unknown>>)[plan.kind] as AnyCharge;
}

/** What a tariff knows of a term's kind. */
export function tariffKindOf(term: Term): AnyCharge | AnyClosing {
  return ({ ...CHARGES, ...CLOSINGS } as Readonly<Record<string, unknown>>)[term.kind] as AnyCharge | AnyClosing;
}
