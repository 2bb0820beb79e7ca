// Random homes as a monitor meters them, leg by leg, with faults planted on purpose. The sun here is Cooper's
// declination and the short equation of time, so that it isn't the formula under test.
import { offsetMinutesAt, offsetSpans } from '@duskbank/core/axis';

export interface MeteredHome {
  readonly zone: string;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly stepMinutes: number;
  readonly startMs: number;
  /** Mean kW of each leg's load and of solar (on both legs evenly); solar is empty where there is none. */
  readonly legs: readonly [Float64Array, Float64Array];
  readonly solar: Float64Array;
  /** Energy that the utility bills as bought, kWh. */
  readonly billedKwh: number;
}

const PLACES = [
  ['America/Denver', 39.7, -105],
  ['America/New_York', 41, -75],
  ['America/Los_Angeles', 35, -118.5],
  ['America/Chicago', 41, -90],
  ['Europe/London', 52, -1],
  ['Europe/Berlin', 51, 10.5],
  ['Australia/Sydney', -33.5, 150],
  ['America/Phoenix', 33.4, -112],
] as const;

/** Offset from UTC at each interval, minutes. */
function offsetsOf(zone: string, startMs: number, stepMs: number, n: number): Int16Array {
  const offsets = new Int16Array(n);
  const spans = offsetSpans(zone, startMs, startMs + n * stepMs);
  for (let s = 0; s < spans.length; s++)
    offsets.fill(spans[s]!.offsetMinutes, Math.ceil((spans[s]!.fromEpochMs - startMs) / stepMs));
  return offsets;
}

/** mulberry32: a small seeded generator. */
export function randomOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

export function makeMeteredHome(seed: number): MeteredHome {
  const random = randomOf(seed);
  const between = (least: number, most: number) => least + (most - least) * random();
  const place = PLACES[Math.floor(random() * PLACES.length)]!;
  const zone = place[0];
  const latitudeDeg = place[1] + between(-1, 1);
  const longitudeDeg = place[2] + between(-2, 2);
  const stepMinutes = [15, 15, 30, 60][Math.floor(random() * 4)]!;
  const days = Math.round(between(240, 365));
  const startMs = Date.UTC(2025, Math.floor(random() * 12), 1) - offsetMinutesAt(zone, Date.UTC(2025, 0, 1)) * 60_000;
  const n = Math.round((days * 1440) / stepMinutes);
  const hasSolar = random() < 0.8;
  const solarKw = between(2.5, 10);
  const azimuth = ((latitudeDeg > 0 ? 180 : 0) + between(-90, 90) + 360) % 360;
  const tilt = between(5, 40);
  const hills = [between(0, 7), between(0, 7)] as const;
  const base = [between(0.05, 0.3), between(0.05, 0.3)] as const;
  const evening = [between(0.3, 1.5), between(0.3, 1.5)] as const;
  const heavyKw = between(1.5, 6);
  const heavyShare = between(0.02, 0.12);
  const coolingKw = random() < 0.5 ? between(1, 3.5) : 0;
  const legs: [Float64Array, Float64Array] = [new Float64Array(n), new Float64Array(n)];
  const solar = new Float64Array(hasSolar ? n : 0);
  let billedKwh = 0;
  let cloud = 0.8;
  let heavyLeft = 0;
  let sky = 1;
  const offsets = offsetsOf(zone, startMs, stepMinutes * 60_000, n);
  for (let i = 0; i < n; i++) {
    const epochMs = startMs + i * stepMinutes * 60_000;
    const local = epochMs + offsets[i]! * 60_000;
    const hour = (local % 86_400_000) / 3_600_000;
    if (hour < stepMinutes / 60) {
      cloud = Math.min(1, Math.max(0.15, 0.75 + 0.5 * (random() - 0.5) + (random() < 0.2 ? -0.4 : 0)));
    }
    const awake = Math.exp(-(((hour - 19) / 2.5) ** 2)) + 0.5 * Math.exp(-(((hour - 7.5) / 1.2) ** 2)) + 0.25;
    if (heavyLeft > 0) heavyLeft -= stepMinutes;
    else if (random() < heavyShare * awake * (stepMinutes / 60)) heavyLeft = between(30, 240);
    const season = Math.cos(
      ((epochMs - Date.UTC(2025, latitudeDeg > 0 ? 6 : 0, 15)) / 86_400_000 / 365.25) * 2 * Math.PI,
    );
    const cooling = season > 0.3 && hour > 11 && hour < 23 ? coolingKw * (season - 0.3) * (0.4 + 0.6 * random()) : 0;
    const both = (heavyLeft > 0 ? heavyKw : 0) + cooling;
    for (const leg of [0, 1] as const)
      legs[leg][i] = base[leg] * (0.7 + 0.6 * random()) + evening[leg] * awake * random() + both / 2;
    if (hasSolar) {
      sky = Math.min(1, Math.max(0.1, sky + 0.5 * (random() - 0.5)));
      solar[i] =
        solarAt(
          epochMs + (stepMinutes / 2) * 60_000,
          latitudeDeg,
          longitudeDeg,
          azimuth,
          tilt,
          hills,
          cloud * (0.5 + 0.5 * sky),
        ) * solarKw;
    }
    const net = legs[0][i]! + legs[1][i]! - (solar[i] ?? 0);
    if (net > 0) billedKwh += (net * stepMinutes) / 60;
  }
  return {
    zone,
    latitudeDeg,
    longitudeDeg,
    stepMinutes,
    startMs,
    legs,
    solar,
    billedKwh: billedKwh * between(0.985, 1.015),
  };
}

