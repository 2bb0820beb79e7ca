export type { Account } from './account.ts';
export { parseActualBills } from './actual-bills.ts';
export { billTariff } from './bill/bill.ts';
export type { Bill, BillLine, PeriodBill } from './bill/result.ts';
export type { ActualBill } from './causes.ts';
export { type CompileOptions, compileTariff } from './compile.ts';
export type { BillingPeriod, CompiledTariff, WindowLabel } from './compiled.ts';
export { describeTariff, type PriceWeek, type TariffDescription } from './describe.ts';
export { billTotal, evaluateTerms } from './evaluate.ts';
export type { TermClock } from './flow-sums.ts';
export type { ServiceFlows } from './flows.ts';
export { type MarginalPrices, marginalPrices } from './marginal.ts';
export { parseTariff } from './parse.ts';
export { parsePriceSeries } from './price-file.ts';
export {
  type BillVerdict,
  isDate,
  type ReconciledBill,
  type ReconciledTotal,
  type Reconciliation,
  reconcileBills,
} from './reconcile.ts';
export { accountSchema } from './schema/account.ts';
export { type TariffDocument, tariffSchema } from './schema/tariff.ts';
export { dateField } from './schema/time.ts';
export { type PriceSeries, seriesFiles } from './series.ts';
export type { Tariff } from './tariff.ts';
export type { CarryTerm, CarryValue } from './terms/carry.ts';
export type { DemandTerm, DemandValue } from './terms/demand.ts';
export type { FixedTerm } from './terms/fixed.ts';
export type { MinimumTerm, MinimumValue } from './terms/minimum.ts';
export type { NettingTerm, NettingValue } from './terms/netting.ts';
export type { RebateTerm, RebateValue } from './terms/rebate.ts';
export type { BillTerm, TermValue } from './terms/registry.ts';
export type { CountedCharges } from './terms/term.ts';
export type { TierTerm, TierValue } from './terms/tier.ts';
