// The exact optimum beside an outside simplex solver, interleaved in one run: `node tests/bench/optimum.mjs`.
// Prints the shape of the data, min and median ± MAD, ns a step, the ratio, and checks that both find the same cost.
import { cpus } from 'node:os';
import highsLoader from 'highs';
import { makeScratch, optimalDispatch } from '../../packages/core/dist/index.js';

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
const median = (values) => sorted(values)[Math.floor(values.length / 2)];
const spread = (values) => median(values.map((v) => Math.abs(v - median(values))));

console.log(`Node ${process.version}, ${cpus()[0]?.model.trim()}, ${cpus().length} cores`);
const withSolver = !process.argv.includes('--no-solver');
const cases = [
  { name: 'window tariff, 15 min', n: 35_040, h: 0.25, kind: 'window', rounds: 3, aim: 1000 },
  { name: 'hourly prices, 15 min', n: 35_040, h: 0.25, kind: 'volatile', rounds: 3, aim: 250 },
  {
    name: 'window tariff with monthly demand charge, 15 min',
    n: 35_040,
    h: 0.25,
    kind: 'window',
    demand: true,
    rounds: 1,
    aim: 100,
  },
  {
    name: 'hourly prices with monthly demand charge, 15 min',
    n: 35_040,
    h: 0.25,
    kind: 'volatile',
    demand: true,
    rounds: 1,
    aim: 100,
  },
  { name: 'window tariff, 5 min', n: 105_120, h: 1 / 12, kind: 'window', rounds: 0 },
  { name: 'hourly prices, 5 min', n: 105_120, h: 1 / 12, kind: 'volatile', rounds: 0 },
];
let failed = false;
for (const { name, n, h, kind, demand, rounds, aim } of cases) {
  const problem = makeProblem(n, h, kind, demand);
  const data = withSolver && rounds > 0 ? makeModel(problem) : undefined;
  for (let k = 0; k < (demand ? 5 : 60); k++) optimalDispatch(problem, scratch);
  const ours = [];
  const theirs = [];
  let solution;
  let expected;
  for (let round = 0; round < Math.max(1, rounds); round++) {
    for (let k = 0; k < (demand ? 7 : 15); k++) {
      const start = performance.now();
      solution = optimalDispatch(problem, scratch);
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
    `  ours    min ${sorted(ours)[0].toFixed(2)} ms, median ${ms.toFixed(2)} ± ${spread(ours).toFixed(2)} ms, ${((ms * 1e6) / n).toFixed(0)} ns a step`,
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
if (failed) {
  console.error('the costs differ');
  process.exitCode = 1;
}
