// Hours of backup for every start of a year of quarter hours, beside stepping through each outage. First the demo home under some of
// its strategies; then homes made from a seed, from those whose battery is gone at once to those that last the year.
import { seeded } from '../support/invented.mjs';
import { demoHome } from './harness/demo.mjs';

const INTERVALS = 35_040;
/** Load, sun and what is stored in, hours out. */
const LIMIT = { arrays: 4 };
/** The aim: never slower than the plain way. */
const AIM = { least: 1 };
/** By how much of themselves the hours may differ: both add up the same numbers in another order. */
const WITHIN = 1e-9;

const CAPPED = 336;
const ENDLESS = Number.POSITIVE_INFINITY;
const MADE = [
  ['gone at once', { capacityKwh: 0.2, loadKw: 6, solarKw: 0 }, CAPPED],
  ['a short evening', { capacityKwh: 6, loadKw: 1.5, solarKw: 0 }, CAPPED],
  ['a usual home', { capacityKwh: 13.5, loadKw: 0.7, solarKw: 0 }, CAPPED],
  ['sun keeps it going, 336 h', { capacityKwh: 27, loadKw: 0.7, solarKw: 6 }, CAPPED],
  ['the same, cap switched off', { capacityKwh: 27, loadKw: 0.7, solarKw: 6 }, ENDLESS],
  ['more than 1,000 h', { capacityKwh: 30, loadKw: 0.7, solarKw: 8.6 }, ENDLESS],
  ['a year through', { capacityKwh: 40, loadKw: 0.7, solarKw: 12 }, ENDLESS],
];

export function* groups({ core }) {
  const { home } = demoHome(core);
  const { axis, plant, loadKwh, solarKwh } = home;
  // What the demo home keeps on: its circuits, and no sun while the grid is down.
  const island = { loadKwh: home.island.loadKwh, solarKwh: home.island.solarKwh };
  for (const [name, strategy, carried, on] of [
    ['self-consumption', core.selfConsumption, 'its circuits', island],
    ['window', core.windowFill, 'its circuits', island],
    ['hold', core.hold, 'its circuits', island],
    ['window, sun', core.windowFill, 'all of it, its sun running too', { loadKwh, solarKwh }],
  ]) {
    const { flows } = core.runStrategy(strategy, home);
    const drawn = { axis, plant, ...on, socKwh: flows.socKwh, startKwh: plant.startKwh };
    yield group(core, `demo home, ${carried}: hours of backup under ${strategy.name}`, name, drawn, CAPPED, false);
  }
  const random = seeded(7);
  const made = {
    axis: core.makeAxis({
      startEpochMs: Date.UTC(2026, 0, 1, 7),
      stepMinutes: 15,
      intervals: INTERVALS,
      zone: 'America/Denver',
    }),
    sky: Array.from({ length: 366 }, () => 0.2 + 0.8 * random()),
    random,
  };
  for (const [name, options, capHours] of MADE)
    yield group(core, `~ ${name}: hours of backup`, name, drawHome(made, options), capHours, true);
}

function group(core, title, name, drawn, capHours, made) {
  const steps = drawn.axis.intervals;
  const sum = (hours) => hours.reduce((total, each) => total + each, 0);
  return {
    title,
    lines: [
      {
        name: 'naive',
        made,
        steps,
        fixed: true,
        run: () => naive(core, drawn, capHours),
        sum: () => sum(naive(core, drawn, capHours)),
      },
      {
        name,
        made,
        steps,
        beside: 'naive',
        aim: AIM,
        within: WITHIN,
        limit: LIMIT,
        run: () => core.backupHours({ ...drawn, capHours }),
        sum: () => sum(core.backupHours({ ...drawn, capHours })),
        note: () => `mean ${(sum(core.backupHours({ ...drawn, capHours })) / steps).toFixed(1)} h`,
      },
    ],
  };
}

function drawHome({ axis, random, sky }, { capacityKwh, loadKw, solarKw }) {
  const plant = {
    capacityKwh,
    floorKwh: 0,
    shutdownKwh: 0.05 * capacityKwh,
    startKwh: capacityKwh / 2,
    chargeLimitKw: 5,
    dischargeLimitKw: 12,
    inverterKw: 12,
    chargeEfficiency: 0.94,
    dischargeEfficiency: 0.94,
    solarChargeEfficiency: 0.94,
    decayPerHour: 1e-5,
    standbyW: 40,
    coupling: 'ac',
    gridCharging: true,
    batteryExport: false,
    reach: 1,
  };
  const loadKwh = Float64Array.from({ length: INTERVALS }, () => (loadKw / 4) * (0.4 + 1.2 * random()));
  const solarKwh = Float64Array.from({ length: INTERVALS }, (_, i) => {
    const hour = (i / 4) % 24;
    const season = 0.7 - 0.3 * Math.cos(((i / INTERVALS) * 2 - 0.05) * Math.PI);
    return Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI)) * (solarKw / 4) * season * sky[Math.floor(i / 96)];
  });
  const above = capacityKwh - plant.shutdownKwh;
  const socKwh = Float64Array.from({ length: INTERVALS }, () => plant.shutdownKwh + random() * above);
  return { axis, plant, loadKwh, solarKwh, socKwh, startKwh: plant.startKwh };
}

/** The straightforward way: step through every outage. */
function naive(core, { axis, plant, loadKwh, solarKwh, socKwh, startKwh }, capHours) {
  const add = core.islandAdditions(core.islanded(core.plantPerStep(plant, axis)), loadKwh, solarKwh);
  const N = axis.intervals;
  const keep = (1 - plant.decayPerHour) ** 0.25;
  const cap = plant.capacityKwh - plant.shutdownKwh;
  const most = Math.min(N, capHours * 4);
  const hours = new Float64Array(N);
  for (let i = 0; i < N; i++) {
    let x = Math.min(cap, Math.max(0, (i === 0 ? startKwh : socKwh[i - 1]) - plant.shutdownKwh));
    let t = i;
    let steps = 0;
    for (; steps < most; steps++) {
      const held = keep * x;
      const a = add[t];
      if (held + a < 0) {
        steps += held / -a;
        break;
      }
      x = Math.min(cap, held + a);
      if (++t === N) t = 0;
    }
    hours[i] = Math.min(most, steps) / 4;
  }
  return hours;
}
