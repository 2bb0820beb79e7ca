import { makeAxis } from '@duskbank/core/axis';
import { backupHours } from '@duskbank/core/outage';
import type { Plant } from '@duskbank/core/plant';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { plantOf, series } from '../../unit/outage/island-home.ts';

/** A home on an island: a few numbers from which load, sun and stored energy are drawn with a seed of their own. */
const homes = fc.record({
  seed: fc.integer({ min: 1, max: 2 ** 31 - 1 }),
  stepMinutes: fc.constantFrom(15, 30, 60),
  intervals: fc.integer({ min: 1, max: 3000 }),
  capacityKwh: fc.double({ min: 0.5, max: 60, noNaN: true }),
  shutdownShare: fc.double({ min: 0, max: 0.3, noNaN: true }),
  dischargeKw: fc.double({ min: 0.5, max: 12, noNaN: true }),
  chargeKw: fc.double({ min: 0, max: 12, noNaN: true }),
  efficiency: fc.double({ min: 0.7, max: 1, noNaN: true }),
  decayPerHour: fc.constantFrom(0, 0, 1e-5, 0.01),
  standbyW: fc.constantFrom(0, 40, 70),
  coupling: fc.constantFrom('ac' as const, 'dc' as const),
  loadKw: fc.double({ min: 0, max: 3, noNaN: true }),
  solarKw: fc.double({ min: 0, max: 9, noNaN: true }),
  capHours: fc.constantFrom(336, 48, 1e9),
});

type Home = typeof homes extends fc.Arbitrary<infer T> ? T : never;

function drawHome(home: Home) {
  const random = mulberry32(home.seed);
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 5, 1),
    stepMinutes: home.stepMinutes,
    intervals: home.intervals,
    zone: 'America/Denver',
  });
  const n = axis.intervals;
  const plant: Plant = plantOf({
    capacityKwh: home.capacityKwh,
    shutdownKwh: home.capacityKwh * home.shutdownShare,
    dischargeLimitKw: home.dischargeKw,
    inverterKw: home.dischargeKw,
    chargeLimitKw: home.chargeKw,
    chargeEfficiency: home.efficiency,
    solarChargeEfficiency: Math.min(1, home.efficiency * 1.02),
    dischargeEfficiency: home.efficiency,
    decayPerHour: home.decayPerHour,
    standbyW: home.standbyW,
    coupling: home.coupling,
  });
  const clouds = Array.from({ length: Math.ceil((n * axis.stepHours) / 24) + 1 }, () => random());
  const loadKwh = series(n, () => home.loadKw * axis.stepHours * (0.3 + random() ** 3 * 4));
  const solarKwh = series(n, (i) => {
    const hour = (i * axis.stepHours) % 24;
    return (
      Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI)) *
      home.solarKw *
      axis.stepHours *
      clouds[Math.floor((i * axis.stepHours) / 24)]!
    );
  });
  const socKwh = series(n, () => home.capacityKwh * random());
  return { axis, plant, loadKwh, solarKwh, socKwh, startKwh: home.capacityKwh * random() };
}

type Drawn = ReturnType<typeof drawHome>;

/** Hours from one start, a step at a time, straight from the words of the definition. */
function naiveHours({ axis, plant, loadKwh, solarKwh, socKwh, startKwh }: Drawn, start: number, capHours: number) {
  const h = axis.stepHours;
  const standbyKwh = (plant.standbyW / 1000) * h;
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
});

/** A small seeded generator (Tommy Ettinger's mulberry32, public domain). */
function mulberry32(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
