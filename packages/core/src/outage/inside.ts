// For the other folders of core: rules for the door, and forms for loops that check nothing.
export { cautionsFor } from './cautions.ts';
export { circuitsDrawKwh } from './circuits.ts';
export { aCircuit } from './rules.ts';
export { sitingChecklist } from './siting.ts';
export { isEvening, percentilesOf } from './summary.ts';
export { rechargesOnAxis, unservedCurve } from './survival.ts';
