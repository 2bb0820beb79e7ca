export { type Economics, economicsSchema, type SimplePayback, simplePayback } from './payback.ts';
