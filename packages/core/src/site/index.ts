export { parseSite } from './parse.ts';
export { SITE_FORMAT, type Site, siteSchema } from './schema.ts';
