// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { wearOfFull } from './wear.ts';
