export {
  clearFlows,
  executeLevels,
  executeWithoutPlant,
  type Flows,
  makeFlows,
  type RunState,
  startState,
} from './execute.ts';
export { type IslandedPlant, type IslandMargins, islanded, startingKwh } from './islanded.ts';
export { type Levels, makeLevels, resetLevels } from './levels.ts';
export {
  type Conversion,
  copyQuantity,
  layFlows,
  makeStepFlows,
  type PlantOnAxis,
  type PlantPerStep,
  plantOnAxis,
  plantPerStep,
  type Quantity,
  quantityAt,
  reachesAll,
  type StepFlows,
} from './on-axis.ts';
export type { Plant, Service } from './plant.ts';
export {
  CONTINUOUS_SHARE,
  deliverableKwh,
  hoursAtFullOutput,
  hoursToFill,
  islandOutputKw,
  type PowerLimit,
  powerLimits,
  resolvePlant,
  resolveService,
  usableCapacityKwh,
} from './resolve.ts';
export { type PlantSection, plantSchema, type ServiceSection, serviceSchema } from './schema.ts';
export { type LimitPassed, raiseToMetered } from './service.ts';
