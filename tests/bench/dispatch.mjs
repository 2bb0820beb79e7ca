// A 15-minute year of the demo home through each strategy, beside a bare loop; and a cold `compare`, beside `node -e 0`.
// Rounds are interleaved, the median is quoted, checksums are computed outside the clock.
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import {
  hold,
  homeOnAxis,
  none,
  peakShave,
  runStrategy,
  selfConsumption,
  windowFill,
} from '../../packages/core/dist/dispatch/index.js';
import { parseIntervalData, repairGaps } from '../../packages/core/dist/meter/index.js';
import { executeLevels, makeFlows, makeLevels, startState } from '../../packages/core/dist/plant/index.js';
import { parseSite } from '../../packages/core/dist/site/index.js';
import { makeStudy } from '../../packages/core/dist/study/index.js';
import { parseTariff } from '../../packages/core/dist/tariff/index.js';

const ROUNDS = 60;
/** Rounds before the clock counts: until then the engine still changes what it runs. */
const WARM_UP = 340;
const read = (name) => readFileSync(new URL(`../../fixtures/demo/${name}`, import.meta.url), 'utf8');
const site = parseSite(JSON.parse(read('site.json')));
const { series } = parseIntervalData(read('home.csv'), { zone: site.zone });
const { home } = makeStudy({
  site,
  series: repairGaps(series).series,
  tariff: parseTariff(JSON.parse(read('tariff.json'))),
});
const n = home.axis.intervals;
const onAxis = homeOnAxis(home);
const flows = makeFlows(n);
const levels = makeLevels(n);
console.log(`demo home, ${n} intervals, node ${process.version}, ${ROUNDS} rounds`);

const out = new Float64Array(n);
function bare() {
  let stored = 2;
  const net = onAxis.netKwh;
  for (let i = 0; i < n; i++) {
    stored -= net[i];
    if (stored < 2) stored = 2;
    else if (stored > 9.6) stored = 9.6;
    out[i] = stored;
  }
}

const strategies = [none, hold, selfConsumption, windowFill, peakShave({ targetKw: 2 }), peakShave()];
const labels = ['none', 'hold', 'self-consumption', 'window', 'peak-shave', 'peak-shave, learned'];
// The levels that each strategy fills over the year, for the plant's loop alone.
const filled = strategies.map((strategy) => {
  const own = makeLevels(n);
  runStrategy(strategy, home, { onAxis, levels: own });
  return own;
});

const tasks = [{ name: 'bare loop', run: bare, sum: () => total(out) }];
for (const [k, strategy] of strategies.entries()) {
  if (strategy.role !== 'baseline')
    tasks.push({
      name: `plant loop and its door, ${labels[k]}`,
      run() {
        executeLevels(onAxis, filled[k], 0, n, startState(home.plant), flows);
      },
      sum: () => total(flows.socKwh),
    });
  tasks.push({
    name: `whole run, ${labels[k]}`,
    run() {
      runStrategy(strategy, home, { onAxis, flows, levels });
    },
    sum: () => total(flows.importKwh),
  });
}
for (const task of tasks) task.times = [];
for (let round = 0; round < WARM_UP + ROUNDS; round++)
  for (const task of tasks) {
    const begun = performance.now();
    task.run();
    const ms = performance.now() - begun;
    if (round >= WARM_UP) task.times.push(ms);
    if (round === WARM_UP + ROUNDS - 1) task.check = task.sum();
  }
const bareMs = median(tasks[0].times);
for (const task of tasks) {
  const ms = median(task.times);
  const spread = median(task.times.map((time) => Math.abs(time - ms)));
  console.log(
    `${task.name.padEnd(44)} ${ms.toFixed(3)} ms ± ${spread.toFixed(3)}  ${(n / ms / 1000).toFixed(0).padStart(4)} M/s  ` +
      `${(ms / bareMs).toFixed(1).padStart(5)} × bare  checksum ${task.check.toFixed(6)}`,
  );
}

const cli = fileURLToPath(new URL('../../packages/cli/bin/duskbank.js', import.meta.url));
const demo = fileURLToPath(new URL('../../fixtures/demo/site.json', import.meta.url));
const cold = { compare: [], empty: [], peakMb: 0 };
for (let round = 0; round < 8; round++) {
  cold.compare.push(timed([cli, 'compare', demo]));
  cold.empty.push(timed(['-e', '0']));
}
const script = `import(${JSON.stringify(`file://${cli}`)}).then(() => process.on('exit', () => process.stderr.write('peak ' + process.resourceUsage().maxRSS)))`;
const { stderr } = spawnSync(process.execPath, ['-e', script, 'duskbank', 'compare', demo], { encoding: 'utf8' });
const peakKb = Number(/peak (\d+)/.exec(stderr)?.[1]);
console.log(
  `cold compare ${median(cold.compare).toFixed(0)} ms, node -e 0 ${median(cold.empty).toFixed(0)} ms: ` +
    `${(median(cold.compare) / median(cold.empty)).toFixed(1)} ×; peak memory ${(peakKb / 1024).toFixed(0)} MB`,
);

function timed(args) {
  const begun = performance.now();
  const { status } = spawnSync(process.execPath, args);
  if (status !== 0) throw new Error(`exit ${status}`);
  return performance.now() - begun;
}

function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)];
}

function total(values) {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return sum;
}