/** Output of an array as a share of its rating. */
function solarAt(
  epochMs: number,
  latitudeDeg: number,
  longitudeDeg: number,
  azimuthDeg: number,
  tiltDeg: number,
  hills: readonly [number, number],
  clear: number,
): number {
  const rad = Math.PI / 180;
  const year = new Date(epochMs).getUTCFullYear();
  const day = (epochMs - Date.UTC(year, 0, 1)) / 86_400_000 + 1;
  const declination = 23.45 * Math.sin(((360 * (284 + day)) / 365) * rad) * rad;
  const b = ((360 * (day - 81)) / 364) * rad;
  const equation = 9.87 * Math.sin(2 * b) - 7.53 * Math.cos(b) - 1.5 * Math.sin(b);
  const solarHour = ((epochMs % 86_400_000) / 3_600_000 + longitudeDeg / 15 + equation / 60 + 48) % 24;
  const angle = (solarHour - 12) * 15 * rad;
  const lat = latitudeDeg * rad;
  const sinElevation = Math.sin(lat) * Math.sin(declination) + Math.cos(lat) * Math.cos(declination) * Math.cos(angle);
  const elevation = Math.asin(sinElevation) / rad;
  if (elevation <= 0) return 0;
  const cosElevation = Math.cos(elevation * rad);
  const sunAzimuth = Math.atan2(
    -Math.cos(declination) * Math.sin(angle),
    Math.sin(declination) * Math.cos(lat) - Math.cos(declination) * Math.sin(lat) * Math.cos(angle),
  );
  const cosIncidence =
    sinElevation * Math.cos(tiltDeg * rad) +
    cosElevation * Math.sin(tiltDeg * rad) * Math.cos(sunAzimuth - azimuthDeg * rad);
  const shaded = elevation < (angle < 0 ? hills[0] : hills[1]);
  const mass = 1 / (sinElevation + 0.05);
  const beam = shaded ? 0 : 0.9 * 0.7 ** (mass ** 0.678);
  const diffuse = 0.12 * sinElevation ** 0.5 + 0.02;
  const output = clear * beam * Math.max(0, cosIncidence) + diffuse * (0.5 + 0.5 * clear);
  return output < 0.008 ? 0 : 0.85 * output;
}

export const PLANTED = [
  'clean',
  'grid reversed',
  'solar reversed',
  'one leg reversed',
  'leg missing',
  'solar and grid swapped',
  'clock an hour late',
  'clock two hours early',
  'clock without daylight saving',
  'solar counted once',
  'solar inside load',
] as const;
export type Planted = (typeof PLANTED)[number];

/** The monitor's CSV of a home with a fault planted; undefined where the fault needs what the home lacks. */
export function writeMonitorCsv(home: MeteredHome, planted: Planted): string | undefined {
  const { zone, startMs, stepMinutes, legs, solar } = home;
  const hasSolar = solar.length > 0;
  const needsSolar = !['clean', 'grid reversed', 'one leg reversed', 'leg missing'].includes(planted);
  if (needsSolar && !hasSolar) return undefined;
  const standard = Math.min(offsetMinutesAt(zone, Date.UTC(2025, 0, 1)), offsetMinutesAt(zone, Date.UTC(2025, 6, 1)));
  if (
    planted === 'clock without daylight saving' &&
    offsetMinutesAt(zone, Date.UTC(2025, 0, 1)) === offsetMinutesAt(zone, Date.UTC(2025, 6, 1))
  )
    return undefined;
  const loadColumn = planted === 'solar inside load';
  const rows = [loadColumn ? 'time,load_kw,solar_kw' : hasSolar ? 'time,grid_kw,solar_kw' : 'time,grid_kw'];
  const offsets = offsetsOf(zone, startMs, stepMinutes * 60_000, legs[0].length);
  const shift = planted === 'clock an hour late' ? 60 : planted === 'clock two hours early' ? -120 : 0;
  for (let i = 0; i < legs[0].length; i++) {
    const s = solar[i] ?? 0;
    const first = legs[0][i]! - s / 2;
    const second = legs[1][i]! - s / 2;
    let grid = first + second;
    let sun = s;
    if (planted === 'grid reversed') grid = -grid;
    else if (planted === 'solar reversed') sun = -sun;
    else if (planted === 'one leg reversed') grid = first - second;
    else if (planted === 'leg missing') grid = first;
    else if (planted === 'solar and grid swapped') [grid, sun] = [sun, grid];
    else if (planted === 'solar counted once') sun = s / 2;
    else if (loadColumn) grid = legs[0][i]! + legs[1][i]! + s;
    const epochMs = startMs + i * stepMinutes * 60_000;
    // The clock without daylight saving prints its labels plainly; the others say their offset.
    const label =
      planted === 'clock without daylight saving'
        ? `${new Date(epochMs + standard * 60_000).toISOString().slice(0, 16)}${offsetText(offsets[i]!)}`
        : `${new Date(epochMs + shift * 60_000).toISOString().slice(0, 16)}Z`;
    rows.push(hasSolar ? `${label},${grid.toFixed(3)},${sun.toFixed(3)}` : `${label},${grid.toFixed(3)}`);
  }
  return `${rows.join('\n')}\n`;
}

function offsetText(minutes: number): string {
  const size = Math.abs(minutes);
  return `${minutes < 0 ? '-' : '+'}${String(Math.floor(size / 60)).padStart(2, '0')}:${String(size % 60).padStart(2, '0')}`;
}
