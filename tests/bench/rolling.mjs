// A year of 35,040 steps under `rolling`, planned again every hour and at every step, beside the best in hindsight of the
// same year, interleaved in one run: `node tests/bench/rolling.mjs [rounds]`. Home and prices are made from seeds.
// Prints min and median ± MAD, steps a second, how many hindsights of the year it costs, and the share it captures.
import { cpus } from 'node:os';
import { makeAxis } from '../../packages/core/dist/axis/index.js';
import { bestInHindsight, none, rolling, runStrategy } from '../../packages/core/dist/dispatch/index.js';
import { billTotal, compileTariff, parseTariff } from '../../packages/core/dist/tariff/index.js';
import { INVENTED_HOMES, INVENTED_TARIFFS, inventedHome, marketSeries } from '../support/invented.mjs';

const rounds = Number(process.argv[2] ?? 3);
const only = process.argv[3];
const data = inventedHome(INVENTED_HOMES.find((home) => home.solarKw > 0));
const axis = makeAxis(data);
const series = marketSeries(7, data.startEpochMs, data.intervals * axis.stepHours);
const oneWay = Math.sqrt(0.88);
const plant = {
  capacityKwh: 13.5,
  floorKwh: 1.5,
  shutdownKwh: 0,
  startKwh: 1.5,
  chargeLimitKw: 5,
  dischargeLimitKw: 5,
  chargeEfficiency: oneWay,
  dischargeEfficiency: oneWay,
  decayPerHour: 0,
  standbyW: 0,
  gridCharging: true,
  batteryExport: true,
  coupling: 'ac',
  inverterKw: 5,
  solarChargeEfficiency: oneWay,
  reach: 1,
};
const service = { importLimitKw: Number.POSITIVE_INFINITY, exportLimitKw: Number.POSITIVE_INFINITY };
/** Seconds that a year of planning at every step may take, where one is stated. */
const LIMITS = { window: 4, hourly: 15 };
const CADENCES = [1, 0.25];

const sorted = (values) => [...values].sort((a, b) => a - b);
const median = (values) => sorted(values)[Math.floor(values.length / 2)];
const spread = (values) => median(values.map((v) => Math.abs(v - median(values))));

console.log(
  `${data.name}, ${data.intervals} steps of 15 min, 13.5 kWh, ${rounds} rounds; Node ${process.version}, ${cpus()[0]?.model.trim()}, ${cpus().length} cores`,
);
for (const name of ['window', 'window, demand charge', 'hourly', 'hourly, demand charge']) {
  if (only !== undefined && name !== only) continue;
  const document = INVENTED_TARIFFS[name];
  const tariff = compileTariff(parseTariff(document), axis, { series });
  const home = { axis, loadKwh: data.loadKwh, solarKwh: data.solarKwh, tariff, plant, service };
  const baseline = billTotal(tariff, runStrategy(none, home).flows);
  const demand = tariff.terms.some((term) => term.kind === 'demand');
  const hindsight = { ms: [], bound: 0 };
  const planned = CADENCES.map((everyHours) => ({ everyHours, ms: [], total: 0 }));
  for (let round = 0; round < rounds; round++) {
    for (let k = 0; k < (demand ? 1 : 5); k++) {
      const begun = performance.now();
      hindsight.bound = bestInHindsight(home).boundTotal;
      hindsight.ms.push(performance.now() - begun);
    }
    for (const entry of planned) {
      const begun = performance.now();
      const { flows } = runStrategy(rolling({ everyHours: entry.everyHours }), home);
      entry.ms.push(performance.now() - begun);
      entry.total = billTotal(tariff, flows);
    }
  }
  const best = median(hindsight.ms);
  console.log(
    `${name}: best in hindsight ${best.toFixed(1)} ± ${spread(hindsight.ms).toFixed(1)} ms, saves ${(baseline - hindsight.bound).toFixed(2)}`,
  );
  for (const { everyHours, ms, total } of planned) {
    const limit = everyHours === 0.25 && LIMITS[name] ? ` (limit ${LIMITS[name]} s)` : '';
    console.log(
      `  every ${60 * everyHours} min  min ${(sorted(ms)[0] / 1000).toFixed(2)} s, median ${(median(ms) / 1000).toFixed(2)} ± ${(spread(ms) / 1000).toFixed(2)} s${limit}, ` +
        `${(data.intervals / median(ms) / 1).toFixed(0)} steps/ms, ${(median(ms) / best).toFixed(0)} hindsights, ` +
        `captures ${((100 * (baseline - total)) / (baseline - hindsight.bound)).toFixed(2)} %`,
    );
  }
}
