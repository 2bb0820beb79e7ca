// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { mostAtOnce } from './carry.ts';
export { cautionsFor } from './cautions.ts';
export { circuitsDrawKwh, outdrawnMeter } from './circuits.ts';
export { keptForHours, takenByHours } from './floors.ts';
export { anIsland } from './island.ts';
export { sitingChecklist } from './siting.ts';
export { isEvening, percentilesOf } from './summary.ts';
export { rechargesOnAxis, unservedCurve } from './survival.ts';
