// For the other folders of core: rules for the door, and forms for loops that check nothing.
export { anAxis, anInterval, MAX_INTERVALS, startMsOf } from './axis.ts';
export { aDate } from './civil-day.ts';
export { aZone } from './zone.ts';
