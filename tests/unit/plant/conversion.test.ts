import { makeAxis } from '@duskbank/core/axis';
import {
  executeLevels,
  type Levels,
  makeFlows,
  makeLevels,
  type Plant,
  plantOnAxis,
  resolvePlant,
  type Service,
  startState,
} from '@duskbank/core/plant';
import { describe, expect, test } from 'vitest';
import { openService } from '../../support/homes.ts';
import { plainPlant } from '../../support/homes-plain.ts';

const FULL = Number.POSITIVE_INFINITY;

interface Step {
  readonly load?: number;
  readonly solar?: number;
  readonly plant?: Partial<Plant>;
  readonly service?: Partial<Service>;
  /** Levels of the step; left out: self-consumption. */
  readonly levels?: { readonly [Name in keyof Levels]?: number };
}

/**
 * One step of an hour, in kWh: a battery of 10 kWh with 5 in it, 5 kW each way, 80 % each way, that draws 0.1 kW while it
 * converts.
 */
function step({ load = 0, solar = 0, plant, service, levels: told = {} }: Step) {
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 1, zone: 'Etc/UTC' });
  const home = plainPlant({
    capacityKwh: 10,
    startKwh: 5,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    chargeEfficiency: 0.8,
    dischargeEfficiency: 0.8,
    conversionW: 100,
    ...plant,
  });
  const onAxis = plantOnAxis(home, axis, Float64Array.of(load), Float64Array.of(solar), { ...openService, ...service });
  const levels = makeLevels(1);
  for (const [name, level] of Object.entries(told)) levels[name as keyof Levels][0] = level;
  const flows = makeFlows(1);
  executeLevels(onAxis, levels, 0, 1, startState(onAxis), flows);
  const told12 = (value: number) => Number(value.toPrecision(12));
  return {
    bought: told12(flows.importKwh[0]!),
    sold: told12(flows.exportKwh[0]!),
    charge: told12(flows.chargeKwh[0]!),
    discharge: told12(flows.dischargeKwh[0]!),
    curtailed: told12(flows.curtailedKwh[0]!),
    unserved: told12(flows.unservedKwh[0]!),
    stored: told12(flows.socKwh[0]!),
  };
}

const none = { bought: 0, sold: 0, charge: 0, discharge: 0, curtailed: 0, unserved: 0, stored: 5 };

describe('the draw of converting', () => {
  test('is carried by discharge like load: 1 kWh of load takes 1.1 kWh out of it', () => {
    // 5 − 1.1 ÷ 0.8
    expect(step({ load: 1 })).toEqual({ ...none, discharge: 1.1, stored: 3.625 });
  });

  test('is taken from own surplus before any of that is stored', () => {
    // 2 − 0.1 are left: 5 + 1.9 · 0.8
    expect(step({ solar: 2 })).toEqual({ ...none, charge: 1.9, stored: 6.52 });
    // At the power limit there is enough for both: 6 − 5 − 0.1 are sold.
    expect(step({ solar: 6 })).toEqual({ ...none, charge: 5, sold: 0.9, stored: 9 });
  });

  test('is bought where the battery is filled from the grid', () => {
    expect(step({ load: 1, levels: { gridChargeToKwh: 7.4 } })).toEqual({
      ...none,
      charge: 3,
      bought: 4.1,
      stored: 7.4,
    });
  });

  test('is bought where the level lets no more be given, and nothing is taken from below it', () => {
    // Down to 4.5 are 0.4 kWh at AC: 1 + 0.1 − 0.4 are bought.
    expect(step({ load: 1, levels: { serveDownToKwh: 4.5 } })).toEqual({
      ...none,
      discharge: 0.4,
      bought: 0.7,
      stored: 4.5,
    });
  });

  test('is not drawn while nothing passes', () => {
    expect(step({ load: 1, levels: { serveDownToKwh: FULL } })).toEqual({ ...none, bought: 1 });
    expect(step({ solar: 2, levels: { solarChargeToKwh: 5 } })).toEqual({ ...none, sold: 2 });
  });

  test('comes on top of standby', () => {
    expect(step({ load: 1, plant: { standbyW: 50 } })).toEqual({ ...none, discharge: 1.15, stored: 5 - 1.4375 });
    expect(step({ load: 1, plant: { standbyW: 50 }, levels: { serveDownToKwh: FULL } })).toEqual({
      ...none,
      bought: 1.05,
    });
  });
});

describe('a step converts only where that moves more than its draw', () => {
  test('surplus of up to twice the draw is sold: what is left of it beside the draw is no more than that', () => {
    expect(step({ solar: 0.2 })).toEqual({ ...none, sold: 0.2 });
    expect(step({ solar: 0.25 })).toEqual({ ...none, charge: 0.15, stored: 5.12 });
  });

  test('a surplus smaller than the draw doesn’t make it discharge for itself', () => {
    expect(step({ solar: 0.05 })).toEqual({ ...none, sold: 0.05 });
  });

  test('what little is left above the level stays there', () => {
    // 0.08 kWh at AC would be less than the draw.
    expect(step({ load: 1, levels: { serveDownToKwh: 4.9 } })).toEqual({ ...none, bought: 1 });
  });

  test('what little is missing to the level is not bought', () => {
    expect(step({ levels: { gridChargeToKwh: 5.08 } })).toEqual(none);
    expect(step({ levels: { gridChargeToKwh: 5.12 } })).toEqual({ ...none, charge: 0.15, bought: 0.25, stored: 5.12 });
  });

  test('but what is missing to the floor is, however little', () => {
    expect(step({ plant: { floorKwh: 5.04 } })).toEqual({ ...none, charge: 0.05, bought: 0.15, stored: 5.04 });
    // Without the grid the sun must do more than carry the draw.
    const sunOnly = { floorKwh: 5.04, gridCharging: false };
    expect(step({ plant: sunOnly, solar: 0.12 })).toEqual({ ...none, charge: 0.02, stored: 5.016 });
    expect(step({ plant: sunOnly, solar: 0.1 })).toEqual({ ...none, sold: 0.1 });
  });
});

