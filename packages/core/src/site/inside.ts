// For the other folders of core: rules for the door.
export { aStudy } from './rules.ts';
