import { type Axis, makeAxis } from '@duskbank/core/axis';
import type { Home, Strategy } from '@duskbank/core/dispatch';
import type { Plant, Service } from '@duskbank/core/plant';
import type { CompiledTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { plainPlant, seeded } from './homes-plain.ts';

export { plainPlant, seeded };

/** A tariff laid on an axis by hand: prices by local hour, peak from `peakFrom` to `peakTo` on weekdays. */
export function windowTariff(
  axis: Axis,
  options: {
    cheap?: number;
    middle?: number;
    peak?: number;
    sale?: number;
    peakFrom?: number;
    peakTo?: number;
    cheapTo?: number;
  } = {},
): CompiledTariff {
  const { cheap = 0.12, middle = 0.24, peak = 0.48, sale = 0.06, peakFrom = 16, peakTo = 21, cheapTo = 6 } = options;
  const n = axis.intervals;
  const importPricePerKwh = new Float64Array(n);
  const window = new Uint8Array(n);
  const { minuteOfDay, weekday, month, days, day } = axis.calendar;
  const periods: { first: number; end: number; startDate: string; endDate: string; days: number; fullDays: number }[] =
    [];
  const period = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const hour = minuteOfDay[i]! / 60;
    const w = weekday[i]! <= 5 && hour >= peakFrom && hour < peakTo ? 2 : hour < cheapTo ? 0 : 1;
    window[i] = w;
    importPricePerKwh[i] = [cheap, middle, peak][w]!;
    if (i === 0 || month[i] !== month[i - 1]) {
      const date = days[day[i]!]!;
      if (periods.length > 0) periods[periods.length - 1]!.end = i;
      const label = `${date.year}-${date.month}-${date.dayOfMonth}`;
      periods.push({ first: i, end: n, startDate: label, endDate: label, days: 0, fullDays: 30 });
    }
    period[i] = periods.length - 1;
  }
  return {
    name: 'by hand',
    axis,
    currency: 'USD',
    currencyDecimals: 2,
    importPricePerKwh,
    exportPricePerKwh: new Float64Array(n).fill(sale),
    terms: [],
    periods,
    period,
    windows: [
      { name: 'night', kind: 'off-peak' },
      { name: 'day', kind: 'shoulder' },
      { name: 'evening', kind: 'peak' },
    ],
    window,
    priceKnowledge: 'published',
    metering: 'net',
    exportLimitKw: Number.POSITIVE_INFINITY,
    warnings: [],
  };
}

/** No limit either way. */
export const openService: Service = {
  importLimitKw: Number.POSITIVE_INFINITY,
  exportLimitKw: Number.POSITIVE_INFINITY,
};

/** A home whose load and solar come from a seed: evening peak, daylight solar, noise on both. */
export function seededHome(
  seed: number,
  shape: { days: number; stepMinutes: number; startEpochMs: number; zone: string; solarKw: number },
  plant: Plant = plainPlant(),
  service: Service = openService,
  tariff?: (axis: Axis) => CompiledTariff,
): Home {
  const intervals = Math.round((shape.days * 1440) / shape.stepMinutes);
  const axis = makeAxis({
    startEpochMs: shape.startEpochMs,
    stepMinutes: shape.stepMinutes,
    intervals,
    zone: shape.zone,
  });
  const random = seeded(seed);
  const loadKwh = new Float64Array(intervals);
  const solarKwh = new Float64Array(intervals);
  const { minuteOfDay } = axis.calendar;
  for (let i = 0; i < intervals; i++) {
    const hour = minuteOfDay[i]! / 60;
    const evening = Math.exp(-(((hour - 19) / 2.5) ** 2));
    loadKwh[i] = (0.2 + 2 * evening * random() + (random() < 0.03 ? 6 * random() : 0)) * axis.stepHours;
    solarKwh[i] = Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI)) * shape.solarKw * random() * axis.stepHours;
  }
  return { axis, loadKwh, solarKwh, tariff: (tariff ?? windowTariff)(axis), plant, service };
}

function coldSteps({ intervals, calendar }: Axis, when: 'at first' | 'nights'): Uint8Array {
  const isCold = (i: number) => (when === 'at first' ? i < intervals / 2 : calendar.minuteOfDay[i]! < 480);
  return Uint8Array.from({ length: intervals }, (_, i) => (isCold(i) ? 1 : 0));
}

