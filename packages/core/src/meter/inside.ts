// For the other folders of core: rules for the door.
export { meteredSeries, someFindings } from './rules.ts';
export { meterFileSchema, meterSourceSchema } from './schema.ts';
