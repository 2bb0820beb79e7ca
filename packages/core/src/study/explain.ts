import { intervalStartMs } from '../axis/index.ts';
import { homeProblem, lastDays, likeDays, runStrategy, type Strategy, storedValue } from '../dispatch/index.ts';
import { preparePlant } from '../plant/index.ts';
import { VERSION } from './compare.ts';
import type { Study } from './home.ts';

/** What the battery did in one interval, and why. Energy in kWh at AC, money a kWh unrounded. */
export interface ExplainReport {
  readonly format: 'duskbank.explain/1';
  readonly version: string;
  readonly site: string;
  readonly strategy: string;
  readonly currency: string;
  readonly interval: { readonly start: string; readonly end: string; readonly index: number };
  readonly price: { readonly importPerKwh: number; readonly exportPerKwh: number; readonly window: string };
  readonly flows: {
    readonly loadKwh: number;
    readonly solarKwh: number;
    readonly importKwh: number;
    readonly exportKwh: number;
    readonly chargeKwh: number;
    readonly dischargeKwh: number;
    readonly curtailedKwh: number;
    readonly unservedKwh: number;
  };
  readonly stored: {
    readonly startKwh: number;
    readonly endKwh: number;
    readonly floorKwh: number;
    readonly capacityKwh: number;
  };
  /** One more kWh stored at the interval's start would have saved so much, everything after it known. */
  readonly valueOfStoredKwh: number;
  /** What a stored kWh costs or brings now: where each lies against its value decides. */
  readonly now: {
    readonly boughtCosts: number;
    readonly surplusCosts: number;
    readonly servingSaves: number;
    readonly sellingEarns: number;
  };
  readonly nextPeak: { readonly start: string; readonly importPerKwh: number; readonly window: string } | null;
  /** The next 24 h as the past days would have them; null on the first day. */
  readonly forecast: { readonly loadKwh: number; readonly solarKwh: number; readonly days: number } | null;
  /** Limits that the interval ran into. */
  readonly limits: readonly string[];
  /** What would have been best from the same stored energy on. */
  readonly bestInHindsight: { readonly chargeKwh: number; readonly dischargeKwh: number };
  readonly words: readonly string[];
}

/** Explains what a strategy did in interval `index` of the study's axis. */
export function explain(study: Study, strategy: Strategy, index: number): ExplainReport {
  const { home, site } = study;
  const { axis, tariff, plant, service, loadKwh, solarKwh } = home;
  const prepared = preparePlant(axis, loadKwh, solarKwh, plant, service);
  const { flows } = runStrategy(strategy, home, { prepared });
  const i = index;
  const iso = (at: number) => new Date(intervalStartMs(axis, 0) + at * axis.stepMinutes * 60_000).toISOString();
  const startKwh = i > 0 ? flows.socKwh[i - 1]! : plant.startKwh;
  const endKwh = flows.socKwh[i]!;
  const floorKwh = typeof plant.floorKwh === 'number' ? plant.floorKwh : plant.floorKwh[i]!;
  const importPerKwh = tariff.importPricePerKwh[i]!;
  const exportPerKwh = tariff.exportPricePerKwh[i]!;
  const value = storedValue(homeProblem(prepared, tariff), i, startKwh);
  const solarEfficiency = plant.coupling === 'dc' ? plant.solarChargeEfficiency : plant.chargeEfficiency;
  const now = {
    boughtCosts: importPerKwh / plant.chargeEfficiency,
    surplusCosts: exportPerKwh / solarEfficiency,
    servingSaves: importPerKwh * plant.dischargeEfficiency,
    sellingEarns: exportPerKwh * plant.dischargeEfficiency,
  };
  const did = {
    charge: flows.chargeKwh[i]!,
    discharge: flows.dischargeKwh[i]!,
    imported: flows.importKwh[i]!,
    exported: flows.exportKwh[i]!,
  };
  const h = axis.stepHours;
  const near = (a: number, b: number) => Number.isFinite(b) && Math.abs(a - b) <= 1e-6 * Math.max(1, Math.abs(b));
  const limits: string[] = [];
  if (did.charge > 0 && near(did.charge, plant.chargeLimitKw * h)) limits.push('charging power');
  if (did.discharge > 0 && near(did.discharge, plant.dischargeLimitKw * h)) limits.push('discharging power');
  if (near(endKwh, plant.capacityKwh)) limits.push('capacity: the store is full');
  if (near(endKwh, floorKwh)) limits.push('reserve floor');
  if (near(did.imported, service.importLimitKw * h)) limits.push('import limit of the service');
  if (did.exported > 0 && near(did.exported, service.exportLimitKw * h)) limits.push('export limit');
  const served = prepared.servedLimitKwh?.[i];
  if (served !== undefined && did.discharge > 0 && near(did.discharge, served)) limits.push('load within reach');
  const forecast = forecastAt(study, i);
  const peak = nextPeak(study, i);
  return {
    format: 'duskbank.explain/1',
    version: VERSION,
    site: site.name,
    strategy: strategy.name,
    currency: tariff.currency,
    interval: { start: iso(i), end: iso(i + 1), index: i },
    price: { importPerKwh, exportPerKwh, window: tariff.windows[tariff.window[i]!]?.name ?? '' },
    flows: {
      loadKwh: loadKwh[i]!,
      solarKwh: solarKwh[i]!,
      importKwh: did.imported,
      exportKwh: did.exported,
      chargeKwh: did.charge,
      dischargeKwh: did.discharge,
      curtailedKwh: flows.curtailedKwh[i]!,
      unservedKwh: flows.unservedKwh[i]!,
    },
    stored: { startKwh, endKwh, floorKwh, capacityKwh: plant.capacityKwh },
    valueOfStoredKwh: value.perKwh,
    now,
    nextPeak: peak === undefined ? null : { ...peak, start: iso(peak.index) },
    forecast,
    limits,
    bestInHindsight: { chargeKwh: value.chargeKwh, dischargeKwh: value.dischargeKwh },
    words: wordsFor(
      study,
      i,
      did,
      value,
      now,
      limits,
      tariff.terms.some((term) => term.kind !== 'fixed'),
    ),
  };
}

