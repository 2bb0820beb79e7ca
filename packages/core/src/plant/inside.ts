// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { executeLevels, executeWithoutPlant } from './execute.ts';
export { clearFlows, type RunState, startState } from './flows.ts';
export { islandDrawKwh, islanded, RESIDUE_KWH, startingKwh } from './islanded.ts';
export { firstBadLevel, resetLevels } from './levels.ts';
export {
  arrayOf,
  copyQuantity,
  cutQuantity,
  highest,
  layFlows,
  makeStepFlows,
  plantOnAxis,
  plantPerStep,
  quantityAt,
  reachesAll,
} from './on-axis.ts';
export { islandOutputKw } from './plant.ts';
export { deliverableKwh, resolveService } from './resolve.ts';
export { amount, aPlant, efficiency, energies, storesSomething } from './rules.ts';
export { aPlantOnAxis, aService, flowsOfLength, levelsOfLength } from './run-rules.ts';
export { unitFigures } from './schema.ts';
export { type LimitPassed, raiseToMetered } from './service.ts';
export { checkApart } from './work-arrays.ts';
