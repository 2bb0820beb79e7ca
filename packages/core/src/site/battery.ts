import { type Rule, report } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/issue.ts';
import type { Plant, PlantSection } from '../plant/index.ts';
import type { Site } from './schema.ts';

/** A battery of nothing: a home that has none yet. */
export const NO_BATTERY: Plant = {
  capacityKwh: 0,
  floorKwh: 0,
  shutdownKwh: 0,
  startKwh: 0,
  chargeLimitKw: 0,
  dischargeLimitKw: 0,
  chargeEfficiency: 1,
  dischargeEfficiency: 1,
  decayPerHour: 0,
  standbyW: 0,
  gridCharging: false,
  batteryExport: false,
  coupling: 'ac',
  inverterKw: 0,
  solarChargeEfficiency: 1,
  reach: 1,
};

const ISSUE: InputIssue = {
  code: 'no-battery',
  where: { path: ['plant'] },
  received: 'no battery',
  expected: 'the battery that the question is about',
  hint: 'state the one that you think of under "plant", as "duskbank init" shows it; a home without one is answered by "bill", by "compare" with --tariff, and by what "circuits" and "outage" can tell of the load',
};

/**
 * The battery that a site states.
 * @throws InputError `no-battery`, with what is answered without one
 */
export function plantOf({ plant }: Site): PlantSection {
  if (plant === undefined) throw new InputError([ISSUE]);
  return plant;
}

/** A study of a home that has a battery. */
export const withBattery: Rule = (value, _path, looking) => {
  const { site } = (value ?? {}) as { readonly site?: Site };
  const { code, expected, hint } = ISSUE;
  if (typeof site === 'object' && site !== null && site.plant === undefined)
    report(looking, ['plant'], code, undefined, expected, hint);
};
