import { makeAxis } from '@duskbank/core/axis';
import { islanded, type Plant, plantOnAxis, plantPerStep, type Service } from '@duskbank/core/plant';
import { describe, expect, test } from 'vitest';
import { plainPlant } from '../../support/homes-plain.ts';

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 30, intervals: 3, zone: 'Etc/UTC' });
const loadKwh = Float64Array.of(1, 0.5, 0.25);
const solarKwh = Float64Array.of(0, 2, 4);
const service: Service = { importLimitKw: 10, exportLimitKw: 4 };
const lay = (change: Partial<Plant> = {}, former?: ReturnType<typeof plantOnAxis>) =>
  plantOnAxis(plainPlant({ standbyW: 100, ...change }), axis, loadKwh, solarKwh, service, former);

describe('a plant on its axis', () => {
  test('is in energies of the step of half an hour', () => {
    const onAxis = lay({ decayPerHour: 0.19 });
    expect(onAxis).toMatchObject({ chargeLimitKwh: 3, dischargeLimitKwh: 6, standbyKwh: 0.05, importLimitKwh: 5 });
    expect(onAxis.exportLimitKwh).toBe(2);
    // 0.81 of it is left after an hour, 0.9 after half of one.
    expect(onAxis.decayShare).toBeCloseTo(0.1, 12);
    expect([...onAxis.netKwh]).toEqual([1.05, 0.5 + 0.05 - 2, 0.25 + 0.05 - 4]);
    expect([onAxis.clippedKwh, onAxis.servedLimitKwh]).toEqual([undefined, undefined]);
  });

  test('shares its inverter between sun and battery under DC coupling', () => {
    const onAxis = lay({ coupling: 'dc', inverterKw: 5, dischargeLimitKw: 4, reach: 0.5 });
    // 2.5 kWh pass the inverter in half an hour; 2 kWh are what the battery gives at most.
    expect([...onAxis.clippedKwh!]).toEqual([0, 0, 1.5]);
    expect(onAxis.dischargeLimitKwh).toEqual(Float64Array.of(2, 0.5, 0));
    expect([...onAxis.netKwh]).toEqual([1.05, 0.5 + 0.05 - 2, 0.25 + 0.05 - 2.5]);
    expect([...onAxis.servedLimitKwh!]).toEqual([0.55, 0.3, 0.175]);
  });

  test('takes load and sun over from the same home with another battery, and only then', () => {
    const former = lay();
    const larger = lay({ capacityKwh: 20, floorKwh: 5, chargeLimitKw: 9, dischargeLimitKw: 9 }, former);
    expect(larger.netKwh).toBe(former.netKwh);
    expect(larger).toMatchObject({ capacityKwh: 20, floorKwh: 5, chargeLimitKwh: 4.5, dischargeLimitKwh: 4.5 });
    const changes: Partial<Plant>[] = [{ standbyW: 0 }, { reach: 0.5 }, { coupling: 'dc', inverterKw: 5 }];
    for (const change of changes) expect(lay(change, former), JSON.stringify(change)).toEqual(lay(change));
    const shared = lay({ coupling: 'dc', inverterKw: 5 });
    const weaker: Partial<Plant> = { coupling: 'dc', inverterKw: 5, dischargeLimitKw: 1 };
    expect(lay(weaker, shared)).toEqual(lay(weaker));
    const sunnier = plantOnAxis(plainPlant(), axis, loadKwh, Float64Array.of(1, 1, 1), service, lay({ standbyW: 0 }));
    expect([...sunnier.netKwh]).toEqual([0, -0.5, -0.75]);
  });
});

test('a plant that would shut down above its capacity is refused, one that does at it isn’t', () => {
  const perStep = plantPerStep(plainPlant(), axis);
  const capacityKwh = perStep.capacityKwh as number;
  expect(() => islanded({ ...perStep, shutdownKwh: capacityKwh })).not.toThrow();
  expect(() => islanded({ ...perStep, shutdownKwh: capacityKwh + 0.1 })).toThrow('shutdownKwh');
});
