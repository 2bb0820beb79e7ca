// Invented homes, tariffs and prices, made from seeds: the same on every machine. Plain data and no imports, so that
// benches and scripts (on the build) and tests (on the source) share them.

/** A small seeded generator (mulberry32). */
export function seeded(seed) {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Local days start at midnight here: an axis in this zone has no clock changes. */
export const ZONE = 'Etc/UTC';
/** 2025-01-01 is a Wednesday. */
export const START_EPOCH_MS = Date.UTC(2025, 0, 1);

/**
 * The invented homes. `baseKw` runs all day; `morningKw` and `eveningKw` are humps around 7:30 and 19:00; `heatKw` is a
 * heat pump's draw on the coldest day, `coolKw` a cooler's on the hottest; `carKw` charges on some nights from
 * `carFrom`; `solarKw` is the array's peak. `away` empties the home for some weeks.
 */
export const INVENTED_HOMES = [
  { name: 'small flat', seed: 101, baseKw: 0.12, morningKw: 0.3, eveningKw: 0.7, away: true },
  { name: 'heat pump, winter peak', seed: 202, baseKw: 0.3, morningKw: 0.8, eveningKw: 1.2, heatKw: 3.5 },
  { name: 'car charged at night', seed: 303, baseKw: 0.35, morningKw: 0.6, eveningKw: 1.6, carKw: 7.2, carFrom: 18 },
  {
    name: 'family with 5 kW of solar',
    seed: 404,
    baseKw: 0.35,
    morningKw: 0.9,
    eveningKw: 1.7,
    coolKw: 1.5,
    solarKw: 5,
  },
];

/** One year of an invented home: kWh an interval, finite, not negative. */
export function inventedHome(spec, stepMinutes = 15) {
  const stepHours = stepMinutes / 60;
  const perDay = Math.round(24 / stepHours);
  const intervals = 365 * perDay;
  const random = seeded(spec.seed);
  const loadKwh = new Float64Array(intervals);
  const solarKwh = new Float64Array(intervals);
  let weather = 0;
  let sky = 0.7;
  let awayDays = 0;
  for (let day = 0; day < 365; day++) {
    // Weather that lasts some days; skies that hardly last; a car that comes home on three nights in five.
    weather = 0.75 * weather + 0.5 * (random() - 0.5);
    sky = Math.min(1, Math.max(0.12, 0.35 * sky + 0.65 * (0.15 + 0.95 * random())));
    const winter = 0.5 + 0.5 * Math.cos((2 * Math.PI * (day - 15)) / 365);
    const cold = Math.max(0, winter - 0.25 + 0.3 * weather);
    const hot = Math.max(0, 1 - winter - 0.45 + 0.3 * weather);
    const weekend = (day + 2) % 7 >= 5;
    if (spec.away && awayDays === 0 && random() < 0.012) awayDays = 4 + Math.floor(10 * random());
    const home = awayDays > 0 ? 0.15 : 1;
    if (awayDays > 0) awayDays--;
    const carHours = spec.carKw > 0 && random() < 0.6 ? 1 + 3 * random() : 0;
    const carStart = (spec.carFrom ?? 18) + 2 * random();
    const lively = 0.7 + 0.6 * random();
    const halfDay = 4.6 + 1.6 * (1 - winter);
    for (let k = 0; k < perDay; k++) {
      const hour = k * stepHours;
      const i = day * perDay + k;
      const morning = Math.exp(-(((hour - (weekend ? 9.5 : 7.5)) / 1.2) ** 2));
      const evening = Math.exp(-(((hour - 19) / 2.2) ** 2));
      let kw = spec.baseKw * (0.8 + 0.4 * random());
      kw += home * lively * (spec.morningKw * morning + spec.eveningKw * evening) * (0.5 + random());
      if (random() < 0.02 * home) kw += 2.2 * random();
      kw += (spec.heatKw ?? 0) * cold * (0.6 + 0.4 * Math.cos(((hour - 5) / 12) * Math.PI)) * (0.8 + 0.4 * random());
      kw += (spec.coolKw ?? 0) * hot * Math.exp(-(((hour - 16.5) / 4) ** 2)) * (0.7 + 0.6 * random());
      if (hour >= carStart && hour < carStart + carHours) kw += spec.carKw;
      loadKwh[i] = kw * stepHours;
      const arc = Math.cos(((hour - 12.5) / halfDay) * (Math.PI / 2));
      if (spec.solarKw > 0 && Math.abs(hour - 12.5) < halfDay)
        solarKwh[i] =
          spec.solarKw * (0.45 + 0.5 * (1 - winter)) * arc ** 1.3 * sky * (0.75 + 0.25 * random()) * stepHours;
    }
  }
  return { name: spec.name, startEpochMs: START_EPOCH_MS, stepMinutes, intervals, zone: ZONE, loadKwh, solarKwh };
}

/** Hourly market prices, money a kWh: two humps a day, a drift that lasts, now and then a spike. */
export function hourlyMarket(seed, hours) {
  const random = seeded(seed);
  let drift = 0;
  return Float64Array.from({ length: hours }, (_, h) => {
    const hour = h % 24;
    drift = 0.9 * drift + 0.03 * (random() - 0.5);
    const humps = 0.05 * Math.exp(-(((hour - 8) / 2) ** 2)) + 0.12 * Math.exp(-(((hour - 19) / 2.5) ** 2));
    const spike = random() < 0.01 ? 0.3 * random() : 0;
    return Math.max(0.005, 0.06 + humps + drift + spike);
  });
}

const windows = [
  { name: 'on-peak', days: 'weekday', from: '14:00', to: '20:00', pricePerKwh: 0.52 },
  { name: 'night', from: '22:00', to: '07:00', pricePerKwh: 0.15 },
  { name: 'off-peak', otherwise: true, pricePerKwh: 0.24 },
];
const market = [
  { name: 'Market', series: { file: 'market.csv' } },
  { name: 'Network', pricePerKwh: 0.09 },
];
const head = { format: 'duskbank.tariff/1', utility: 'Marlow Fen Light', currency: 'USD' };
const credit = (pricePerKwh) => ({ kind: 'net-billing', name: 'Export credit', pricePerKwh });
const marketCredit = { kind: 'net-billing', name: 'Export at market', series: { file: 'market.csv' } };
const demand = [{ name: 'Demand', pricePerKw: 9 }];

/** Tariff documents by name; those at market prices read the series `market.csv`. */
export const INVENTED_TARIFFS = {
  window: { ...head, name: 'window', windows, export: credit(0.06) },
  'window, export 0.01': { ...head, name: 'window, export 0.01', windows, export: credit(0.01) },
  hourly: { ...head, name: 'hourly', energy: market, export: marketCredit },
  'window, demand charge': { ...head, name: 'window, demand charge', windows, demand, export: credit(0.06) },
  'hourly, demand charge': { ...head, name: 'hourly, demand charge', energy: market, demand, export: marketCredit },
  'window, blocks': {
    ...head,
    name: 'window, blocks',
    windows,
    energy: [{ name: 'Blocks', blocks: [{ upToKwh: 300, pricePerKwh: 0 }, { pricePerKwh: 0.08 }] }],
    export: credit(0.06),
  },
};

/** The price series that the tariffs name, for an axis of `hours` from `startEpochMs`. */
export function marketSeries(seed, startEpochMs, hours) {
  return { 'market.csv': { startEpochMs, stepMinutes: 60, pricePerKwh: hourlyMarket(seed, hours) } };
}
