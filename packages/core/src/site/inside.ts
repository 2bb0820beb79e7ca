// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.

export { plantOf } from './battery.ts';
export { hoursToFillBy } from './fill-hours.ts';
export { gapIssues } from './gap-issues.ts';
export { loadPrices } from './load-tariff.ts';
export { isSunUnseen } from './open-energy.ts';
export { anOrigin, recordOf } from './origin.ts';
export { isToCome, layPast, pastFlows } from './past.ts';
export { plannedOutages, retellPlanned } from './planned-outages.ts';
export { onPriceSteps } from './price-steps.ts';
export { aHome, aStudy } from './rules.ts';
export { readBytes } from './source.ts';
export { coversYear } from './study.ts';
export { checkPastInput } from './study-input.ts';