describe('the limits hold with it', () => {
  test('buying leaves room for it under the import limit and under a cap', () => {
    const filling = { load: 1, levels: { gridChargeToKwh: FULL } };
    const expected = { ...none, charge: 1.9, bought: 3, stored: 6.52 };
    expect(step({ ...filling, service: { importLimitKw: 3 } })).toEqual(expected);
    expect(step({ ...filling, levels: { ...filling.levels, importCapKw: 3 } })).toEqual(expected);
    // No room for the draw: nothing is bought, and no load goes unserved for it.
    expect(
      step({ ...filling, service: { importLimitKw: 1.05 }, levels: { gridChargeToKwh: FULL, serveDownToKwh: FULL } }),
    ).toEqual({ ...none, bought: 1 });
  });

  test('a cap is held with it: 0.5 kWh over the cap take 0.6 out of the battery', () => {
    expect(step({ load: 2, levels: { serveDownToKwh: FULL, importCapKw: 1.5 } })).toEqual({
      ...none,
      discharge: 0.6,
      bought: 1.5,
      stored: 4.25,
    });
    // Its own draw is no reason to go below the level.
    expect(step({ load: 1.5, levels: { serveDownToKwh: FULL, importCapKw: 1.5 } })).toEqual({ ...none, bought: 1.5 });
  });

  test('load goes unserved by what limit and battery lack, never by more for the draw', () => {
    const short = { load: 4, service: { importLimitKw: 2 } };
    // 1 kWh at 80 %: 0.8 given, 0.1 of them for itself.
    expect(step({ ...short, plant: { startKwh: 1 } })).toEqual({
      ...none,
      discharge: 0.8,
      bought: 2,
      unserved: 1.3,
      stored: 0,
    });
    // 0.08 kWh wouldn't carry the draw.
    expect(step({ ...short, plant: { startKwh: 0.1 } })).toEqual({ ...none, bought: 2, unserved: 2, stored: 0.1 });
  });

  test('discharge stays within power and reach, the draw counted to the reached load as standby is', () => {
    expect(step({ load: 8 })).toEqual({ ...none, discharge: 4, bought: 4.1, stored: 0 });
    expect(step({ load: 3, plant: { dischargeLimitKw: 2 } })).toEqual({
      ...none,
      discharge: 2,
      bought: 1.1,
      stored: 2.5,
    });
    expect(step({ load: 2, plant: { reach: 0.5 } })).toEqual({ ...none, discharge: 1.1, bought: 1, stored: 3.625 });
  });

  test('what is sold fills the export limit, and the draw comes on top', () => {
    const selling = { plant: { batteryExport: true }, levels: { solarChargeToKwh: 0, exportDownToKwh: 0 } };
    expect(step({ ...selling, service: { exportLimitKw: 1 } })).toEqual({
      ...none,
      discharge: 1.1,
      sold: 1,
      stored: 3.625,
    });
    expect(step({ ...selling, solar: 0.5, service: { exportLimitKw: 1 } })).toEqual({
      ...none,
      discharge: 0.6,
      sold: 1,
      stored: 4.25,
    });
  });

  test('what can’t be sold carries the draw and is stored; too little for that is lost', () => {
    const refused = { levels: { solarChargeToKwh: 0 }, service: { exportLimitKw: 1 } };
    expect(step({ ...refused, solar: 2 })).toEqual({ ...none, charge: 0.9, sold: 1, stored: 5.72 });
    expect(step({ ...refused, solar: 1.15 })).toEqual({ ...none, curtailed: 0.15, sold: 1 });
  });

  test('clipped sun is stored, the draw carried at AC, where the service lets it', () => {
    const dc: Partial<Plant> = { coupling: 'dc', inverterKw: 3, solarChargeEfficiency: 0.8 };
    // 3 of 4 kWh pass the inverter, for 3 kWh of load; the draw is bought.
    expect(step({ load: 3, solar: 4, plant: dc })).toEqual({ ...none, charge: 1, bought: 0.1, stored: 5.8 });
    expect(step({ load: 3, solar: 4, plant: dc, service: { importLimitKw: 0.05 } })).toEqual({ ...none, curtailed: 1 });
    expect(step({ load: 3, solar: 3.1, plant: dc })).toEqual({ ...none, curtailed: 0.1 });
  });
});

test('the site file says it for one unit, and 0 where it says nothing', () => {
  const battery = { units: 2, usableKwh: 5, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 0.9 };
  const section = (more: object) =>
    ({
      battery: { ...battery, decayPerMonth: 0, standbyW: 0, ...more },
      coupling: 'ac',
      floor: {},
      shutdown: {},
      gridCharging: true,
      batteryExport: false,
      reach: 'whole-home',
    }) as Parameters<typeof resolvePlant>[0];
  expect(resolvePlant(section({ conversionW: 30 })).conversionW).toBe(60);
});
