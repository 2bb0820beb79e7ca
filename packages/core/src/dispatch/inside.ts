// For the other folders of core: rules for the door, and forms for loops that check nothing.
export { lastDays } from './forecast/like-days.ts';
export { aHome, layHome } from './home.ts';
export { lookBack } from './optimum/hindsight.ts';
export { problemOf } from './optimum/home-problem.ts';
export { aStrategy, roleOf, someStrategies } from './registry.ts';
export { playStrategy } from './run.ts';
export { isSearched } from './settings/search.ts';
export { holdsIn, reserveKwhOf } from './settings/sheet.ts';
