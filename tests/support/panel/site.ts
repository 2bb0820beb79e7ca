import { type Dice, diceOf } from './dice.ts';
import { type GeneratedHome, generateHome, type HomeWishes } from './home.ts';
import { intervalCsv } from './meter-file.ts';
import { type GeneratedTariff, generateTariff, type Json, type TariffWishes } from './tariff.ts';

/** A site with all its files in memory: `loadSite(site.path, site.read)` reads it. */
export interface GeneratedSite {
  readonly seed: number;
  readonly path: string;
  readonly document: Json;
  readonly home: GeneratedHome;
  readonly tariff: GeneratedTariff;
  /** Text by path. */
  readonly files: Readonly<Record<string, string>>;
  readonly read: (path: string) => Uint8Array;
}

/** What may be set instead of thrown. */
export interface SiteWishes {
  readonly home?: HomeWishes;
  readonly tariff?: TariffWishes;
}

/** Reads from files in memory, and throws as a file system does where there is none. */
export function readerOf(files: Readonly<Record<string, string>>): (path: string) => Uint8Array {
  return (path) => {
    const text = files[path];
    if (text === undefined) throw Object.assign(new Error(`no such file: ${path}`), { code: 'ENOENT' });
    return new TextEncoder().encode(text);
  };
}

/** The same site with some of its files, or all of its site document's fields named, replaced. */
export function retold(
  site: GeneratedSite,
  change: { document?: Json; tariff?: Json; files?: Readonly<Record<string, string>> },
): GeneratedSite {
  const document = { ...site.document, ...change.document };
  const files = {
    ...site.files,
    ...change.files,
    'site.json': JSON.stringify(document),
    ...(change.tariff === undefined ? {} : { 'tariff.json': JSON.stringify(change.tariff) }),
  };
  return { ...site, document, files, read: readerOf(files) };
}

/** A home, its tariff and its battery from one seed, told in our own interval format. */
export function generateSite(seed: number, wishes: SiteWishes = {}): GeneratedSite {
  const dice = diceOf(seed, 'site');
  const home = generateHome(seed, wishes.home);
  const tariff = generateTariff(seed, home, wishes.tariff);
  const files: Record<string, string> = {
    'home.csv': intervalCsv(home),
    'tariff.json': JSON.stringify(tariff.document),
    ...tariff.files,
  };
  const { plant, usableKwh } = plantOf(dice, home, files);
  const document: Json = {
    format: 'duskbank.site/1',
    name: `Panel home ${seed}`,
    zone: home.zone,
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    ...(Object.keys(tariff.account).length > 0 ? { account: tariff.account } : {}),
    plant,
    ...serviceOf(dice),
    ...backupOf(dice, usableKwh, plant),
  };
  files['site.json'] = JSON.stringify(document);
  return { seed, path: 'site.json', document, home, tariff, files, read: readerOf(files) };
}

