// Makes the tables of docs/concepts/validation-dispatch.md: the share of the best in hindsight that each strategy
// captures, over open and invented homes and several tariffs. Run after a build: `node scripts/validate-dispatch.mjs`
// prints the tables, `--write` puts them into the document, which takes the open data. `--homes a;b` and
// `--tariffs a;b` make a part of them. The homes' data stay where they are: only figures go into the document.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { makeAxis } from '../packages/core/dist/axis/index.js';
import {
  bestInHindsight,
  clearSkyScaled,
  homeOnAxis,
  homeProblem,
  likeDayBlend,
  none,
  optimalDispatch,
  persistence,
  rolling,
  runStrategy,
  sameWeekday,
  scoreForecast,
  searchedSettings,
  selfConsumption,
  windowFill,
} from '../packages/core/dist/dispatch/index.js';
import { billTotal, compileTariff, evaluateTerms, parseTariff } from '../packages/core/dist/tariff/index.js';
import { INVENTED_HOMES, INVENTED_TARIFFS, inventedHome, marketSeries } from '../tests/support/invented.mjs';
import { openHomes as readOpenHomes } from './open-homes.mjs';

const { values: args } = parseArgs({
  options: { write: { type: 'boolean' }, homes: { type: 'string' }, tariffs: { type: 'string' } },
});
const document = new URL('../docs/concepts/validation-dispatch.md', import.meta.url);
const openData = new URL('../../shared/data/', import.meta.url);
const TARIFFS = ['window', 'window, export 0.01', 'hourly', 'window, demand charge', 'window, blocks'];
const SIZES_KWH = [7.6, 13.5];
const MARKET_SEED = 5;
const FORECAST = { error: 0.2, seed: 1 };
const CONTROLLER = { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 30 };
/** Cells under this are taken apart. */
const GOOD = 0.95;
/** A battery with less than this share in it is called empty. */
const EMPTY = 0.05;
/** Half days that a plan of `rolling` looks ahead. */
const HALF_DAYS = 4;

if (args.write && (args.homes || args.tariffs)) throw new Error('--write takes all homes and tariffs');
if (args.write && !existsSync(openData)) {
  console.error('the open data are not here: without them the document cannot be made; leave out --write');
  process.exit(1);
}

function openHomes() {
  if (!existsSync(openData)) {
    console.error('note: the open data are not here; invented homes only');
    return [];
  }
  return readOpenHomes(openData, [1, 4]);
}

function plantOf(capacityKwh) {
  const oneWay = Math.sqrt(0.85);
  return {
    capacityKwh,
    floorKwh: 0,
    shutdownKwh: 0,
    startKwh: 0,
    chargeLimitKw: 3,
    dischargeLimitKw: 6,
    chargeEfficiency: oneWay,
    dischargeEfficiency: oneWay,
    decayPerHour: 0,
    standbyW: 0,
    gridCharging: true,
    batteryExport: true,
    coupling: 'ac',
    inverterKw: 12,
    solarChargeEfficiency: oneWay,
    reach: 1,
  };
}

/** Everything known, but no further than `rolling` looks: planned anew each noon and midnight. Energy prices only. */
const knownAhead = {
  name: 'known ahead',
  knowledge: 'foresight',
  begin(view) {
    const { axis, tariff } = view;
    const onAxis = homeOnAxis(view);
    const problem = homeProblem(onAxis, tariff);
    const { day, minuteOfDay } = axis.calendar;
    const starts = [];
    let last = -1;
    for (let i = 0; i < axis.intervals; i++) {
      const half = 2 * day[i] + (minuteOfDay[i] >= 720 ? 1 : 0);
      if (half !== last) starts.push(i);
      last = half;
    }
    let next = 0;
    return {
      plan(from, socKwh, levels) {
        const to = starts[++next] ?? axis.intervals;
        const end = starts[next - 1 + HALF_DAYS] ?? axis.intervals;
        const part = { ...problem, initialKwh: socKwh };
        for (const [field, value] of Object.entries(problem))
          if (value instanceof Float64Array) part[field] = value.subarray(from, end);
        const { chargeKwh, dischargeKwh, socKwh: held } = optimalDispatch(part);
        for (let i = from; i < to; i++) {
          const net = onAxis.netKwh[i];
          const [charge, discharge, level] = [chargeKwh[i - from], dischargeKwh[i - from], held[i - from]];
          levels.solarChargeToKwh[i] = charge > 0 ? level : Number.NEGATIVE_INFINITY;
          levels.gridChargeToKwh[i] = charge > Math.max(0, -net) + 1e-12 ? level : Number.NEGATIVE_INFINITY;
          levels.serveDownToKwh[i] = discharge > 0 ? level : Number.POSITIVE_INFINITY;
          levels.exportDownToKwh[i] = discharge > Math.max(0, net) + 1e-12 ? level : Number.POSITIVE_INFINITY;
        }
        return to;
      },
    };
  },
};

