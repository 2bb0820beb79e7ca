// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { anAxis, anInterval, offsetMinutesIn, startMsOf } from './axis.ts';
export { aDate } from './civil-day.ts';
export { axisSteps, MAX_INTERVALS } from './steps.ts';
export { aZone, instantAtLocal, localMs, zoneOffsetMinutes } from './zone.ts';
