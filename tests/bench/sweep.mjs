// A sweep of 200 batteries on two tariffs by `evaluate`, beside the sum of its runs and bills alone: what a sweep costs
// over what it can't do without. The demo home, 15-minute year. Rounds are interleaved, the least is quoted.
import { readFileSync } from 'node:fs';
import { runStrategy, windowFill } from '../../packages/core/dist/dispatch/index.js';
import { parseIntervalData, repairGaps } from '../../packages/core/dist/meter/index.js';
import { makeFlows, makeLevels } from '../../packages/core/dist/plant/index.js';
import { parseSite } from '../../packages/core/dist/site/index.js';
import { makeStudy } from '../../packages/core/dist/study/index.js';
import { billTariff, billTotal, compileTariff, parseTariff } from '../../packages/core/dist/tariff/index.js';
import { evaluate, withPlant, withTariff } from '../../packages/core/dist/trial/index.js';

const ROUNDS = 6;
const BATTERIES = 200;
const read = (name) => readFileSync(new URL(`../../fixtures/demo/${name}`, import.meta.url), 'utf8');
const site = parseSite(JSON.parse(read('site.json')));
const { series } = parseIntervalData(read('home.csv'), { zone: site.zone });
const tariff = parseTariff(JSON.parse(read('tariff.json')));
const { home } = makeStudy({ site, series: repairGaps(series).series, tariff });
const { axis, plant } = home;
const dearer = JSON.parse(read('tariff.json'));
for (const window of dearer.windows) window.pricePerKwh *= 1.5;
const homes = [home, withTariff(home, compileTariff(parseTariff({ ...dearer, name: 'dearer' }), axis))];
const plants = Array.from({ length: BATTERIES }, (_, k) => ({
  ...plant,
  capacityKwh: plant.capacityKwh * (0.5 + k / 100),
  chargeLimitKw: plant.chargeLimitKw * (0.5 + (k % 20) / 10),
}));
const flows = makeFlows(axis.intervals);
const levels = makeLevels(axis.intervals);

function swept() {
  let sum = 0;
  for (const of of homes)
    for (const each of plants) sum += evaluate(withPlant(of, each), windowFill, ['bill'], { flows, levels }).bill.total;
  return sum;
}

/** The runs and the bills, the plants laid on the axis beforehand: each is timed, and nothing around them is. */
function least() {
  let sum = 0;
  let ms = 0;
  for (const of of homes)
    for (const each of plants) {
      const laid = withPlant(of, each);
      const started = performance.now();
      runStrategy(windowFill, laid, { onAxis: laid.onAxis, flows, levels });
      sum += billTariff(of.tariff, flows).total;
      billTotal(of.tariff, flows);
      ms += performance.now() - started;
    }
  return { sum, ms };
}

let sweepMs = Number.POSITIVE_INFINITY;
let leastMs = Number.POSITIVE_INFINITY;
let checked = true;
for (let round = 0; round < ROUNDS; round++) {
  globalThis.gc?.();
  const { sum, ms } = least();
  const started = performance.now();
  const all = swept();
  sweepMs = Math.min(sweepMs, performance.now() - started);
  leastMs = Math.min(leastMs, ms);
  checked &&= Math.abs(all - sum) < 1e-6 * Math.abs(sum) + 1;
}
if (!checked) throw new Error('the sweep and its runs differ');
const mb = process.memoryUsage().rss / 2 ** 20;
console.log(
  `demo home, ${axis.intervals} intervals, ${BATTERIES} batteries × ${homes.length} tariffs, node ${process.version}`,
);
console.log(
  `sweep ${(sweepMs / (BATTERIES * 2)).toFixed(2)} ms a battery, ${(sweepMs / leastMs).toFixed(3)} × its runs and bills (aim ≤ 1.1)`,
);
console.log(`memory ${mb.toFixed(0)} MB (aim ≤ 250)`);
