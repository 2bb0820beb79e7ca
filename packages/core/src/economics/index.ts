export * from './ageing/index.ts';
export * from './finance/index.ts';
export {
  type Economics,
  economicsSchema,
  type SavingsStretch,
  type SimplePayback,
  simplePayback,
} from './payback.ts';
export { type Wear, wearOf } from './wear.ts';
