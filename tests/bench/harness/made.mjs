// Homes made from a seed, as problems of a battery: nobody's.
import { seeded } from '../../support/invented.mjs';

/** A made-up home of about 9,000 kWh a year with 5 kW of solar, and a 13.5 kWh battery. */
export function madeProblem(intervals, stepHours, kind, demand) {
  const random = seeded(11);
  const netLoadKwh = new Float64Array(intervals);
  const importPricePerKwh = new Float64Array(intervals);
  const exportPricePerKwh = new Float64Array(intervals);
  const month = new Int32Array(intervals);
  let price = 0.2;
  let clouds = 1;
  for (let i = 0; i < intervals; i++) {
    const hours = i * stepHours;
    const hour = hours % 24;
    const day = Math.floor(hours / 24);
    month[i] = Math.min(11, Math.floor(day / 30.42));
    const summer = 0.5 - 0.5 * Math.cos((2 * Math.PI * (day + 10)) / 365);
    if (Math.floor(hours) !== Math.floor(hours - stepHours)) {
      price = Math.max(0.01, 0.14 + 0.08 * Math.sin(((hour - 9) / 12) * Math.PI) + 0.25 * (random() - 0.5) * random());
      clouds = 0.4 + 0.6 * random();
    }
    const sun = Math.max(0, Math.sin(((hour - 6 + summer) / (12 + 2 * summer)) * Math.PI)) * (0.45 + 0.55 * summer);
    const evening = hour > 17 && hour < 22 ? 1.4 : 0;
    netLoadKwh[i] =
      stepHours * (0.35 + 0.9 * random() + evening * (0.5 + random()) - (hour > 6 && hour < 20 ? 5 * sun * clouds : 0));
    if (kind === 'window') {
      const dear = day % 7 < 5 && hour >= 16 && hour < 21;
      importPricePerKwh[i] = dear ? (summer > 0.5 ? 0.52 : 0.41) : hour < 6 ? 0.14 : 0.27;
      exportPricePerKwh[i] = 0.06;
    } else {
      importPricePerKwh[i] = price + 0.05;
      exportPricePerKwh[i] = 0.8 * price;
    }
  }
  return {
    stepHours,
    netLoadKwh,
    importPricePerKwh,
    exportPricePerKwh,
    capacityKwh: 13.5,
    floorKwh: 2,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    initialKwh: 2,
    chargeEfficiency: Math.sqrt(0.88),
    dischargeEfficiency: Math.sqrt(0.88),
    ...(demand ? { demandCharges: [{ pricePerKw: 9, period: month }] } : {}),
  };
}

/** A made-up home on a tariff of three prices a day, with the battery of another home. */
export function madeHome(core, { plant, service }, years, stepMinutes) {
  const random = seeded(11);
  const perDay = 1440 / stepMinutes;
  const hours = stepMinutes / 60;
  const intervals = Math.round(years * 365 * perDay);
  const axis = core.makeAxis({ startEpochMs: Date.UTC(2016, 0, 4), stepMinutes, intervals, zone: 'Etc/UTC' });
  const loadKwh = new Float64Array(intervals);
  const solarKwh = new Float64Array(intervals);
  for (let i = 0; i < intervals; i++) {
    const hour = (i % perDay) * hours;
    const sun = Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI));
    loadKwh[i] = hours * (0.3 + 0.7 * random() + (hour >= 17 && hour < 22 ? 1 : 0));
    solarKwh[i] = hours * 4 * sun * (0.3 + 0.7 * random());
  }
  const tariff = core.parseTariff({
    format: 'duskbank.tariff/1',
    name: 'made up',
    currency: 'USD',
    windows: [
      { name: 'dear', pricePerKwh: 0.45, days: 'weekday', from: '16:00', to: '21:00' },
      { name: 'night', pricePerKwh: 0.14, from: '23:00', to: '06:00' },
      { name: 'day', otherwise: true, pricePerKwh: 0.27 },
    ],
    export: { kind: 'net-billing', pricePerKwh: 0.06 },
  });
  return { axis, plant, service, loadKwh, solarKwh, tariff: core.compileTariff(tariff, axis) };
}
