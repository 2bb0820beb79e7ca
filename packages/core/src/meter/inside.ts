// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.
export { meteredSeries, someFindings } from './rules.ts';
export { meterFileSchema, meterSourceSchema } from './schema.ts';
export { kw, readingsAboveService, SERVICE_KW } from './service.ts';
export { type SettledChannels, settleChannels } from './settle.ts';
export { stopsStudy } from './stops.ts';