function nextPeak(study: Study, i: number): { index: number; importPerKwh: number; window: string } | undefined {
  const { axis, tariff } = study.home;
  const isPeak = (k: number) => tariff.windows[tariff.window[k]!]?.kind === 'peak';
  const end = Math.min(axis.intervals, i + Math.round(168 / axis.stepHours));
  for (let k = i + 1; k < end; k++)
    if (isPeak(k) && !isPeak(k - 1))
      return { index: k, importPerKwh: tariff.importPricePerKwh[k]!, window: tariff.windows[tariff.window[k]!]!.name };
  return undefined;
}

/** The mean of the like days' load and of the last days' sun: a day's worth. */
function forecastAt(study: Study, i: number): ExplainReport['forecast'] {
  const { axis, loadKwh, solarKwh } = study.home;
  const { day, days } = axis.calendar;
  const today = day[i]!;
  if (today === 0) return null;
  const total = (values: Float64Array, list: readonly number[]) => {
    let sum = 0;
    for (const d of list) {
      const { firstInterval, intervals } = days[d]!;
      for (let k = 0; k < intervals; k++) sum += values[firstInterval + k]! / list.length;
    }
    return sum;
  };
  const like = likeDays(axis, today, today, 7);
  return { loadKwh: total(loadKwh, like), solarKwh: total(solarKwh, lastDays(today, 7)), days: like.length };
}

function wordsFor(
  study: Study,
  i: number,
  did: { charge: number; discharge: number; imported: number; exported: number },
  value: { perKwh: number; chargeKwh: number; dischargeKwh: number },
  now: ExplainReport['now'],
  limits: readonly string[],
  bent: boolean,
): string[] {
  const { currency } = study.home.tariff;
  const price = (amount: number) => `${currency} ${amount.toFixed(4)}`;
  const kwh = (amount: number) => `${amount.toFixed(2)} kWh`;
  const { loadKwh, solarKwh } = study.home;
  const surplus = Math.max(0, solarKwh[i]! - loadKwh[i]!);
  const words: string[] = [];
  const worth = `A stored kWh was worth ${price(value.perKwh)}, as the rest of the year turned out`;
  if (did.charge > 1e-9) {
    const grid = Math.max(0, did.charge - surplus);
    const [source, cost] = grid > 1e-9 ? ['from the grid', now.boughtCosts] : ['from own surplus', now.surplusCosts];
    words.push(`It stored ${kwh(did.charge)} ${source}.`);
    words.push(
      `${worth}; storing one ${source} cost ${price(cost)}: ${cost <= value.perKwh + 1e-9 ? 'it paid' : 'it did not pay'}.`,
    );
  } else if (did.discharge > 1e-9) {
    const sold = did.exported > surplus + 1e-9;
    const gain = sold ? now.sellingEarns : now.servingSaves;
    words.push(`It gave ${kwh(did.discharge)}${sold ? ', part of it sold' : ' to the load'}.`);
    words.push(
      `${worth}; ${sold ? 'selling' : 'carrying load with'} one brought ${price(gain)}: ${gain >= value.perKwh - 1e-9 ? 'it paid' : 'keeping it would have brought more'}.`,
    );
  } else {
    words.push('It did nothing.');
    words.push(
      `${worth}; carrying load with one would have saved ${price(now.servingSaves)}, buying one would have cost ${price(now.boughtCosts)}.`,
    );
  }
  if (limits.length > 0) words.push(`What held it: ${limits.join('; ')}.`);
  const best = value.chargeKwh - value.dischargeKwh;
  const done = did.charge - did.discharge;
  if (Math.abs(best - done) > 0.005)
    words.push(
      `In hindsight, from the same stored energy, it would have been best to ${
        best > 1e-9 ? `store ${kwh(best)}` : best < -1e-9 ? `give ${kwh(-best)}` : 'do nothing'
      }.`,
    );
  else words.push('In hindsight nothing else would have been better.');
  if (bent)
    words.push('Value and hindsight count energy prices alone; blocks, demand charges and minimum bills are left out.');
  return words;
}
