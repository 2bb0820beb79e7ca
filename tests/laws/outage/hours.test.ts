import { backupHours, simulateOutage, unservedAt } from '@duskbank/core/outage';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Drawn, drawHome, homes, ownDrawW } from './homes.ts';

/** Hours from one start, a step at a time, straight from the words of the definition. */
function naiveHours({ axis, plant, loadKwh, solarKwh, socKwh, startKwh }: Drawn, start: number, capHours: number) {
  const h = axis.stepHours;
  // On an island the inverter converts all the time.
  const standbyKwh = (ownDrawW(plant) / 1000) * h;
  const cap = Math.min(capHours, axis.intervals * h);
  let soc = start === 0 ? startKwh : socKwh[start - 1]!;
  let nearest = Number.POSITIVE_INFINITY;
  if (soc < plant.shutdownKwh) return { hours: 0, nearest };
  for (let elapsed = 0; elapsed * h < cap; elapsed++) {
    const i = (start + elapsed) % axis.intervals;
    const load = loadKwh[i]!;
    if (load > Math.min(plant.dischargeLimitKw, plant.inverterKw) * h + 1e-9) return { hours: elapsed * h, nearest };
    soc -= (soc - plant.shutdownKwh) * (1 - (1 - plant.decayPerHour) ** h);
    const wanted = load + standbyKwh - solarKwh[i]!;
    if (wanted > 0) {
      const taken = wanted / plant.dischargeEfficiency;
      const room = soc - plant.shutdownKwh;
      nearest = Math.min(nearest, Math.abs(room - taken));
      if (taken > room) return { hours: Math.min(cap, (elapsed + room / taken) * h), nearest };
      soc -= taken;
    } else {
      const efficiency = plant.coupling === 'dc' ? plant.solarChargeEfficiency : plant.chargeEfficiency;
      soc = Math.min(plant.capacityKwh, soc + Math.min(-wanted, plant.chargeLimitKw * h) * efficiency);
    }
  }
  return { hours: cap, nearest };
}

