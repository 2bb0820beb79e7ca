// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { billOf, givenAtStartKwh, startEnergyCharge } from './bill.ts';
export { aCase } from './case.ts';
export { anAbort } from './evaluate.ts';
export { startingFull } from './start.ts';
