import { type LoadedSite, loadSite } from '@duskbank/core/site';
import { type GeneratedSite, generateSite, type HomeWishes, type Json, retold } from './panel/index.ts';

/** Where and when the homes stand: clock changes both ways, north and south, a turn of the year, a leap day. */
const STRETCHES: readonly HomeWishes[] = [
  { days: 16, stepMinutes: 60 },
  { days: 12, stepMinutes: 30, zone: 'Europe/Berlin', firstDate: '2026-03-24' },
  { days: 9, stepMinutes: 15, zone: 'America/Denver', firstDate: '2025-10-29' },
  { days: 21, stepMinutes: 60, zone: 'Australia/Lord_Howe', firstDate: '2026-03-28' },
  { days: 14, stepMinutes: 30, zone: 'Pacific/Auckland', firstDate: '2025-09-20', solar: true },
  { days: 10, stepMinutes: 60, zone: 'America/St_Johns', firstDate: '2024-02-24' },
  { days: 17, stepMinutes: 60, zone: 'America/New_York', firstDate: '2025-12-22', solar: true },
  { days: 40, stepMinutes: 60, zone: 'Asia/Kolkata', firstDate: '2026-06-10', solar: true },
];

/** What a site has beside what the panel makes: circuits, a panel, planned outages, a price, a controller. */
const MORE: readonly ((site: Json) => Json)[] = [
  () => ({}),
  () => ({ economics: { price: 9000, covers: 'two units, installed', rebate: 500, cycleLife: 6000 } }),
  ({ backup }) => ({
    backup: { ...(backup as Json), circuits: CIRCUITS, panel: { mainAmps: 150, dwelling: { floorAreaSqFt: 1800 } } },
    economics: { price: 5200, covers: 'one unit', calendarYears: 12, calendarYearsFull: 9, warrantyYears: 10 },
  }),
  ({ plant }) => ({ plant: { ...(plant as Json), controller: { windowsPerDay: 2, weekends: true } } }),
];

/** Motors, a medical load, one that runs at hours, one of winter, both legs and across them. */
export const CIRCUITS: readonly Json[] = [
  { name: 'Breathing machine', watts: 90, leg: 'L1', priority: 1, medical: true, neverShed: true },
  { name: 'Fridge', watts: 140, lockedRotorAmps: 11, leg: 'L2', priority: 2, sharedNeutralWith: 'Kitchen' },
  { name: 'Kitchen', watts: 400, leg: 'L1', priority: 3, hours: { from: '17:00', to: '22:00' } },
  { name: 'Well pump', watts: 1100, lockedRotorAmps: 38, leg: '240', priority: 4 },
  { name: 'Heater', watts: 900, leg: 'L2', priority: 5, months: [11, 12, 1, 2, 3] },
];

/** A site of the panel with more than the panel gives it, made from a seed: the same on every machine. */
export function keptSite(seed: number): GeneratedSite {
  const site = generateSite(seed, { home: STRETCHES[seed % STRETCHES.length]! });
  return retold(site, { document: MORE[Math.floor(seed / 3) % MORE.length]!(site.document) });
}

/** A kept site, read. */
export function loadedSite(seed: number): Promise<LoadedSite> {
  const site = keptSite(seed);
  return loadSite(site.path, site.read);
}

/** Whole numbers from `from` on. */
export const seedsFrom = (from: number, count: number): number[] => Array.from({ length: count }, (_, k) => from + k);
