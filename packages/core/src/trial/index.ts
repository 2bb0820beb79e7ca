export type { PaidBill } from './bill.ts';
export { type Case, makeCase, withLoad, withPlant, withTariff } from './case.ts';
export type { EnergySums } from './energy.ts';
export {
  type Abort,
  type Bound,
  type EvaluateOptions,
  evaluate,
  type JudgedRun,
  type Outcome,
  type OutcomeParts,
} from './evaluate.ts';
