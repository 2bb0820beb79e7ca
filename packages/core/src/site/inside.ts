// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { readBytes } from './load.ts';
export { anOrigin, recordOf } from './origin.ts';
export { layPast, pastFlows } from './past.ts';
export { aStudy } from './rules.ts';
export { checkPastInput } from './study-input.ts';
