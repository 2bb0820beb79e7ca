// Hours of backup for every start of a 15-minute year, against stepping through each outage. Interleaved in one run.
import { makeAxis } from '../../packages/core/dist/axis/index.js';
import { backupHours, islandAdditions } from '../../packages/core/dist/outage/index.js';
import { islanded, plantPerStep } from '../../packages/core/dist/plant/index.js';

const N = 35_040;
const axis = makeAxis({
  startEpochMs: Date.UTC(2026, 0, 1, 7),
  stepMinutes: 15,
  intervals: N,
  zone: 'America/Denver',
});
const random = mulberry32(7);
const sky = Array.from({ length: 366 }, () => 0.2 + 0.8 * random());

function home({ capacityKwh, loadKw, solarKw }) {
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
  const loadKwh = Float64Array.from({ length: N }, () => (loadKw / 4) * (0.4 + 1.2 * random()));
  const solarKwh = Float64Array.from({ length: N }, (_, i) => {
    const hour = (i / 4) % 24;
    const season = 0.7 - 0.3 * Math.cos(((i / N) * 2 - 0.05) * Math.PI);
    return Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI)) * (solarKw / 4) * season * sky[Math.floor(i / 96)];
  });
  const above = capacityKwh - plant.shutdownKwh;
  const socKwh = Float64Array.from({ length: N }, () => plant.shutdownKwh + random() * above);
  return { axis, plant, loadKwh, solarKwh, socKwh, startKwh: plant.startKwh };
}

/** The straightforward way: step through every outage. */
function naive({ plant, loadKwh, solarKwh, socKwh, startKwh }, capHours) {
  const add = islandAdditions(islanded(plantPerStep(plant, axis)), loadKwh, solarKwh);
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

const cases = [
  ['gone at once', { capacityKwh: 0.2, loadKw: 6, solarKw: 0 }, 336, 60],
  ['a short evening', { capacityKwh: 6, loadKw: 1.5, solarKw: 0 }, 336, 20],
  ['a usual home', { capacityKwh: 13.5, loadKw: 0.7, solarKw: 0 }, 336, 20],
  ['sun keeps it going, capped at 336 h', { capacityKwh: 27, loadKw: 0.7, solarKw: 6 }, 336, 7],
  ['the same, cap switched off', { capacityKwh: 27, loadKw: 0.7, solarKw: 6 }, Number.POSITIVE_INFINITY, 3],
  ['more than 1,000 h, cap switched off', { capacityKwh: 30, loadKw: 0.7, solarKw: 8.6 }, Number.POSITIVE_INFINITY, 3],
  ['a year through, cap switched off', { capacityKwh: 40, loadKw: 0.7, solarKw: 12 }, Number.POSITIVE_INFINITY, 3],
];

const median = (values) => values.toSorted((a, b) => a - b)[values.length >> 1];
const sum = (values) => values.reduce((total, value) => total + value, 0);

console.log(`hours of backup: ${N} starts at 15 minutes, median of interleaved rounds`);
for (const [name, options, capHours, rounds] of cases) {
  const drawn = home(options);
  const times = { fast: [], naive: [] };
  let fast = backupHours({ ...drawn, capHours });
  let slow;
  for (let r = 0; r < rounds; r++) {
    let start = performance.now();
    fast = backupHours({ ...drawn, capHours });
    times.fast.push(performance.now() - start);
    start = performance.now();
    slow = naive(drawn, capHours);
    times.naive.push(performance.now() - start);
  }
  let off = 0;
  for (let i = 0; i < N; i++) off = Math.max(off, Math.abs(fast[i] - slow[i]));
  const ratio = median(times.naive) / median(times.fast);
  console.log(
    `  ${name.padEnd(36)} mean ${(sum(fast) / N).toFixed(1).padStart(7)} h  ` +
      `${median(times.fast).toFixed(2).padStart(7)} ms, naive ${median(times.naive).toFixed(2).padStart(8)} ms: ` +
      `${ratio.toFixed(2).padStart(7)} × as fast; largest difference ${off.toExponential(0)} h; ` +
      `checksum ${sum(fast).toFixed(3)}`,
  );
}

function mulberry32(seed) {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
