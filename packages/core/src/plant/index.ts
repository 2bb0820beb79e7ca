export { type Levels, makeLevels } from './levels.ts';
export type { Plant, Service } from './plant.ts';
