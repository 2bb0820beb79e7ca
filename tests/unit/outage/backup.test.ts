import { checkDocument } from '@duskbank/core/input';
import { type Backup, backupHours, backupSchema, islandOf } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

const faults = (document: unknown) => {
  const checked = checkDocument(backupSchema, document);
  return checked.ok ? [] : checked.issues.map((issue) => `${issue.code} ${issue.where.path?.join('.')}`);
};

describe('the backup section', () => {
  test('takes a share or watts, one of them', () => {
    expect(faults({ load: { share: 0.4 } })).toEqual([]);
    expect(faults({ load: { watts: 600 } })).toEqual([]);
    expect(faults({})).toEqual([]);
    expect(faults({ load: { share: 0.4, watts: 600 } })).toEqual(['one-of load']);
    expect(faults({ load: {} })).toEqual(['one-of load']);
    expect(faults({ load: { share: 40 } })).toEqual(['out-of-range load.share']);
    expect(faults({ load: { watts: 0 } })).toEqual(['out-of-range load.watts']);
    expect(faults({ lod: { watts: 1 } })).toEqual(['unknown-key lod']);
  });

  const axis = axisOf(4, 30);
  const island = (backup: object, plant = plantOf()) =>
    islandOf({ axis, plant, backup: backup as Backup, loadKwh: Float64Array.of(1, 2, 3, 4), solarKwh: series(4, 3) });

  test('the load is a share, a constant draw, or what the battery reaches', () => {
    expect([...island({ load: { share: 0.25 } }).loadKwh]).toEqual([0.25, 0.5, 0.75, 1]);
    expect([...island({ load: { watts: 600 } }).loadKwh]).toEqual([0.3, 0.3, 0.3, 0.3]);
    expect([...island({}).loadKwh]).toEqual([1, 2, 3, 4]);
    expect([...island({}, plantOf({ reach: 0.5 })).loadKwh]).toEqual([0.5, 1, 1.5, 2]);
    expect([...island({}, plantOf({ reach: Float64Array.of(2, 1, 1, 9) })).loadKwh]).toEqual([1, 1, 1, 4]);
    expect(island({}, plantOf({ reach: 0.5 })).basis).toBe('50 % of the metered load, no solar while the grid is down');
  });

  test('solar counts only on the island’s side, and within the coupling limit', () => {
    expect([...island({}).solarKwh]).toEqual([0, 0, 0, 0]);
    expect([...island({}, plantOf({ coupling: 'dc' })).solarKwh]).toEqual([3, 3, 3, 3]);
    expect([...island({ solarOnIsland: false }, plantOf({ coupling: 'dc' })).solarKwh]).toEqual([0, 0, 0, 0]);
    expect([...island({ solarOnIsland: true, solarLimitKw: 4 }).solarKwh]).toEqual([2, 2, 2, 2]);
  });

  test('two 120 V units that each hold a leg don’t share their energy: the heavier leg ends it', () => {
    const one = { name: 'Left', watts: 1000, leg: 'L1', priority: 1 };
    const two = { name: 'Right', watts: 250, leg: 'L2', priority: 2 };
    const split = { circuits: [one, two], output: { arrangement: 'unit-per-leg' } };
    const found = island(split);
    // Half an hour: 0.5 kWh on leg 1, 0.125 on leg 2. Each unit holds half, so twice 0.5 is asked of the whole.
    expect([...found.loadKwh]).toEqual([1, 1, 1, 1]);
    expect([...found.wantedKwh]).toEqual([0.625, 0.625, 0.625, 0.625]);
    expect(found.basis).toContain('the heavier leg ends it');
    const run = (each: typeof found) =>
      backupHours({ axis, plant: plantOf({ capacityKwh: 2 }), socKwh: series(4, 2), startKwh: 2, ...each })[0];
    // 1 kWh on leg 1 lasts an hour at 1 kW; pooled, 2 kWh would last 1.6 h at 1.25 kW.
    expect(run(found)).toBe(1);
    expect(run(island({ circuits: [one, two] }))).toBeCloseTo(1.6, 12);
    // Legs unknown: all of the load on one.
    const unknown = island({ load: { watts: 1000 }, output: { arrangement: 'unit-per-leg' } });
    expect([...unknown.loadKwh]).toEqual([1, 1, 1, 1]);
    expect(unknown.basis).toContain('all of the load taken to be on one');
  });

  test('fade, gauge error, cold months and trips each lower the answer and are named', () => {
    const hours = (backup: object) => {
      const found = island({ load: { watts: 500 }, solarOnIsland: true, ...backup });
      const sun = Float64Array.of(3, 0, 0, 0);
      return backupHours({
        axis,
        plant: plantOf({ capacityKwh: 1 }),
        socKwh: series(4, 0.5),
        startKwh: 0.5,
        ...found,
        solarKwh: sun,
        capHours: 100,
      })[0]!;
    };
    // 0.5 kWh and the sun fill 1 kWh in the first half hour, then 0.25 kWh each: 1.5 h more, all of the data.
    expect(hours({})).toBe(2);
    const lows = Array.from({ length: 12 }, (_, m) => (m === 0 ? -5 : 10));
    expect(hours({ cold: { limitC: 0, lowsC: lows } })).toBeCloseTo(1.5, 12);
    expect(hours({ margin: { fadeShare: 0.4 } })).toBeCloseTo(0.5 + 0.6 / 0.5, 12);
    expect(island({ margin: { gaugeShare: 0.1 } }, plantOf({ capacityKwh: 5 })).gaugeErrorKwh).toBeCloseTo(0.5, 12);
    const tripping = island({ load: { watts: 600 }, solarOnIsland: true, atFull: 'trip' });
    // 600 W for five minutes are 0.05 kWh.
    expect(tripping.fullMarginKwh).toBeCloseTo(0.05, 12);
    expect(tripping.basis).toContain('trips off a full battery');
  });
});
