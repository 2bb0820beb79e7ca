export type { Bill, BillingPeriod, BillLine, CompiledTariff, PeriodBill, WindowLabel } from './compiled.ts';
export type {
  BillTerm,
  DemandTerm,
  FixedTerm,
  MinimumTerm,
  NettingTerm,
  PercentTerm,
  TierTerm,
} from './terms.ts';
