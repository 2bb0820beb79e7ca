export type { Account } from './account.ts';
export { parseActualBills } from './actual-bills.ts';
export { billTariff } from './bill.ts';
export type { ActualBill, Cause } from './causes.ts';
export { type CompileOptions, compileTariff } from './compile.ts';
export type { Bill, BillingPeriod, BillLine, CompiledTariff, PeriodBill, WindowLabel } from './compiled.ts';
export { describeTariff, type PriceWeek, type TariffDescription } from './describe.ts';
export { billTotal, evaluateTerms, measuredKw, type TermValue } from './evaluate.ts';
export type { ServiceFlows, TermClock } from './flow-sums.ts';
export { type MarginalPrices, marginalPrices } from './marginal.ts';
export { parseTariff } from './parse.ts';
export { parsePriceSeries, seriesFiles } from './price-file.ts';
export { isDate, type ReconciledBill, type Reconciliation, reconcileBills } from './reconcile.ts';
export { accountSchema } from './schema/money.ts';
export { type TariffDocument, tariffSchema } from './schema/tariff.ts';
export { dateField } from './schema/time.ts';
export type { PriceSeries } from './series.ts';
export type { Tariff } from './tariff.ts';
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