// `|| 0`: no −0.0.
const percent = (share) => (share === undefined ? '–' : (Math.round(1000 * share) / 10 || 0).toFixed(1));
const homes = [...openHomes(), ...INVENTED_HOMES.map((spec) => inventedHome(spec))].filter(
  ({ name }) => !args.homes || args.homes.split(';').includes(name),
);
const service = { importLimitKw: Number.POSITIVE_INFINITY, exportLimitKw: Number.POSITIVE_INFINITY };
const captured = [];
const known = [];
const peaks = [];

function judge(data, axis, tariffName, capacityKwh) {
  const series = marketSeries(MARKET_SEED, data.startEpochMs, Math.ceil(data.intervals * axis.stepHours));
  const tariff = compileTariff(parseTariff(INVENTED_TARIFFS[tariffName]), axis, { series });
  const home = {
    axis,
    loadKwh: data.loadKwh,
    solarKwh: data.solarKwh,
    tariff,
    plant: plantOf(capacityKwh),
    service,
  };
  const idle = runStrategy(none, home).flows;
  const baseline = billTotal(tariff, idle);
  const best = bestInHindsight(home);
  const most = baseline - best.boundTotal;
  const share = (flows) => (baseline - billTotal(tariff, flows)) / most;
  const run = (strategy) => runStrategy(strategy, home).flows;
  const sunny = data.solarKwh.some((kwh) => kwh > 0);
  const planned = run(rolling());
  const cell = {
    tariffName,
    home: data.name,
    capacityKwh,
    most,
    exact: best.proof === 'exact',
    window: share(run(windowFill)),
    selfConsumption: share(run(selfConsumption)),
    settings: share(run(searchedSettings(CONTROLLER))),
    rolling: share(planned),
    forecast: sunny ? share(run(rolling({ solarForecast: FORECAST }))) : undefined,
  };
  captured.push(cell);
  const demand = tariff.terms.findIndex((term) => term.kind === 'demand');
  if (demand >= 0) {
    const quantities = (flows) => evaluateTerms(axis, tariff.terms, flows)[demand].billedKw;
    const prices = tariff.terms[demand].pricePerKw;
    const [ours, ideal, without] = [planned, best.flows, idle].map(quantities);
    let overpaid = 0;
    for (let g = 0; g < ours.length; g++) overpaid += (ours[g] - ideal[g]) * prices[g];
    // Months whose highest import, the first of equals, found the battery (all but) empty.
    const { group } = tariff.terms[demand];
    const highest = new Int32Array(ours.length).fill(-1);
    for (let i = 1; i < axis.intervals; i++) {
      const at = highest[group[i]];
      if (at < 0 || planned.importKwh[i] > planned.importKwh[at] + 1e-9) highest[group[i]] = i;
    }
    const empty = highest.filter((i) => i > 0 && planned.socKwh[i - 1] < EMPTY * capacityKwh).length;
    const mean = (kw) => kw.reduce((sum, value) => sum + value, 0) / kw.length;
    peaks.push({
      ...cell,
      demandLost: overpaid / most,
      firstLost: ((ours[0] - ideal[0]) * prices[0]) / most,
      empty: `${empty} of ${ours.length}`,
      without: mean(without),
      ours: mean(ours),
      ideal: mean(ideal),
    });
  } else if (cell.rolling < GOOD && tariff.terms.every((term) => term.kind === 'fixed')) {
    const sun = sunny ? share(run(rolling({ solarForecast: { error: 0, seed: 1 } }))) : cell.rolling;
    known.push({ ...cell, sun, all: share(run(knownAhead)) });
  }
}

