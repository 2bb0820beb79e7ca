// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { lastDays } from './forecast/like-days.ts';
export { aHome, checkSameAxis, layHome } from './home.ts';
export { lookBack } from './optimum/hindsight.ts';
export { problemOf } from './optimum/home-problem.ts';
export { aStrategy, roleOf, someStrategies } from './registry.ts';
export { playStrategy } from './run.ts';
export { isSearched } from './settings/search.ts';
export { holdsIn, percentUp, reserveKwhOf, reserveLevelsKwh } from './settings/sheet.ts';
