// For the other folders of core: rules for the door, and forms for loops that check nothing.
export { clearFlows, executeLevels, executeWithoutPlant, startState } from './execute.ts';
export { islanded, startingKwh } from './islanded.ts';
export { firstBadLevel, resetLevels } from './levels.ts';
export {
  copyQuantity,
  layFlows,
  plantOnAxis,
  plantPerStep,
  quantityAt,
  reachesAll,
} from './on-axis.ts';
export { deliverableKwh, islandOutputKw, resolveService } from './resolve.ts';
export {
  amount,
  aPlant,
  aPlantOnAxis,
  aService,
  efficiency,
  energies,
  flowsOfLength,
  levelsOfLength,
  someFlows,
} from './rules.ts';
