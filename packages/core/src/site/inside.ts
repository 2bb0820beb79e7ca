// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { layPast, pastFlows } from './past.ts';
export { aStudy } from './rules.ts';
export { checkPastInput } from './study-input.ts';
