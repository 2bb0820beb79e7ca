export {
  clearFlows,
  executeLevels,
  executeWithoutPlant,
  type Flows,
  makeFlows,
  type PreparedPlant,
  preparePlant,
  type RunState,
  startState,
} from './execute.ts';
export { type Levels, makeLevels, resetLevels } from './levels.ts';
export type { Plant, Service } from './plant.ts';
export {
  CONTINUOUS_SHARE,
  hoursAtFullOutput,
  hoursToFill,
  type PowerLimit,
  powerLimits,
  resolvePlant,
  resolveService,
  usableCapacityKwh,
} from './resolve.ts';
export { type PlantSection, plantSchema, type ServiceSection, serviceSchema } from './schema.ts';