const scores = [];
for (const data of homes) {
  const axis = makeAxis(data);
  for (const tariffName of TARIFFS)
    if (!args.tariffs || args.tariffs.split(';').includes(tariffName))
      for (const capacityKwh of SIZES_KWH) {
        judge(data, axis, tariffName, capacityKwh);
        console.error(`${data.name} · ${tariffName} · ${capacityKwh} kWh: ${percent(captured.at(-1).rolling)} %`);
      }
  const rate = (values, forecaster) => {
    const mean = values.reduce((sum, kwh) => sum + kwh, 0) / values.length;
    return mean > 0 ? scoreForecast(axis, values, forecaster).mae / mean : undefined;
  };
  scores.push([
    data.name,
    percent(rate(data.loadKwh, persistence)),
    percent(rate(data.loadKwh, sameWeekday)),
    percent(rate(data.loadKwh, likeDayBlend)),
    percent(rate(data.solarKwh, persistence)),
    percent(rate(data.solarKwh, clearSkyScaled)),
  ]);
}

function table(head, rows) {
  const widths = head.map((title, k) => Math.max(title.length, ...rows.map((row) => row[k].length)));
  const line = (cells) => `| ${cells.map((cell, k) => cell.padEnd(widths[k])).join(' | ')} |`;
  return [line(head), line(widths.map((width) => '-'.repeat(width))), ...rows.map(line)].join('\n');
}

const parts = {};
parts.captured = TARIFFS.filter((name) => captured.some((cell) => cell.tariffName === name))
  .map((name) => {
    const rows = captured
      .filter((cell) => cell.tariffName === name)
      .map((cell) => [
        cell.home,
        `${cell.capacityKwh}`,
        `${cell.exact ? '' : '≤ '}${cell.most.toFixed(0)}`,
        ...[cell.window, cell.selfConsumption, cell.settings, cell.rolling, cell.forecast].map(percent),
      ]);
    const head = ['home', 'kWh', 'best, $', 'window', 'self-c.', 'settings', 'rolling', 'sun told'];
    return `### ${name[0].toUpperCase()}${name.slice(1)}\n\n${table(head, rows)}`;
  })
  .join('\n\n');
parts.known = table(
  ['home', 'kWh', 'tariff', 'rolling', 'sun unknown', 'load, prices unknown', 'horizon'],
  known.map((cell) => [
    cell.home,
    `${cell.capacityKwh}`,
    cell.tariffName,
    percent(cell.rolling),
    percent(cell.sun - cell.rolling),
    percent(cell.all - cell.sun),
    percent(1 - cell.all),
  ]),
);
parts.peaks = table(
  [
    'home',
    'kWh',
    'rolling',
    'lost on demand',
    'of it first bill',
    'lost on energy',
    'kW none',
    'rolling',
    'best',
    'empty',
  ],
  peaks.map((cell) => [
    cell.home,
    `${cell.capacityKwh}`,
    percent(cell.rolling),
    percent(cell.demandLost),
    percent(cell.firstLost),
    percent(1 - cell.rolling - cell.demandLost),
    cell.without.toFixed(1),
    cell.ours.toFixed(1),
    cell.ideal.toFixed(1),
    cell.empty,
  ]),
);
parts.scores = table(
  ['home', 'load: day before', 'same weekday', 'like days', 'sun: day before', 'clear sky, scaled'],
  scores,
);

if (args.write) {
  let text = readFileSync(document, 'utf8');
  for (const [name, body] of Object.entries(parts)) {
    const from = `<!-- ${name} -->`;
    const to = `<!-- /${name} -->`;
    const [start, end] = [text.indexOf(from), text.indexOf(to)];
    if (start < 0 || end < start) throw new Error(`the document lacks the marks ${from} and ${to}`);
    text = `${text.slice(0, start + from.length)}\n\n${body}\n\n${text.slice(end)}`;
  }
  writeFileSync(document, text);
} else for (const [name, body] of Object.entries(parts)) console.log(`\n${name}\n\n${body}`);
