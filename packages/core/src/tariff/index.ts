export type { Bill, BillingPeriod, BillLine, CompiledTariff, PeriodBill, WindowLabel } from './compiled.ts';
export type {
  BillTerm,
  CarryTerm,
  CountedCharges,
  DemandTerm,
  FixedTerm,
  MinimumTerm,
  NettingTerm,
  RebateTerm,
  TierTerm,
} from './terms.ts';
