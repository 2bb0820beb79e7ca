// Bills of a year of quarter hours, beside the plain pass that any bill needs: energy times price, summed. First the tariff of the
// demo home on its own flows; then the kinds of tariff that cost most of all in fixtures/tariffs, one of each, on random flows.
import { seeded } from '../support/invented.mjs';
import { demoHome } from './harness/demo.mjs';
import { checksum } from './harness/lines.mjs';

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

/** A bill may take so many plain passes. */
const MOST = 5;

export function* groups({ core }) {
  const { home } = demoHome(core);
  const demo = core.runStrategy(core.windowFill, home).flows;
  const empty = core.runStrategy(core.none, home).flows;
  yield group(core, 'demo home: its tariff', home.tariff, demo, empty, false);

  const axis = core.makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 15,
    intervals: 35_040,
    zone: 'America/Denver',
  });
  const next = seeded(20_260_101);
  const importKwh = new Float64Array(axis.intervals);
  const exportKwh = new Float64Array(axis.intervals);
  for (let i = 0; i < axis.intervals; i++) {
    const net = next() * 1.4 - 0.5;
    importKwh[i] = Math.max(0, net);
    exportKwh[i] = Math.max(0, -net);
  }
  // What another strategy would leave: evenings served from what noon had over.
  const shifted = {
    importKwh: importKwh.map((kwh, i) => (i % 96 >= 68 && i % 96 < 84 ? 0.3 * kwh : kwh)),
    exportKwh: exportKwh.map((kwh) => 0.6 * kwh),
  };
  for (const [name, fields] of Object.entries(tariffs)) {
    const tariff = core.parseTariff({ name, ...fields });
    const compiled = core.compileTariff(tariff, axis);
    const of = group(core, `~ ${name}`, compiled, { importKwh, exportKwh }, shifted, true);
    of.lines.push({
      name: 'compile',
      made: true,
      beside: 'plain pass',
      steps: axis.intervals,
      run: () => core.compileTariff(tariff, axis),
      sum: () => checksum(core.compileTariff(tariff, axis).importPricePerKwh),
    });
    yield of;
  }
}

function plainSum(kwh, prices) {
  let sum = 0;
  for (let i = 0; i < kwh.length; i++) sum += kwh[i] * prices[i];
  return sum;
}

function group(core, title, compiled, flows, others, made) {
  const prices = compiled.importPricePerKwh;
  const steps = prices.length;
  let sum = 0;
  const plainPass = () => {
    sum = plainSum(flows.importKwh, prices);
  };
  // What is bought and sold, and the price of each.
  const common = { made, steps, beside: 'plain pass', aim: { most: MOST }, limit: { arrays: 4 } };
  return {
    title,
    lines: [
      { name: 'plain pass', fixed: true, made, steps, limit: { arrays: 2 }, run: plainPass, sum: () => sum },
      {
        ...common,
        name: 'total',
        run: () => core.billTotal(compiled, flows),
        sum: () => core.billTotal(compiled, flows),
      },
      {
        ...common,
        name: 'bill, line by line',
        run: () => core.billTariff(compiled, flows),
        sum: () => core.billTariff(compiled, flows).total,
      },
      {
        ...common,
        name: 'total, another strategy',
        run: () => core.billTotal(compiled, others),
        sum: () => core.billTotal(compiled, others),
      },
    ],
  };
}
