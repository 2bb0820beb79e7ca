export { type Economics, economicsSchema, type SimplePayback, simplePayback, wearCostPerKwh } from './payback.ts';
