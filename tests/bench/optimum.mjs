// The exact optimum beside an outside simplex solver, interleaved in one run: `node tests/bench/optimum.mjs`.
// The demo home comes first; all others are made up, and say so. Prints the shape of the data, the least CPU time a step,
// min and median ± MAD, the ratio, and checks that both find the same cost. Then how time grows with steps.
import { readFileSync } from 'node:fs';
import { cpus } from 'node:os';
import highsLoader from 'highs';
import {
  checkBound,
  homeOnAxis,
  homeProblem,
  makeScratch,
  optimalDispatch,
  storedPrices,
} from '../../packages/core/dist/dispatch/index.js';
import { parseIntervalData, repairGaps } from '../../packages/core/dist/meter/index.js';
import { parseSite } from '../../packages/core/dist/site/index.js';
import { makeStudy } from '../../packages/core/dist/study/index.js';
import { parseTariff } from '../../packages/core/dist/tariff/index.js';

const highs = await highsLoader();
/** As whoever solves many problems in a row does. */
const scratch = makeScratch();

function seeded(seed) {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** The demo home: windows by season, decay, a limit on export. */
function demoProblem() {
  const read = (name) => readFileSync(new URL(`../../fixtures/demo/${name}`, import.meta.url), 'utf8');
  const site = parseSite(JSON.parse(read('site.json')));
  const { series } = parseIntervalData(read('home.csv'), { zone: site.zone });
  const tariff = parseTariff(JSON.parse(read('tariff.json')));
  const { home } = makeStudy({ site, series: repairGaps(series).series, tariff });
  return homeProblem(homeOnAxis(home), home.tariff);
}

/** A made-up home of about 9,000 kWh a year with 5 kW of solar, and a 13.5 kWh battery. */
function makeProblem(intervals, stepHours, kind, demand) {
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

/** The same problem for the solver: import, export, charge, discharge and stored energy an interval. */
function makeModel(p) {
  const n = p.netLoadKwh.length;
  const charges = p.demandCharges ?? [];
  const peaks = charges.length === 0 ? 0 : Math.max(...charges[0].period) + 1;
  const numCols = 5 * n + peaks;
  const colCost = new Float64Array(numCols);
  const colLower = new Float64Array(numCols);
  const colUpper = new Float64Array(numCols).fill(Infinity);
  const starts = [];
  const indices = [];
  const values = [];
  const rowLower = [];
  const rowUpper = [];
  const row = (low, high, ...entries) => {
    starts.push(indices.length);
    rowLower.push(low);
    rowUpper.push(high);
    for (const [column, value] of entries) {
      indices.push(column);
      values.push(value);
    }
  };
  for (let i = 0; i < n; i++) {
    const c = 5 * i;
    colCost[c] = p.importPricePerKwh[i];
    colCost[c + 1] = -p.exportPricePerKwh[i];
    colUpper[c + 2] = p.chargeLimitKw * p.stepHours;
    colUpper[c + 3] = p.dischargeLimitKw * p.stepHours;
    colLower[c + 4] = p.floorKwh;
    colUpper[c + 4] = p.capacityKwh;
    row(p.netLoadKwh[i], p.netLoadKwh[i], [c, 1], [c + 1, -1], [c + 2, -1], [c + 3, 1]);
    const flows = [
      [c + 4, 1],
      [c + 2, -p.chargeEfficiency],
      [c + 3, 1 / p.dischargeEfficiency],
    ];
    if (i === 0) row(p.initialKwh, p.initialKwh, ...flows);
    else row(0, 0, ...flows, [c - 1, -1]);
    if (peaks > 0) row(-Infinity, 0, [c, 1 / p.stepHours], [5 * n + charges[0].period[i], -1]);
  }
  for (let g = 0; g < peaks; g++) colCost[5 * n + g] = charges[0].pricePerKw;
  return {
    numCols,
    numRows: rowLower.length,
    colCost,
    colLower,
    colUpper,
    rowLower,
    rowUpper,
    matrix: {
      format: 'csr',
      numRows: rowLower.length,
      numCols,
      starts: [...starts, indices.length],
      indices,
      values,
    },
  };
}

function solve(data) {
  return highs.withModel(data, (model) => {
    model.options.set('output_flag', false);
    model.options.set('solver', 'simplex');
    const start = performance.now();
    model.run();
    const ms = performance.now() - start;
    return { ms, cost: Number(model.info.get('objective_function_value')) };
  });
}

const sorted = (values) => [...values].sort((a, b) => a - b);
/** CPU time since, user and system, ns. */
const cpuNs = (since) => {
  const { user, system } = process.cpuUsage(since);
  return 1e3 * (user + system);
};
const median = (values) => sorted(values)[Math.floor(values.length / 2)];
const spread = (values) => median(values.map((v) => Math.abs(v - median(values))));

console.log(`Node ${process.version}, ${cpus()[0]?.model.trim()}, ${cpus().length} cores`);
const withSolver = !process.argv.includes('--no-solver');
const demo = demoProblem();
const decay = demo.selfDischargePerStep;
const { importLimitKw: _, exportLimitKw: __, ...free } = demo;
const year = demo.netLoadKwh.length;
const cases = [
  { name: 'demo home', of: demo, n: year },
  { name: 'demo home without decay', of: { ...demo, selfDischargePerStep: 0 }, n: year },
  { name: 'demo home without decay and limits', of: { ...free, selfDischargePerStep: 0 }, n: year },
  { name: 'made up, window tariff, 15 min', n: 35_040, h: 0.25, kind: 'window', rounds: 3, aim: 1000 },
  { name: 'made up, hourly prices, 15 min', n: 35_040, h: 0.25, kind: 'volatile', rounds: 3, aim: 250 },
  {
    name: 'made up, window tariff with monthly demand charge, 15 min',
    n: 35_040,
    h: 0.25,
    kind: 'window',
    demand: true,
    rounds: 1,
    aim: 100,
  },
  {
    name: 'made up, hourly prices with monthly demand charge, 15 min',
    n: 35_040,
    h: 0.25,
    kind: 'volatile',
    demand: true,
    rounds: 1,
    aim: 100,
  },
  {
    name: 'made up, window tariff and decay, 15 min',
    n: 35_040,
    h: 0.25,
    kind: 'window',
    more: { selfDischargePerStep: decay },
  },
  {
    name: 'made up, hourly prices and decay, 15 min',
    n: 35_040,
    h: 0.25,
    kind: 'volatile',
    more: { selfDischargePerStep: decay },
  },
];
let failed = false;
for (const { name, of, n, h, kind, demand, more, rounds = 0, aim } of cases) {
  const problem = of ?? { ...makeProblem(n, h, kind, demand), ...more };
  const data = withSolver && rounds > 0 ? makeModel(problem) : undefined;
  for (let k = 0; k < (demand ? 5 : 60); k++) optimalDispatch(problem, scratch);
  const ours = [];
  const theirs = [];
  let solution;
  let expected;
  let leastNs = Number.POSITIVE_INFINITY;
  for (let round = 0; round < Math.max(1, rounds); round++) {
    for (let k = 0; k < (demand ? 7 : 15); k++) {
      const start = performance.now();
      const cpu = process.cpuUsage();
      solution = optimalDispatch(problem, scratch);
      leastNs = Math.min(leastNs, cpuNs(cpu) / n);
      ours.push(performance.now() - start);
    }
    if (data) {
      const { ms, cost } = solve(data);
      theirs.push(ms);
      expected = cost;
    }
  }
  const ms = median(ours);
  console.log(
    `${name}, ${n} steps: ${solution.proof}, cost ${solution.cost.toFixed(6)}, gap ${solution.gap.toExponential(1)}`,
  );
  console.log(
    `  ours    min ${sorted(ours)[0].toFixed(2)} ms, median ${ms.toFixed(2)} ± ${spread(ours).toFixed(2)} ms, ${leastNs.toFixed(0)} ns of CPU a step`,
  );
  if (data) {
    const difference = Math.abs(solution.cost - expected) / Math.abs(expected);
    const ratio = median(theirs) / ms;
    console.log(
      `  simplex min ${sorted(theirs)[0].toFixed(0)} ms, median ${median(theirs).toFixed(0)} ± ${spread(theirs).toFixed(0)} ms: ${ratio.toFixed(0)} × (aim ${aim} ×), relative difference of cost ${difference.toExponential(1)}`,
    );
    if (difference > (demand ? 1e-6 : 1e-9)) failed = true;
  }
}
// What the certificate of the demo home's optimum costs, beside finding it.
const best = optimalDispatch(demo, scratch);
const prices = storedPrices(demo, best);
if (!checkBound(demo, best.cost, prices).holds) failed = true;
console.log(
  `demo home, prices of its schedule ${least(() => storedPrices(demo, best), year)} ns of CPU a step, check of its bound ${least(() => checkBound(demo, best.cost, prices), year)}`,
);

function least(run, steps) {
  let ns = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 20; k++) {
    const cpu = process.cpuUsage();
    run();
    ns = Math.min(ns, cpuNs(cpu) / steps);
  }
  return ns.toFixed(0);
}

// Growth: CPU a step should stay the same.
for (const kind of ['window', 'volatile'])
  for (const [what, selfDischargePerStep] of [
    ['', 0],
    [' and decay', decay],
  ]) {
    const tell = (label, n, h) => {
      const problem = { ...makeProblem(n, h, kind), selfDischargePerStep: selfDischargePerStep * (h / 0.25) };
      return `${label} ${least(() => optimalDispatch(problem, scratch), n)}`;
    };
    const years = [1, 2, 5, 10].map((count) => tell(`${count} y`, count * 35_040, 0.25));
    const lengths = [60, 15, 5].map((minutes) => tell(`${minutes} min`, (365 * 1440) / minutes, minutes / 60));
    const name = kind === 'window' ? 'window tariff' : 'hourly prices';
    console.log(
      `growth, made up, ${name}${what}, ns of CPU a step: ${years.join(', ')}; a year at ${lengths.join(', ')}`,
    );
  }
if (failed) {
  console.error('the costs differ');
  process.exitCode = 1;
}
