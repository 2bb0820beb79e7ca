import { carryKind } from './carry.ts';
import { demandKind } from './demand.ts';
import { fixedKind } from './fixed.ts';
import type { ChargeTermKind, ClosingTermKind, Planned, TermKind } from './kind.ts';
import { minimumKind } from './minimum.ts';
import { nettingKind } from './netting.ts';
import { rebateKind } from './rebate.ts';
import type { Term, Value } from './term.ts';
import { tierKind } from './tier.ts';

/** Kinds made of charges, in the order of a bill's terms. Netting is first: blocks stand on it. */
const CHARGES = { netting: nettingKind, tier: tierKind, demand: demandKind, rebate: rebateKind, fixed: fixedKind };

/** Kinds measured against the rest of the bill, in the order in which each counts those before it. */
const CLOSINGS = { minimum: minimumKind, carry: carryKind };

type Charges = typeof CHARGES;
type Kinds = Charges & typeof CLOSINGS;
type TermOf<K> = K extends TermKind<infer T, infer _> ? T : never;
type PlanOf<K> = K extends ChargeTermKind<infer _T, infer _V, infer P> ? P : never;

/** A term of a bill, of any kind. */
export type BillTerm = { [K in keyof Kinds]: TermOf<Kinds[K]> }[keyof Kinds];

/** What a term comes to, and the quantities that it rests on. */
export type TermValue<T extends BillTerm = BillTerm> = {
  [K in keyof Kinds]: Kinds[K] extends TermKind<infer _, infer V> ? V : never;
}[T['kind']];

/** A plan of any kind of charge. */
export type ChargePlan = { [K in keyof Charges]: Planned<K, PlanOf<Charges[K]>> }[keyof Charges];

type AnyKind = TermKind<Term, Value>;

export const chargeKinds = Object.values(CHARGES) as readonly ChargeTermKind<Term, Value, unknown>[];
export const closingKinds = Object.values(CLOSINGS) as readonly ClosingTermKind<Term, Value>[];

const byName: Readonly<Record<string, AnyKind>> = { ...CHARGES, ...CLOSINGS } as Record<string, AnyKind>;

/** What is known of a term's kind. */
export function kindOf(term: Term): AnyKind {
  return byName[term.kind]!;
}

/** What is known of a plan's kind. */
export function chargeKindOf(plan: Planned): ChargeTermKind<Term, Value, unknown> {
  return byName[plan.kind] as ChargeTermKind<Term, Value, unknown>;
}
