import type { DispatchProblem } from '@duskbank/core/dispatch';

/** mulberry32: a seeded generator of numbers in [0, 1). */
export function seeded(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export type PriceKind = 'window' | 'tiered-window' | 'volatile' | 'net-metered' | 'negative';

/** A random home, tariff and battery; every option of the problem comes up. */
export function randomProblem(seed: number, intervals: number, kind: PriceKind, plain = false): DispatchProblem {
  const r = seeded(seed * 7919 + 17);
  const pick = <T>(values: readonly T[]): T => values[Math.floor(r() * values.length)]!;
  const maybe = (share: number) => !plain && r() < share;
  const stepHours = pick([1 / 12, 1 / 6, 0.25, 1 / 3, 0.5, 1]);
  const n = intervals;
  const netLoadKwh = new Float64Array(n);
  const importPricePerKwh = new Float64Array(n);
  const exportPricePerKwh = new Float64Array(n);
  const solarKw = r() < 0.3 ? 0 : 8 * r();
  const loadKw = 0.3 + 2 * r();
  const exportShare = r();
  const cheap = 0.05 + 0.1 * r();
  const middle = cheap + 0.15 * r();
  const dear = middle + 0.4 * r();
  let hourly = 0.2;
  let clouds = 1;
  for (let i = 0; i < n; i++) {
    const hour = (i * stepHours) % 24;
    if (Math.floor(i * stepHours) !== Math.floor((i - 1) * stepHours)) {
      hourly = kind === 'negative' ? 0.5 * (r() - 0.35) : 0.02 + 0.6 * r() * r();
      clouds = r();
    }
    const sun = hour > 6 && hour < 18 ? Math.sin(((hour - 6) / 12) * Math.PI) : 0;
    const load = loadKw * (0.3 + r() * 1.4 + (hour > 17 && hour < 22 ? 1 : 0));
    netLoadKwh[i] = stepHours * (load - solarKw * sun * clouds);
    switch (kind) {
      case 'window':
        importPricePerKwh[i] = hour >= 16 && hour < 21 ? dear : hour < 7 ? cheap : middle;
        exportPricePerKwh[i] = exportShare * cheap;
        break;
      case 'tiered-window':
        importPricePerKwh[i] = (hour >= 16 && hour < 21 ? dear : middle) + (i > n / 2 ? 0.07 : 0);
        exportPricePerKwh[i] = exportShare * (hour >= 16 && hour < 21 ? dear : middle);
        break;
      case 'net-metered':
        importPricePerKwh[i] = hour >= 16 && hour < 21 ? dear : middle;
        exportPricePerKwh[i] = importPricePerKwh[i]!;
        break;
      case 'volatile':
        importPricePerKwh[i] = hourly;
        exportPricePerKwh[i] = exportShare * hourly;
        break;
      case 'negative':
        importPricePerKwh[i] = hourly + 0.03;
        exportPricePerKwh[i] = hourly + 0.25 * (r() - 0.6);
        break;
    }
  }
  const capacityKwh = 3 + 20 * r();
  const roundTrip = plain ? 0.88 : pick([0.7, 0.85, 0.9, 1]);
  const chargeEfficiency = maybe(0.5) ? roundTrip ** 0.3 : Math.sqrt(roundTrip);
  const series = (make: (i: number) => number) => Float64Array.from({ length: n }, (_, i) => make(i));
  const chargeLimitKw = 1 + 6 * r();
  const dischargeLimitKw = 1 + 6 * r();
  const floorKwh = maybe(0.5) ? capacityKwh * 0.3 * r() : 0;
  const stormKwh = capacityKwh * (0.2 + 0.7 * r());
  // A floor that rises slowly enough to be reached, and falls at once.
  const ramp = maybe(0.25);
  const rise = 0.9 * chargeLimitKw * stepHours * chargeEfficiency;
  let held = floorKwh;
  const floors = series((i) => {
    const storm = Math.floor((i * stepHours) / 60) % 2 === 1;
    held = storm ? Math.min(stormKwh, held + rise) : floorKwh;
    return held;
  });
  const gridCharging = ramp ? true : !maybe(0.2);
  const limitImport = maybe(0.25) && !ramp;
  const inverterKw = 3 + 4 * r();
  const dc = maybe(0.2);
  const clippedKwh = series((i) => {
    const over = Math.max(0, -netLoadKwh[i]! - inverterKw * stepHours);
    return dc ? over : 0;
  });
  if (dc) for (let i = 0; i < n; i++) netLoadKwh[i]! += clippedKwh[i]!;
  const outagesKw = maybe(0.15);
  return {
    stepHours,
    netLoadKwh,
    importPricePerKwh,
    exportPricePerKwh,
    capacityKwh,
    floorKwh: ramp ? floors : floorKwh,
    chargeLimitKw: maybe(0.2) ? series((i) => (i % 37 < 5 ? 0.2 : 1) * chargeLimitKw) : chargeLimitKw,
    dischargeLimitKw: dc
      ? series((i) => Math.min(dischargeLimitKw, Math.max(0, inverterKw + Math.min(0, netLoadKwh[i]!) / stepHours)))
      : outagesKw
        ? series((i) => (i % 41 < 4 ? 0 : dischargeLimitKw))
        : dischargeLimitKw,
    initialKwh: ramp ? floorKwh : floorKwh + (capacityKwh - floorKwh) * (r() < 0.5 ? 0 : r()),
    chargeEfficiency,
    dischargeEfficiency: roundTrip / chargeEfficiency,
    gridCharging,
    batteryExport: !maybe(0.3),
    curtailment: kind === 'negative' ? r() < 0.5 : maybe(0.3),
    ...(maybe(0.3) ? { selfDischargePerStep: 0.002 * r() } : {}),
    ...(dc ? { solarChargeEfficiency: Math.min(1, chargeEfficiency / 0.97), clippedKwh } : {}),
    ...(maybe(0.25)
      ? { servedLoadLimitKwh: series((i) => Math.max(0, netLoadKwh[i]!) * (i % 5 === 0 ? 1 : 0.4)) }
      : {}),
    ...(limitImport ? { importLimitKw: loadKw * (0.8 + 2 * r()) } : {}),
    ...(maybe(0.25) ? { exportLimitKw: 3 * r() } : {}),
    ...(maybe(0.3) ? { wearPerKwh: 0.08 * r() } : {}),
    ...(maybe(0.3) ? { finalValuePerKwh: 0.2 * r() } : {}),
    ...(maybe(0.15) && gridCharging && !limitImport
      ? { finalMinKwh: floorKwh + 0.3 * Math.min(rise * n, capacityKwh - floorKwh) }
      : {}),
  };
}
