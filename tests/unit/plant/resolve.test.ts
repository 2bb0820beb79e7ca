import { checkDocument } from '@duskbank/core/input';
import {
  hoursAtFullOutput,
  hoursToFill,
  type PlantSection,
  plantSchema,
  powerLimits,
  resolvePlant,
  usableCapacityKwh,
} from '@duskbank/core/plant';
import { describe, expect, test } from 'vitest';

function section(document: unknown): PlantSection {
  const checked = checkDocument(plantSchema, document);
  if (!checked.ok) throw new Error(JSON.stringify(checked.issues));
  return checked.value;
}

const unit = { units: 1, usableKwh: 3.8, chargeKw: 6, dischargeKw: 6, chargeEfficiency: 1, dischargeEfficiency: 1 };

// Facts of the trade: common practice, no source.
describe('facts of the trade', () => {
  test('two pooled units of 3.8 kWh and 6 kW make 7.6 kWh and 12 kW continuous: 38 minutes at full output', () => {
    const pair = section({ battery: { ...unit, units: 2 } });
    const plant = resolvePlant(pair);
    expect(plant.capacityKwh).toBeCloseTo(7.6, 12);
    expect(plant.dischargeLimitKw).toBe(12);
    expect(hoursAtFullOutput(plant) * 60).toBeCloseTo(38, 12);
  });

  test('a 15 A, 120 V cord charges at 1.44 kW, so 7.6 kWh take over five hours', () => {
    const corded = section({
      battery: { ...unit, usableKwh: 7.6 },
      chargingCord: { ampere: 15, volt: 120 },
    });
    const limits = powerLimits(corded);
    expect(limits.charge).toEqual({ kw: 1.44, setBy: 'cord' });
    expect(limits.discharge).toEqual({ kw: 6, setBy: 'battery' });
    expect(hoursToFill(resolvePlant(corded))).toBeCloseTo(7.6 / 1.44, 12);
    expect(hoursToFill(resolvePlant(corded))).toBeGreaterThan(5);
  });

  test('an added module adds energy, and only the power that its maker allows', () => {
    const modules = { perUnit: 2, maxPerUnit: 3, usableKwh: 3.8 };
    expect(usableCapacityKwh(section({ battery: { ...unit, modules } }))).toBeCloseTo(11.4, 12);
    expect(powerLimits(section({ battery: { ...unit, modules } })).discharge.kw).toBe(6);
    const stronger = { ...modules, addsDischargeKw: 1.5, addsChargeKw: 1 };
    const limits = powerLimits(section({ battery: { ...unit, modules: stronger } }));
    expect([limits.discharge.kw, limits.charge.kw]).toEqual([9, 8]);
  });
});

// 125 % of continuous load: NEC 210.19, 210.20 as in trade summaries; 20 A → 16 A → 3.84 kW at 240 V.
test('the least of battery, inverter and breaker × 80 % limits both ways, and says which it was', () => {
  const wired = (change: object) =>
    powerLimits(section({ battery: { ...unit, units: 2 }, breaker: { ampere: 20, volt: 240 }, ...change }));
  expect(wired({}).discharge).toEqual({ kw: 7.68, setBy: 'breaker' });
  expect(wired({}).charge).toEqual({ kw: 7.68, setBy: 'breaker' });
  expect(wired({ inverter: { continuousKw: 3 } }).discharge).toEqual({ kw: 6, setBy: 'inverter' });
  expect(wired({ chargingCord: { ampere: 20, volt: 120 } }).charge).toEqual({ kw: 3.84, setBy: 'cord' });
});

test('a round trip is split evenly both ways; under DC coupling solar skips the inverter', () => {
  const { chargeEfficiency: _c, dischargeEfficiency: _d, ...bare } = unit;
  const even = resolvePlant(section({ battery: { ...bare, roundTripEfficiency: 0.81 } }));
  expect([even.chargeEfficiency, even.dischargeEfficiency]).toEqual([0.9, 0.9]);
  const dc = resolvePlant(
    section({
      battery: { ...bare, roundTripEfficiency: 0.81 },
      coupling: 'dc',
      inverter: { continuousKw: 5, efficiency: 0.96 },
    }),
  );
  expect(dc.solarChargeEfficiency).toBeCloseTo(0.9375, 12);
});