function plantOf(dice: Dice, home: GeneratedHome, files: Record<string, string>) {
  const units = dice.whole(1, 3);
  const usableKwh = dice.decimal(2, 13.5, 1);
  const battery: Json = {
    units,
    usableKwh,
    chargeKw: dice.decimal(0.8, 5, 1),
    dischargeKw: dice.decimal(0.8, 7, 1),
    ...(dice.chance(0.5)
      ? { roundTripEfficiency: dice.decimal(0.75, 1, 2) }
      : { chargeEfficiency: dice.decimal(0.85, 1, 2), dischargeEfficiency: dice.decimal(0.85, 1, 2) }),
    ...(dice.chance(0.5) ? { decayPerMonth: dice.decimal(0, 0.1, 3) } : {}),
    ...(dice.chance(0.5) ? { standbyW: dice.whole(1, 40) } : {}),
  };
  let eachKwh = usableKwh;
  if (dice.chance(0.2)) {
    battery.modules = { perUnit: 1, maxPerUnit: 2, usableKwh: 3.2, addsChargeKw: 0.5, addsDischargeKw: 0.3 };
    eachKwh += 3.2;
  }
  const capacityKwh = units * eachKwh;
  const coupling = dice.chance(0.3) ? 'dc' : 'ac';
  const plant: Json = { battery, coupling };
  if (coupling === 'dc')
    plant.inverter = { continuousKw: dice.decimal(1.5, 7, 1), efficiency: dice.decimal(0.92, 0.99, 2) };
  else if (dice.chance(0.3)) plant.inverter = { continuousKw: dice.decimal(1, 7, 1) };
  if (dice.chance(0.3)) plant.breaker = { ampere: dice.pick([15, 20, 30]), volt: dice.pick([120, 240]) };
  if (dice.chance(0.15)) plant.chargingCord = { ampere: 15, volt: 120 };
  const floor = dice.pick([0, 0.1, 0.2, 0.3, 0.8]);
  if (floor > 0)
    plant.floor = dice.chance(0.5) ? { share: floor } : { kwh: Math.round(floor * capacityKwh * 100) / 100 };
  if (floor > 0 && dice.chance(0.6)) plant.shutdown = { share: dice.pick([0.05, 0.08]) };
  if (dice.chance(0.2)) plant.startShare = dice.pick([plant.shutdown === undefined ? 0 : 0.1, 0.5, 1]);
  if (dice.chance(0.25)) plant.gridCharging = false;
  const sells = dice.chance(0.3);
  const reachesAll = sells || !dice.chance(0.3);
  if (sells) plant.batteryExport = true;
  if (!reachesAll) {
    if (dice.chance(0.5)) plant.reach = { share: dice.decimal(0.2, 1, 2) };
    else {
      const share = dice.between(0.2, 0.9);
      const reachKwh = Float64Array.from(home.loadKwh, (kwh) => Math.floor(kwh * share * 1000) / 1000);
      files['reach.csv'] = intervalCsv(home, { loadKwh: reachKwh });
      plant.reach = { file: 'reach.csv', column: 'load_kwh' };
    }
  }
  return { plant, usableKwh: capacityKwh };
}

function serviceOf(dice: Dice): Json {
  if (dice.chance(0.6)) return {};
  const importLimitKw = dice.chance(0.5) ? dice.decimal(2, 12, 1) : undefined;
  const exportLimitKw = dice.chance(0.6) ? dice.pick([0, 1.5, 3, 5]) : undefined;
  return {
    service: {
      ...(importLimitKw === undefined ? {} : { importLimitKw }),
      ...(exportLimitKw === undefined ? {} : { exportLimitKw }),
      // Some are still to come, whenever the data are from.
      ...(exportLimitKw === 1.5 ? { from: '2099-01-01' } : {}),
    },
  };
}

function backupOf(dice: Dice, capacityKwh: number, plant: Json): Json {
  // When the grid is down no more hangs on the battery than what it reaches.
  const most = Number((plant.reach as Json | undefined)?.share ?? 1);
  if (dice.chance(0.3)) return {};
  const backup: Json = {};
  if (dice.chance(0.7))
    backup.load = dice.chance(0.5)
      ? { share: Math.min(most, dice.decimal(0.1, 1, 2)) }
      : { watts: dice.whole(80, 900) };
  if (dice.chance(0.4)) backup.solarOnIsland = dice.chance(0.7);
  if (dice.chance(0.2)) backup.solarLimitKw = dice.decimal(1, 5, 1);
  if (dice.chance(0.2)) backup.margin = { fadeShare: dice.decimal(0, 0.3, 2), gaugeShare: dice.decimal(0, 0.05, 2) };
  if (dice.chance(0.2)) backup.cold = { limitC: 0, lowsC: [-8, -6, -2, 1, 5, 9, 12, 11, 7, 2, -1, -6] };
  if (dice.chance(0.25)) {
    const reserve: Json = {};
    if (dice.chance(0.6)) reserve.byMonth = [{ months: [12, 1, 2, 6, 7], share: dice.pick([0.4, 0.6, 1]) }];
    if (dice.chance(0.6)) reserve.byHour = [{ from: '21:00', to: '06:00', share: dice.pick([0.3, 0.5]) }];
    if (Object.keys(reserve).length > 0) backup.reserve = reserve;
  }
  return capacityKwh > 0 && Object.keys(backup).length > 0 ? { backup } : {};
}
