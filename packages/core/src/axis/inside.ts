// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { anAxis, anInterval, MAX_INTERVALS, startMsOf } from './axis.ts';
export { aDate } from './civil-day.ts';
export { aZone } from './zone.ts';