test('decay a month compounds to what the file says', () => {
  const plant = resolvePlant(section({ battery: { ...unit, decayPerMonth: 0.03 } }));
  expect((1 - plant.decayPerHour) ** 730).toBeCloseTo(0.97, 12);
});

test('the run starts at the floor unless the file says otherwise', () => {
  expect(resolvePlant(section({ battery: unit, floor: { share: 0.25 } })).startKwh).toBeCloseTo(0.95, 12);
  expect(resolvePlant(section({ battery: unit, floor: { kwh: 1 }, startShare: 1 })).startKwh).toBe(3.8);
});

describe('refuses, each by its field', () => {
  const cases: [string, unknown, string, string][] = [
    ['efficiency 0', { battery: { ...unit, chargeEfficiency: 0 } }, 'battery.chargeEfficiency', 'out-of-range'],
    [
      'efficiency above 1',
      { battery: { ...unit, dischargeEfficiency: 1.02 } },
      'battery.dischargeEfficiency',
      'out-of-range',
    ],
    [
      'an efficiency in percent',
      { battery: { ...unit, chargeEfficiency: 95 } },
      'battery.chargeEfficiency',
      'out-of-range',
    ],
    [
      'no efficiency',
      { battery: { units: 1, usableKwh: 3, chargeKw: 1, dischargeKw: 1 } },
      'battery.roundTripEfficiency',
      'missing',
    ],
    [
      'two kinds of efficiency',
      { battery: { ...unit, roundTripEfficiency: 0.9 } },
      'battery.roundTripEfficiency',
      'given-twice',
    ],
    ['a floor above capacity', { battery: unit, floor: { kwh: 4 } }, 'floor.kwh', 'above-capacity'],
    ['a floor below 0', { battery: unit, floor: { kwh: -1e308 }, shutdown: { kwh: 0 } }, 'floor.kwh', 'out-of-range'],
    ['a floor given twice', { battery: unit, floor: { kwh: 1, share: 0.1 } }, 'floor', 'given-twice'],
    [
      'a shutdown level above the floor',
      { battery: unit, floor: { kwh: 1 }, shutdown: { kwh: 2 } },
      'shutdown',
      'above-floor',
    ],
    [
      'a start below the shutdown level',
      { battery: unit, floor: { share: 0.2 }, shutdown: { share: 0.2 }, startShare: 0.1 },
      'startShare',
      'below-shutdown',
    ],
    ['more units than the maker pools', { battery: { ...unit, units: 3, maxUnits: 2 } }, 'battery.units', 'above-cap'],
    ['a fraction of a unit', { battery: { ...unit, units: 1.5 } }, 'battery.units', 'wrong-type'],
    ['a hundred units', { battery: { ...unit, units: 100 } }, 'battery.units', 'out-of-range'],
    [
      'more modules than fit',
      { battery: { ...unit, modules: { perUnit: 4, maxPerUnit: 3, usableKwh: 1 } } },
      'battery.modules.perUnit',
      'above-cap',
    ],
    [
      'DC coupling without the inverter’s efficiency',
      { battery: unit, coupling: 'dc' },
      'inverter.efficiency',
      'missing',
    ],
    [
      'selling from behind transfer equipment',
      { battery: unit, batteryExport: true, reach: { share: 0.4 } },
      'batteryExport',
      'contradiction',
    ],
    ['a reach of nothing', { battery: unit, reach: { share: 0 } }, 'reach.share', 'out-of-range'],
    ['a negative rating', { battery: { ...unit, dischargeKw: -5 } }, 'battery.dischargeKw', 'out-of-range'],
    ['a typing error', { battery: unit, griCharging: true }, 'griCharging', 'unknown-key'],
    ['a coupling that is none', { battery: unit, coupling: 'AC' }, 'coupling', 'not-allowed'],
  ];
  test.each(cases)('%s', (_name, document, path, code) => {
    const checked = checkDocument(plantSchema, document);
    expect(checked.ok).toBe(false);
    if (checked.ok) return;
    const found = checked.issues.map((issue) => `${issue.code} at ${issue.where.path?.join('.')}`);
    expect(found).toEqual([`${code} at ${path}`]);
  });
  test('a typing error names what was meant', () => {
    const checked = checkDocument(plantSchema, { battery: unit, griCharging: true });
    expect(checked.ok ? undefined : checked.issues[0]!.hint).toBe('did you mean "gridCharging"?');
  });
});
