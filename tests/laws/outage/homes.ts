import { makeAxis } from '@duskbank/core/axis';
import type { Plant } from '@duskbank/core/plant';
import fc from 'fast-check';
import { plantOf, series } from '../../unit/outage/island-home.ts';

/** A home on an island: a few numbers from which load, sun and stored energy are drawn with a seed of their own. */
export const homes = fc.record({
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
  conversionW: fc.constantFrom(0, 0, 60),
  coupling: fc.constantFrom('ac' as const, 'dc' as const),
  loadKw: fc.double({ min: 0, max: 3, noNaN: true }),
  solarKw: fc.double({ min: 0, max: 9, noNaN: true }),
  capHours: fc.constantFrom(336, 48, 1e9),
});

type Home = typeof homes extends fc.Arbitrary<infer T> ? T : never;

export function drawHome(home: Home) {
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
    conversionW: home.conversionW,
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

/** What the equipment itself draws all through an outage, W. */
export const ownDrawW = ({ standbyW, conversionW = 0 }: Plant) => standbyW + conversionW;

export type Drawn = ReturnType<typeof drawHome>;

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
