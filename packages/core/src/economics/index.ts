export {
  type Economics,
  economicsSchema,
  type SavingsStretch,
  type SimplePayback,
  simplePayback,
  wearCostPerKwh,
} from './payback.ts';
