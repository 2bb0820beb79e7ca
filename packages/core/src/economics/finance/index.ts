export { type InternalRate, internalRateOfReturn } from './internal-rate.ts';
export { annuity, borrowedWithFee, type LoanPayment } from './loan.ts';
export { type PaybackTime, paybackTime } from './payback-time.ts';
export { capitalRecoveryFactor, equivalentAnnual, presentValue } from './present-value.ts';
