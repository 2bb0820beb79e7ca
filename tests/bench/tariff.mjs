// The tariff engine on a 35,040-step year: compile, bill, and the plain pass that a bill is measured against.
// Times are minimum and median ± MAD over fixed rounds; what counts is the median ratio within a round. Checksums are taken outside the clock.
// The cases are the kinds of tariff that cost most of all in fixtures/tariffs, one of each.
import { makeAxis } from '../../packages/core/dist/axis/index.js';
import { billTariff, billTotal, compileTariff, parseTariff } from '../../packages/core/dist/tariff/index.js';

const ROUNDS = 60;
const WARM_UP = 200;
const axis = makeAxis({
  startEpochMs: Date.UTC(2026, 0, 1, 7),
  stepMinutes: 15,
  intervals: 35_040,
  zone: 'America/Denver',
});

/** mulberry32: a small seeded generator. */
function random(seed) {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
const next = random(20_260_101);
const importKwh = new Float64Array(axis.intervals);
const exportKwh = new Float64Array(axis.intervals);
for (let i = 0; i < axis.intervals; i++) {
  const net = next() * 1.4 - 0.5;
  importKwh[i] = Math.max(0, net);
  exportKwh[i] = Math.max(0, -net);
}
const flows = { importKwh, exportKwh };
/** What another strategy would leave: evenings served from what noon had over. */
const shifted = {
  importKwh: importKwh.map((kwh, i) => (i % 96 >= 68 && i % 96 < 84 ? 0.3 * kwh : kwh)),
  exportKwh: exportKwh.map((kwh) => 0.6 * kwh),
};

const common = {
  format: 'duskbank.tariff/1',
  currency: 'USD',
  holidays: ['us-six'],
  seasons: [
    { name: 'summer', months: [6, 7, 8, 9] },
    { name: 'winter', from: '10-01', to: '05-31' },
  ],
  fixed: [{ name: 'Customer charge', amount: 12 }],
  taxes: [{ name: 'City tax', percent: 3 }],
};
const windows = [
  { name: 'on-peak', seasons: 'summer', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.46 },
  { name: 'mid-peak', seasons: 'summer', days: 'weekday', from: '12:00', to: '16:00', pricePerKwh: 0.28 },
  { name: 'on-peak', seasons: 'winter', days: 'weekday', from: '17:00', to: '20:00', pricePerKwh: 0.3 },
  { name: 'off-peak', otherwise: true, pricePerKwh: 0.14 },
];
const tariffs = {
  'windows, net billing': { ...common, windows, export: { kind: 'net-billing', pricePerKwh: 0.05 } },
  'windows, two demand charges': {
    ...common,
    windows,
    demand: [
      { name: 'On-peak demand', inWindows: 'on-peak', pricePerKw: 9 },
      { name: 'Demand', pricePerKw: 3, averagingMinutes: 60 },
    ],
  },
  'three demand charges on the same power': {
    ...common,
    windows,
    demand: [15, 30, 60].map((averagingMinutes) => ({
      name: `Demand over ${averagingMinutes} minutes`,
      pricePerKw: 2,
      averagingMinutes,
    })),
  },
  'blocks, net metering with carry': {
    ...common,
    windows,
    energy: [
      { name: 'Block rider', nonBypassable: true, blocks: [{ upToKwh: 300, pricePerKwh: 0 }, { pricePerKwh: 0.02 }] },
    ],
    export: { kind: 'net-metering', carry: 'kwh', trueUpMonth: 4, surplusPerKwh: 0.03 },
  },
  'minimum bill, credit carried in money': {
    ...common,
    windows,
    minimumBill: { amount: 20 },
    export: { kind: 'net-billing', pricePerKwh: 0.05, carry: 'money', trueUpMonth: 4 },
  },
  'demand, minimum bill over all, credit against all': {
    ...common,
    windows,
    demand: [{ name: 'Demand', pricePerKw: 3, averagingMinutes: 60 }],
    minimumBill: { amount: 20 },
    export: { kind: 'net-billing', pricePerKwh: 0.05, carry: 'money', offsets: 'all', trueUpMonth: 4 },
  },
  'mean of the three highest days, by class': {
    ...common,
    windows,
    demand: [
      {
        name: 'Capacity',
        averagingMinutes: 60,
        highestDays: 3,
        steps: [{ upToKw: 1, amount: 20 }, { upToKw: 2, amount: 35 }, { amount: 50 }],
      },
    ],
  },
  'blocks by the day': {
    ...common,
    energy: [{ name: 'Energy', resets: 'day', blocks: [{ upToKwh: 8, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }] }],
    export: { kind: 'net-billing', pricePerKwh: 0.05 },
  },
  'export credit by month and hour': {
    ...common,
    windows,
    export: {
      kind: 'net-billing',
      table: Array.from({ length: 12 }, (_, m) => ({
        months: [m + 1],
        pricesByHour: Array.from({ length: 24 }, (_, h) => Math.round(500 + 9 * m + 20 * ((h * 7) % 24)) / 1e4),
      })),
    },
  },
  'four riders and taxes on named lines': {
    ...common,
    windows,
    energy: [{ name: 'Fuel adjustment', pricePerKwh: -0.0043 }],
    adjustments: [
      { name: 'Storm recovery', percent: 1.85, on: ['energy'] },
      { name: 'Infrastructure', percent: 2.2, on: ['energy', 'Customer charge', 'Storm recovery'] },
    ],
    taxes: [
      { name: 'Franchise fee', percent: 3, on: ['energy', 'adjustment'] },
      { name: 'State tax', percent: 5.5, on: ['all'] },
    ],
  },
};

/** Times several runs, one of each a round, so that a busy moment falls on all of them. */
function time(runs) {
  const samples = runs.map(() => []);
  for (let r = 0; r < ROUNDS + WARM_UP; r++)
    for (const [k, run] of runs.entries()) {
      const start = process.hrtime.bigint();
      run();
      if (r >= WARM_UP) samples[k].push(Number(process.hrtime.bigint() - start) / 1e6);
    }
  return samples;
}

function middle(samples) {
  const sorted = [...samples].sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}

/** Median over the rounds of a run's time by the first one's in the same round. */
function times(samples, base) {
  return middle(samples.map((s, r) => s / base[r]));
}

function plainPass(prices) {
  let sum = 0;
  for (let i = 0; i < importKwh.length; i++) sum += importKwh[i] * prices[i];
  return sum;
}

function show(samples) {
  const median = middle(samples);
  const mad = middle(samples.map((s) => Math.abs(s - median)));
  return `${Math.min(...samples).toFixed(3)} ms min, ${median.toFixed(3)} ± ${mad.toFixed(3)} ms`;
}

let checksum = 0;
let worst = 0;
console.log(`tariff: ${axis.intervals} steps of ${axis.stepMinutes} min, ${ROUNDS} rounds after ${WARM_UP} to warm up`);
for (const [name, fields] of Object.entries(tariffs)) {
  const tariff = parseTariff({ name, ...fields });
  const compiled = compileTariff(tariff, axis);
  let sink = 0;
  const [pass, total, bill, second] = time([
    () => {
      sink += plainPass(compiled.importPricePerKwh);
    },
    () => {
      sink += billTotal(compiled, flows);
    },
    () => {
      sink += billTariff(compiled, flows).total;
    },
    () => {
      sink += billTotal(compiled, shifted);
    },
  ]);
  const [compile] = time([
    () => {
      sink += compileTariff(tariff, axis).terms.length;
    },
  ]);
  if (!Number.isFinite(sink)) throw new Error('a bill is not a number');
  const [ofTotal, ofBill, ofSecond] = [total, bill, second].map((samples) => times(samples, pass));
  console.log(`  ${name}`);
  console.log(`    plain pass  ${show(pass)}`);
  console.log(`    compile     ${show(compile)}`);
  console.log(`    total       ${show(total)}: ${ofTotal.toFixed(1)} × the plain pass`);
  console.log(`    bill        ${show(bill)}: ${ofBill.toFixed(1)} × the plain pass`);
  console.log(
    `    2nd total   ${show(second)}: ${ofSecond.toFixed(1)} ×, another strategy on the same compiled tariff`,
  );
  worst = Math.max(worst, ofTotal, ofBill, ofSecond);
  checksum += billTariff(compiled, flows).total + billTotal(compiled, flows) + billTotal(compiled, shifted);
}
console.log(`  dearest: ${worst.toFixed(1)} × the plain pass (5 is the limit)`);
console.log(`  checksum ${checksum.toFixed(4)}`);
