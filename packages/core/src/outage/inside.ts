// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { feederLegVa, hasLegs, mostAtOnce, namesLegs, strictestFirst } from './carry.ts';
export { cautionsFor } from './cautions.ts';
export { circuitsDrawKwh, neutralPartner, outdrawnMeter } from './circuits.ts';
export { coldMonths, hasWarmHours, isTooCold, reserveInCold, storedAtStart } from './cold-floors.ts';
export { afterAnother, endMsOf, startMsOf, takenByHours } from './floors.ts';
export { hoursOfRuns } from './hours.ts';
export { anIsland, coldSteps } from './island.ts';
export { joinPlanned } from './joined.ts';
export { minuteOf } from './minute-of.ts';
export { checkBusbar } from './panel.ts';
export { publishedReliability, rulesOf } from './reliability.ts';
export { sitingChecklist } from './siting.ts';
export { eveningStarts, isEvening, leastSettled, percentilesOf, settledFrom } from './summary.ts';
export { rechargesOnAxis, unservedCurve, worstMonth } from './survival.ts';
