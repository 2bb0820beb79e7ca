// The strategies that come with the library: each is exported here, and its names are reserved here.
export { followPrices } from './follow-prices.ts';
export { optimum } from './optimum/hindsight.ts';
export { type PeakShaveOptions, peakShave } from './peak-shave.ts';
export { hold, none, selfConsumption } from './plain.ts';
export { type RollingOptions, rolling } from './rolling/rolling.ts';
export { type SearchedSettings, searchedSettings } from './settings/search.ts';
export { followSheet } from './settings/sheet.ts';
export { windowFill } from './window.ts';

/** Names of the strategies that come with the library: another's would be taken for one of them. */
export const RESERVED_STRATEGY_NAMES: readonly string[] = [
  'none',
  'hold',
  'self-consumption',
  'window',
  'peak-shave',
  'settings',
  'optimum',
  'optimum-wear',
  'follow-prices',
  'rolling',
  'rolling-wear',
  'rolling-forecast',
  'rolling-forecast-wear',
];