/** Random homes over every switch the plant has: floors that rise, limits of 0, own draws, decay, DC coupling, reach. */
export const anyHome: fc.Arbitrary<Home> = fc
  .record({
    seed: fc.nat(),
    days: fc.integer({ min: 1, max: 12 }),
    stepMinutes: fc.constantFrom(15, 30, 60),
    // December and the clock changes of the northern and southern spring among them.
    startDay: fc.constantFrom('2025-12-20', '2026-03-05', '2026-07-01', '2026-10-01', '2024-02-25'),
    zone: fc.constantFrom('America/Denver', 'Europe/London', 'Australia/Sydney', 'Asia/Kolkata', 'Etc/UTC'),
    solarKw: fc.constantFrom(0, 2, 6, 15),
    capacityKwh: fc.double({ min: 0.5, max: 30, noNaN: true }),
    floorShare: fc.constantFrom(0, 0.2, 0.5, 1),
    floorKind: fc.constantFrom('flat', 'rising', 'evening'),
    shutdownShare: fc.constantFrom(0, 0.1),
    startShare: fc.constantFrom(0, 0.3, 1),
    chargeLimitKw: fc.double({ min: 0.1, max: 10, noNaN: true }),
    dischargeLimitKw: fc.double({ min: 0.1, max: 10, noNaN: true }),
    chargeEfficiency: fc.constantFrom(1, 0.95, 0.8),
    dischargeEfficiency: fc.constantFrom(1, 0.95, 0.8),
    decayPerHour: fc.constantFrom(0, 0.00005, 0.01),
    standbyW: fc.constantFrom(0, 70),
    conversionW: fc.constantFrom(0, 0, 60, 400),
    gridCharging: fc.boolean(),
    batteryExport: fc.boolean(),
    coupling: fc.constantFrom('ac' as const, 'dc' as const),
    inverterKw: fc.constantFrom(2, 5, 20),
    reach: fc.constantFrom(1, 0.4, 'series' as const),
    importLimitKw: fc.constantFrom(Number.POSITIVE_INFINITY, 10, 2),
    exportLimitKw: fc.constantFrom(Number.POSITIVE_INFINITY, 0, 1.5),
    sale: fc.constantFrom(0, 0.06, 0.3),
    // Cells too cold to charge: never, in the first half, by night.
    cold: fc.constantFrom('never' as const, 'never' as const, 'at first' as const, 'nights' as const),
  })
  .map((c) => {
    const home = seededHome(
      c.seed,
      {
        days: c.days,
        stepMinutes: c.stepMinutes,
        startEpochMs: Date.parse(`${c.startDay}T00:00:00Z`),
        zone: c.zone,
        solarKw: c.solarKw,
      },
      plainPlant(),
      { importLimitKw: c.importLimitKw, exportLimitKw: c.exportLimitKw },
      (axis) => windowTariff(axis, { sale: c.sale }),
    );
    const { axis } = home;
    const baseFloorKwh = c.floorShare * c.capacityKwh;
    let floorKwh: number | Float64Array = baseFloorKwh;
    if (c.floorKind !== 'flat') {
      floorKwh = Float64Array.from({ length: axis.intervals }, (_, i) => {
        const rise = c.floorKind === 'rising' ? i / axis.intervals : axis.calendar.minuteOfDay[i]! >= 1020 ? 1 : 0.5;
        return baseFloorKwh * rise;
      });
    }
    const lowestFloorKwh = typeof floorKwh === 'number' ? floorKwh : Math.min(...floorKwh);
    const shutdownKwh = Math.min(c.shutdownShare * c.capacityKwh, lowestFloorKwh);
    const random = seeded(c.seed + 1);
    const plant: Plant = {
      capacityKwh: c.capacityKwh,
      floorKwh,
      shutdownKwh,
      startKwh: Math.max(c.startShare * c.capacityKwh, shutdownKwh),
      chargeLimitKw: c.chargeLimitKw,
      ...(c.cold === 'never' ? {} : { coldSteps: coldSteps(axis, c.cold) }),
      dischargeLimitKw: c.dischargeLimitKw,
      chargeEfficiency: c.chargeEfficiency,
      dischargeEfficiency: c.dischargeEfficiency,
      decayPerHour: c.decayPerHour,
      standbyW: c.standbyW,
      conversionW: c.conversionW,
      gridCharging: c.gridCharging,
      batteryExport: c.batteryExport && c.reach === 1,
      coupling: c.coupling,
      inverterKw: c.inverterKw,
      solarChargeEfficiency: Math.min(1, c.chargeEfficiency / 0.96),
      reach: c.reach === 'series' ? home.loadKwh.map((kwh) => kwh * random()) : c.reach,
    };
    return { ...home, plant };
  });

/** Levels drawn at random: what no sensible strategy would ask for must still obey physics. */
export const erratic = (seed: number): Strategy => ({
  name: 'erratic',
  knowledge: 'causal',
  begin: (view) => ({
    plan(from, _soc, levels) {
      const random = seeded(seed + from);
      const to = Math.min(view.axis.intervals, from + 7);
      for (let i = from; i < to; i++) {
        const level = () => (random() * 1.4 - 0.2) * view.plant.capacityKwh;
        levels.solarChargeToKwh[i] = level();
        levels.gridChargeToKwh[i] = level();
        levels.serveDownToKwh[i] = level();
        levels.exportDownToKwh[i] = level();
        levels.importCapKw[i] = random() < 0.5 ? Number.POSITIVE_INFINITY : random() * 4;
      }
      return to;
    },
  }),
});
