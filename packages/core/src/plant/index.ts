export {
  executeLevels,
  executeWithoutPlant,
  islanded,
  plantOnAxis,
  plantPerStep,
  startState,
} from './checked.ts';
export { type Flows, makeFlows, type RunState } from './flows.ts';
export type { IslandedPlant, IslandMargins } from './islanded.ts';
export { type Levels, makeLevels } from './levels.ts';
export type { Conversion, PlantOnAxis, PlantPerStep, Quantity, StepFlows } from './on-axis.ts';
export type { KnownFloor, Plant, Service } from './plant.ts';
export {
  CONTINUOUS_SHARE,
  hoursAtFullOutput,
  hoursToFill,
  type PowerLimit,
  powerLimits,
  resolvePlant,
  usableCapacityKwh,
} from './resolve.ts';
export { type PlantSection, plantSchema, type ServiceSection, serviceSchema } from './schema.ts';
