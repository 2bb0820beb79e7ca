// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { billedFlows } from './billed.ts';
export { riseAhead } from './floor-ahead.ts';
export { lastDays } from './forecast/like-days.ts';
export { aHome, arraysOf, checkSameAxis, layHome, sameAxis } from './home.ts';
export { roleOf } from './identity.ts';
export { lookBack, problemApart } from './optimum/hindsight.ts';
export { problemOf } from './optimum/home-problem.ts';
export { playStrategy } from './play.ts';
export { aStrategy, someStrategies } from './rules.ts';
export { tieOf } from './settings/choose.ts';
export type { Apart } from './settings/halves.ts';
export { isSearched } from './settings/search.ts';
export {
  holdsAllAtStart,
  holdsIn,
  inWindow,
  isFollower,
  limitsPower,
  percentUp,
  reserveKwhOf,
  reserveLevelsKwh,
} from './settings/sheet.ts';
