import { type Backup, backupHours, islandOf, movingFloor, rechargeHours, simulateOutage } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

// On an island the inverter holds the voltage, so that what converting draws is drawn all the time.
describe('what converting draws, in an outage', () => {
  const axis = axisOf(240);
  const plant = plantOf({ shutdownKwh: 1, dischargeEfficiency: 0.9, standbyW: 40, conversionW: 60 });
  const loadKwh = series(240, 0.6);

  test('shortens hours of backup: (8 − 1) · 0.9 ÷ (0.6 + 0.04 + 0.06) are 9 h', () => {
    const soc = { socKwh: series(240, 8), startKwh: 8 };
    expect(backupHours({ axis, plant, ...soc, loadKwh, solarKwh: series(240, 0) })[0]).toBeCloseTo(9, 12);
    // A sun that carries the load alone leaves 0.1 kW to the battery: 6.3 ÷ 0.1.
    expect(backupHours({ axis, plant, ...soc, loadKwh, solarKwh: series(240, 0.6) })[0]).toBeCloseTo(63, 9);
    // Sun for load and draw: nothing passes the battery, and the draw is carried all the same.
    expect(backupHours({ axis, plant, ...soc, loadKwh, solarKwh: series(240, 0.7) })[0]).toBe(240);
  });

  test('is in an outage that is played through', () => {
    const outage = simulateOutage({
      axis,
      plant,
      loadKwh,
      solarKwh: series(240, 0),
      start: 0,
      startSocKwh: 8,
      hours: 24,
    });
    expect(outage.darkAfterHours).toBeCloseTo(9, 9);
    expect(outage.unservedKwh).toBeCloseTo(15 * 0.6, 9);
  });

  test('is kept for: four hours of 0.2 kW and 0.1 kW of own draw, over 0.9, above 1 kWh', () => {
    const { floorKwh } = movingFloor({ axis, plant, reserve: { keepHours: 4 }, islandLoadKwh: series(240, 0.2) });
    expect(floorKwh[48]).toBeCloseTo(1 + (4 * 0.3) / 0.9, 12);
  });

  test('is among what solar that trips leaves to the battery: 5 minutes of 0.6 and 0.1 kW', () => {
    const backup = { solarOnIsland: true, atFull: 'trip' } as Backup;
    const { fullMarginKwh } = islandOf({ axis, plant, backup, loadKwh, solarKwh: series(240, 1) });
    expect(fullMarginKwh).toBeCloseTo((0.7 * 5) / 60 / 0.9, 12);
  });

  test('leaves less of the service to refill from', () => {
    const refill = (importLimitKw: number) =>
      rechargeHours({
        axis,
        plant: plantOf({ conversionW: 100 }),
        service: { importLimitKw, exportLimitKw: 0 },
        loadKwh: series(240, 0.6),
        solarKwh: series(240, 0),
        from: 0,
        fromKwh: 0,
        toKwh: 6,
      });
    // 3 − 0.6 − 0.1 kW
    expect(refill(3)).toBeCloseTo(6 / 2.3, 9);
    // 0.1 kW would be left: no more than is drawn for it.
    expect(refill(0.8)).toBe(336);
  });
});
