// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { readActualBills, someDataDays } from './actual-bills.ts';
export { type BlockAt, blocksAt, pricedAtBlocks } from './blocks-at.ts';
export { compileOptions, edgesInside, layTariff } from './compile.ts';
export { toCents } from './currency.ts';
export { asStated } from './describe.ts';
export { totalOf, valuesOf } from './evaluate.ts';
export { aTariff } from './parsed.ts';
export { readPriceSeries } from './price-file.ts';
export { aCompiledTariff } from './rules.ts';
export { seriesNamed } from './series.ts';
export { fixedTotal } from './terms/fixed.ts';
export { someTerms } from './terms/rules.ts';
export { priceQuestions } from './usual-prices.ts';
export { whereIn } from './warnings.ts';
export type { DataDays } from './yearless-dates.ts';
