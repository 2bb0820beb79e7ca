/**
 * A panel of invented homes with known truth, from seeds: the same on every machine.
 *
 * - `generateHome(seed)`: load, solar, import, export of a home, kWh an interval.
 * - `generateTariff(seed, home)`: a tariff document, with what the account and its files must hold for it.
 * - `generateSite(seed)`: a site document with its files, for `loadSite(site.path, site.read)`.
 * - `tellings(home)`: the same home as portals, meters and monitors would write it down.
 */
export { type Dice, diceOf } from './dice.ts';
export { type GeneratedHome, generateHome, type HomeWishes } from './home.ts';
export { intervalCsv, meteredColumns } from './meter-file.ts';
export { type GeneratedSite, generateSite, readerOf, retold } from './site.ts';
export { generateTariff, type Json } from './tariff.ts';
export { hourlyTelling, type Telling, tellings } from './tellings.ts';