describe('hours of backup', () => {
  test('agree with a naive simulation for every start, on 200 random homes', () => {
    let ties = 0;
    fc.assert(
      fc.property(homes, (home) => {
        const drawn = drawHome(home);
        const hours = backupHours({ ...drawn, capHours: home.capHours });
        for (let i = 0; i < drawn.axis.intervals; i++) {
          const naive = naiveHours(drawn, i, home.capHours);
          const off = Math.abs(hours[i]! - naive.hours);
          // 1e-6 h: sums of up to 3,000 steps composed in another order. A step that energy meets to 1e-9 kWh may fall either way.
          if (off > 1e-6) {
            ties++;
            expect(naive.nearest, `start ${i}: ${hours[i]} against ${naive.hours}`).toBeLessThan(1e-9);
          }
        }
      }),
      { numRuns: 200, seed: 20260105 },
    );
    expect(ties).toBeLessThan(100);
  });

  test('of islands with sun and without, read from sums of what they take, agree with it to 1e-9 h, on 400 random homes', () => {
    let tripped = 0;
    let capped = 0;
    let faded = 0;
    let sunny = 0;
    fc.assert(
      fc.property(
        homes,
        fc.constantFrom(0, 1e-5, 0.02),
        fc.constantFrom(0, 0, 1),
        fc.nat(),
        (home, decayPerHour, sun, at) => {
          const drawn = drawHome(home);
          const dark = {
            ...drawn,
            plant: { ...drawn.plant, decayPerHour, standbyW: drawn.plant.standbyW + 5 },
            solarKwh: drawn.solarKwh.map((kwh) => kwh * sun),
            // In half of them one step alone is more than the equipment can carry.
            loadKwh: drawn.loadKwh.map((kwh, i) => (at % 2 === 0 && i === at % drawn.loadKwh.length ? 1e3 : kwh)),
          };
          const { axis, plant, loadKwh } = dark;
          const hours = backupHours({ ...dark, capHours: home.capHours });
          const mostKwh = Math.min(plant.dischargeLimitKw, plant.inverterKw) * axis.stepHours;
          if (loadKwh.some((kwh) => kwh > mostKwh) && loadKwh.some((kwh) => kwh < mostKwh)) tripped++;
          if (hours.some((h) => h === home.capHours)) capped++;
          if (decayPerHour > 0 && hours.some((h) => h > 1)) faded++;
          if (sun > 0 && hours.some((h) => h > 12)) sunny++;
          for (let i = 0; i < axis.intervals; i++) {
            const naive = naiveHours(dark, i, home.capHours);
            if (naive.nearest > 1e-9) expect(Math.abs(hours[i]! - naive.hours)).toBeLessThan(1e-9);
          }
        },
      ),
      { numRuns: 400, seed: 20261128 },
    );
    expect(Math.min(tripped, capped, faded, sunny)).toBeGreaterThan(10);
  });

  test('more usable energy, less load, more sun on the island never shorten them, for a given state of charge', () => {
    fc.assert(
      fc.property(homes, fc.double({ min: 1, max: 2, noNaN: true }), (home, factor) => {
        const drawn = drawHome(home);
        const { capHours } = home;
        const base = backupHours({ ...drawn, capHours });
        const { plant } = drawn;
        const others = [
          { ...drawn, plant: { ...plant, capacityKwh: plant.capacityKwh * factor } },
          { ...drawn, loadKwh: drawn.loadKwh.map((kwh) => kwh / factor) },
          { ...drawn, solarKwh: drawn.solarKwh.map((kwh) => kwh * factor) },
        ];
        for (const other of others) {
          const hours = backupHours({ ...other, capHours });
          for (let i = 0; i < hours.length; i++) expect(hours[i]!).toBeGreaterThanOrEqual(base[i]! - 1e-6);
        }
      }),
      { numRuns: 100, seed: 20260106 },
    );
  });

  test('the event-by-event simulation goes dark at the same moment and misses the same energy', () => {
    fc.assert(
      fc.property(homes, fc.integer({ min: 0, max: 1e9 }), (home, pick) => {
        const drawn = drawHome(home);
        const { axis, loadKwh } = drawn;
        const hours = backupHours({ ...drawn, capHours: 72 });
        const start = pick % axis.intervals;
        const length = Math.min(72, axis.intervals * axis.stepHours);
        const outage = simulateOutage({
          ...drawn,
          start,
          startSocKwh: start === 0 ? drawn.startKwh : drawn.socKwh[start - 1]!,
          hours: length,
        });
        const alone = new Float64Array(axis.intervals).fill(1e9);
        alone[start] = hours[start]!;
        const [missing] = unservedAt(axis, alone, loadKwh, [length]);
        // 1e-6 h: the two add up to 72 h in different pieces.
        expect(Math.abs(outage.darkAfterHours - hours[start]!)).toBeLessThan(1e-6);
        expect(outage.unservedKwh).toBeCloseTo(missing!.meanKwh * axis.intervals, 6);
        for (const soc of outage.socKwh) {
          expect(soc).toBeGreaterThanOrEqual(drawn.plant.shutdownKwh - 1e-9);
          expect(soc).toBeLessThanOrEqual(drawn.plant.capacityKwh + 1e-9);
        }
      }),
      { numRuns: 300, seed: 20260107 },
    );
  });

  test('tripping never lasts longer than tapering, and every kWh wanted is either served or not', () => {
    fc.assert(
      fc.property(homes, fc.integer({ min: 0, max: 1e9 }), (home, pick) => {
        const drawn = drawHome(home);
        const { axis } = drawn;
        const start = pick % axis.intervals;
        const length = Math.min(48, axis.intervals * axis.stepHours);
        const outage = (atFull: 'taper' | 'trip', restartKwh?: number) =>
          simulateOutage({
            ...drawn,
            start,
            startSocKwh: start === 0 ? drawn.startKwh : drawn.socKwh[start - 1]!,
            hours: length,
            atFull,
            restartKwh,
          });
        const taper = outage('taper');
        const trip = outage('trip');
        const woken = outage('trip', 0.2);
        expect(trip.darkAfterHours).toBeLessThanOrEqual(taper.darkAfterHours + 1e-6);
        // The lower answer for trips: what the load can take in five minutes is kept off the top.
        const most = drawn.loadKwh.reduce((high, kwh) => Math.max(high, kwh), 0) / axis.stepHours;
        const fullMarginKwh = ((most + ownDrawW(drawn.plant) / 1000) * 5) / 60 / drawn.plant.dischargeEfficiency;
        const lower = backupHours({ ...drawn, fullMarginKwh, capHours: length })[start]!;
        expect(lower).toBeLessThanOrEqual(trip.darkAfterHours + 1e-6);
        expect(woken.unservedKwh).toBeLessThanOrEqual(trip.unservedKwh + 1e-6);
        for (const each of [taper, trip, woken])
          expect(each.servedKwh + each.unservedKwh).toBeCloseTo(taper.servedKwh + taper.unservedKwh, 6);
      }),
      { numRuns: 200, seed: 20260108 },
    );
  });
});
